import { pool } from "spareamps/pool";

const spareamps = await pool(new URL("node_modules/spareamps/spareamps.wasm", import.meta.url), { size: 2 });
const request = {
  rig: { alternator: { rated_current_A: 120, idle_current_A: 60, fouling: 0 } },
  moment: { engine_rpm: 1400, speed_kmh: 15, ambient_C: 36, vehicle_loads_W: 350 },
};

const heats = [10, 20, 30, 40];
const answers = await Promise.all(heats.map((ambient_C) => spareamps.ceiling({ ...request, moment: { ...request.moment, ambient_C } })));
console.log(heats.map((t, i) => `${t} °C: ${answers[i].ceiling.output_W} W`).join(", "));

const rows = 1000;
const rpm = Float64Array.from({ length: rows }, (_, i) => 800 + 2 * i);
const { "nominal.input_A": amps, status } = await spareamps.block(request, { "moment.engine_rpm": rpm }, ["nominal.input_A"]);
console.log(`${status.filter((s) => s === 0).length} of ${rows} rows are good, ${amps[0]} to ${amps[rows - 1]} A`);

await spareamps.ceiling({ rig: {} }).catch((error) => console.log(error.name, error.code, error.problems.length));
spareamps.close();

// prints:
// 10 °C: 720 W, 20 °C: 655 W, 30 °C: 597 W, 40 °C: 529 W
// 1000 of 1000 rows are good, 44.3 to 76.2 A
// SpareampsError bad_input 3
