// Checked by tsc, not run.
import { load, SpareampsError, type CeilingAnswer } from "spareamps";
import { pool } from "spareamps/pool";

const spareamps = await load(fetch("spareamps.wasm"));
const answer: CeilingAnswer = spareamps.ceiling({ rig: { alternator: { rated_current_A: 120, class_V: 12 } }, moment: { engine_rpm: 1400, ambient_C: 36 } });
const watts: number | null = answer.advice.output_W;
const first: string | null = answer.limits[0]!.limit;
const log = spareamps.log("time_s,engine_rpm,output_A", { ambient_C: 36 });
const read: CeilingAnswer = spareamps.ceiling({ rig: { alternator: {}, observations: log.observations }, moment: { engine_rpm: 1400, ambient_C: 36 } });
console.log(read.cautions, log.report.refused[0]?.count);
const many = await pool(spareamps.module, { size: 2 });
const column: Float64Array = (await many.block({}, { "moment.ambient_C": [1, 2] }, ["ceiling.input_A"]))["ceiling.input_A"]!;
console.log(watts, first, column, new SpareampsError("json").problems[0]?.field);

// @ts-expect-error ambient_C has to be given
spareamps.ceiling({ rig: { alternator: {} }, moment: { engine_rpm: 1400 } });
// @ts-expect-error there is no such input
spareamps.ceiling({ rig: { alternator: { rated_curent_A: 120 } }, moment: { engine_rpm: 1400, ambient_C: 36 } });
// @ts-expect-error no condition of a log
spareamps.log("", { output_A: 60 });
// @ts-expect-error nor such a class
spareamps.ceiling({ rig: { alternator: { insulation_class: "Z" } }, moment: { engine_rpm: 1400, ambient_C: 36 } });
