// The answer of `day`, as far as the page reads it, and its times.

import type { Part } from "./about";
import { fixed } from "./number";
import { scale, toShown, type Units } from "./units";

export interface Handover {
  day: number;
  at: string;
  to: "charge" | "feed" | "off";
  setting_W: number;
  why: string;
  forgotten_no_start_at: string | null;
  forgotten_reserve_at: string | null;
  forgotten_empty_at: string | null;
  forgotten_too_much_at: string | null;
  forgotten_limit: string | null;
  forgotten_soc_then: number | null;
}

export interface Night {
  day: number;
  from: string;
  house_low_soc: number;
  house_low_at: string;
  reserve_at: string | null;
  morning_at: string;
  morning_C: number;
  starts: "yes" | "no";
  starter_soc: number;
  starter_least_soc: number | null;
  cranking_V: number;
  needed_V: number;
  house_Wh: number;
}

export interface Series {
  at: string[];
  at_min: number[];
  house_soc: number[];
  starter_soc: number[];
  charge_W: number[];
  allowed_W: number[];
  ceiling_W: number[];
  stator_winding_C: number[];
  ambient_C: number[];
  sun_W: number[];
  house_W: number[];
  vehicle_W: number[];
  speed_kmh: number[];
  engine_rpm: number[];
}

export interface DayPlan {
  setting: { output_W: number; output_A: number; draw_A: number; allowed_W: number; confidence: number; why: string };
  goal: { reached: "yes" | "no"; want_soc: number; due_at: string; due_day: number; soc_then: number; missing_Wh: number; full_at: string | null; full_day: number | null };
  stretches: { day: number; from: string; to: string; allowed_W: number; limit: string; setting_W: number; charged_Wh: number }[];
  handovers: Handover[];
  nights: Night[];
  cut_off: { coolest_C: number; rest_V: number; loaded_V: number; load_A: number };
  feed: { posts_V: number | null; verdict: string; from_V: number; to_V: number };
  remedies: { code: string; text: string; reached: "yes" | "no"; soc_then: number; gain_Wh: number }[];
  hottest_C: { at: string; stator_winding: number; rectifier_junction: number; rotor: number };
  careful_C: { stator_winding: number; rectifier_junction: number; rotor: number };
  ledger: { kind: "source" | "use" | "loss" | "stored"; name: string; Wh: number }[];
  fuel_L: number;
  series: Series;
  validity: { code: string; field: string; message: string }[];
  says: { code: string; text: string }[];
  cautions: string[];
}

export const said = (a: DayPlan, code: string) => a.says.find((s) => s.code === code)?.text ?? "";

/** Minutes since midnight of "HH:MM", or NaN. */
export function minutesOf(clock: unknown): number {
  const found = /^(\d{1,2}):(\d{2})$/.exec(typeof clock === "string" ? clock : "");
  return found ? Number(found[1]) * 60 + Number(found[2]) : NaN;
}

export function clockOf(minutes: number): string {
  const m = ((Math.round(minutes) % 1440) + 1440) % 1440;
  return `${String(Math.floor(m / 60)).padStart(2, "0")}:${String(m % 60).padStart(2, "0")}`;
}

export const startOf = (day: Part): number => {
  const m = minutesOf(day.start);
  return Number.isNaN(m) ? 360 : m; // the table's default
};

/** Minutes since midnight of the first day, of a clock's time in a day of the plan. */
export const planMinutes = (start: number, day: number, at: string) =>
  start + ((minutesOf(at) - start + 1440) % 1440) + (day - 1) * 1440;

/** The step of the strips: as fine as some hundred points show. */
export function seriesStep(days: number): number {
  for (const step of [5, 10, 15, 20, 30]) {
    if ((days * 1440) / step <= 580) return step;
  }
  return 60;
}

export const percent = (share: number) => `${fixed(100 * share)} %`;
export const degrees = (v: number, units: Units) => {
  const s = scale(units, "°C");
  return `${fixed(toShown(s, v))} ${s.unit}`;
};
