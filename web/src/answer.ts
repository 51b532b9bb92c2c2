// The answer of `ceiling`, as far as the page reads it. Units as in the
// module's table of outputs; null: never reached.

export interface Setting {
  input_A: number;
  output_A: number;
  output_W: number;
  draw_A: number;
  limit: string;
}

export interface Ceiling {
  advice: Setting & { because: "now" | "after_idle" };
  ceiling: Setting & { confidence: number };
  nominal: Setting;
  limits: { limit: string; input_A: number | null; nominal_A: number | null; meaning: string }[];
  temperatures_C: Record<string, number | null>;
  careful_C: Record<string, number | null>;
  design_C: Record<string, number | null>;
  alternator: { current_A: number; available_A: number; other_A: number; speed_rpm: number; bus_V: number; shaft_W: number; efficiency: number };
  hold: { output_W: number; input_A: number | null; minutes: number | null; limit: string | null }[];
  after_idle: Setting & { inlet_air_C: number; minutes: number };
  costliest_unknown: { unknown: string; cost_A: number; measure: string };
  unknowns: { unknown: string; cost_A: number; measure: string }[];
  wiring?: { drop_V: number; charger_V: number; conductor_C: number };
  validity: { code: string; field: string; message: string }[];
  says: { code: string; text: string }[];
  cautions: string[];
}

export const says = (a: Ceiling, code: string) => a.says.find((s) => s.code === code)?.text ?? "";

/** Words of the module as a sentence. */
export function sentence(s: string): string {
  if (s === "") return "";
  return s.charAt(0).toUpperCase() + s.slice(1) + (/[.!?]$/.test(s) ? "" : ".");
}

/** What a setting draws at the charger's input: the charger takes power, so amps follow watts. */
export function drawOf(a: Ceiling, outputW: number): number {
  const from = a.ceiling.output_W > 0 ? a.ceiling : a.advice;
  if (from.output_W > 0) return (outputW * from.draw_A) / from.output_W;
  const n = a.nominal;
  return n.output_W > 0 ? (outputW * n.input_A) / n.output_W : 0;
}
