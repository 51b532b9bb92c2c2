import { load, SpareampsError } from "spareamps";

const spareamps = await load();
const request = {
  rig: { alternator: { rated_current_A: 120, idle_current_A: 60, fouling: 0 } },
  moment: { engine_rpm: 1400, speed_kmh: 15, ambient_C: 36, vehicle_loads_W: 350 },
};

const { advice, ceiling } = spareamps.ceiling(request);
console.log(`${advice.output_W} W now, set by ${ceiling.limit}`);

const curve = spareamps.block(request, { "moment.engine_rpm": [900, 1400, 2000] }, ["ceiling.output_W"]);
console.log("at 900, 1400, 2000 rpm:", ...curve["ceiling.output_W"], "W");

try {
  spareamps.ceiling({ rig: { alternator: { rated_current_A: 0 } }, moment: request.moment });
} catch (error) {
  if (!(error instanceof SpareampsError)) throw error;
  for (const { code, field, allowed } of error.problems) console.log(error.code, code, field, allowed);
}

// prints:
// 294 W now, set by stator_winding
// at 900, 1400, 2000 rpm: 409 557 637 W
// bad_input range rig.alternator.rated_current_A 10 to 600 A
