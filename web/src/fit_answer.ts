// The answer of `fit`, as far as the page reads it.

import type { Json, Part } from "./about";

export interface Fit {
  verdict: "learned" | "nothing_learned" | "contradiction" | "not_converged";
  keep: "yes" | "no";
  confidence: number;
  moments: {
    engine_rpm: number; speed_kmh: number; ambient_C: number;
    before_A: number; after_A: number; before_W: number; after_W: number; likeliest_before_A: number; likeliest_after_A: number;
  }[];
  readings: { row: number; reading: string; unit: string; value: number; expected: number; deviation: number; off: number; outlier: "yes" | "no" }[];
  parameters: { parameter: string; meaning: string; unit: string; prior: number; mean: number; spread: number; informed: "yes" | "no" }[];
  next: { reading: string; gain_A: number; how: string }[];
  proposals: { input: string; value: number; why: string }[];
  learned?: Part;
  validity: { code: string; field: string; message: string }[];
  says: { code: string; text: string }[];
  cautions: string[];
}

/** Where readings and what was learned of them stand in a request. */
export const OBSERVATIONS = "rig.observations";
export const LEARNED = "rig.learned";

/** Fields of a reading that say under what conditions it was taken; the rest is what was read. */
const CONDITIONS = new Set(["at", "begins", "minutes", "engine_rpm", "speed_kmh", "ambient_C", "altitude_m", "vehicle_loads_W", "setting_W", "everything_on", "thermometer", "surface"]);

export const isCondition = (name: string) => CONDITIONS.has(name);

/** A mark of readings as they are, to tell later whether they are still the same. */
export function markOf(rows: Json | undefined): string {
  let h = 0x811c9dc5;
  for (const c of JSON.stringify(rows ?? [])) h = Math.imul(h ^ c.codePointAt(0)!, 0x01000193) >>> 0;
  return h.toString(16);
}
