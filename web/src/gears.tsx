// Engine speed by gear, for whoever has no tachometer: the overall ratio of each
// gear is entered once, and in a gear the engine follows the road speed. The
// formula is the module's; it is linear in speed and ratio, so one answer of it
// serves for a tyre.

import { fieldOf, valueAt, withValue, type About, type Field, type Json, type Part, type Request } from "./about";
import { useReply } from "./ask";
import { fieldId, InputRow } from "./field";
import { Fold } from "./fold";
import { fixed } from "./number";
import { MOST_GEARS, updateRig, type Rig } from "./store";
import type { Units } from "./units";
import { words } from "./words";

const TYRE = "rig.engine.tyre_diameter_m";
const RATIO = "day.legs[].overall_ratio";

export type Side = "now" | "if";

export interface Gearing {
  rpms: (moment: Part) => number[] | null; // in each gear; null before the tyre and the solver are known
  max: number;
}

/** The engine's idle speed, as a request tells it or as it is assumed. */
export const idleOf = (about: About, request: Request | null) =>
  Number((request && valueAt(request, "rig.engine.idle_rpm")) ?? fieldOf(about, "rig.engine.idle_rpm")?.default ?? 750);

export function useGearing(about: About, rig: Rig, idleRpm: number): Gearing {
  const tyre = valueAt(rig.request, TYRE);
  const ask = typeof tyre === "number" && rig.gears ? tyre : null;
  const unit = useReply<number>("gearing", ask === null ? null : { ask: "quantity", name: "engine_rpm", args: [1, 1, ask] }, ask === null ? null : String(ask))?.answer;
  return {
    // In gear and slower than that the clutch slips: the engine idles.
    rpms: (moment) => (unit === undefined ? null : (rig.gears ?? []).map((ratio) => Math.max(idleRpm, Math.round(unit * Number(moment.speed_kmh ?? 0) * ratio)))),
    max: Number(fieldOf(about, "moment.engine_rpm")?.max),
  };
}

/** The gear a moment is in, as long as its engine speed is the gear's. */
export function gearOf(rig: Rig, side: Side, moment: Part, gearing: Gearing): number | undefined {
  const gear = rig.gear?.[side];
  return gear !== undefined && gearing.rpms(moment)?.[gear] === moment.engine_rpm ? gear : undefined;
}

/** A moment in a gear; as it is where the engine cannot turn as fast. */
export function inGear(moment: Part, gear: number, gearing: Gearing): Part {
  const rpm = gearing.rpms(moment)?.[gear];
  return rpm === undefined || rpm > gearing.max ? moment : { ...moment, engine_rpm: rpm };
}

/** The gears to pick from, with the engine speed each gives. */
export function Gears({ rig, side, moment, gearing, pick }: { rig: Rig; side: Side; moment: Part; gearing: Gearing; pick: (gear: number | undefined) => void }) {
  const w = words.gears;
  if (!rig.gears || valueAt(rig.request, TYRE) === undefined) return null;
  const rpms = gearing.rpms(moment);
  const at = gearOf(rig, side, moment, gearing);
  return (
    <div class="gears" role="group" aria-label={w.pick}>
      {rig.gears.map((_, i) => {
        const rpm = rpms?.[i];
        const fast = rpm !== undefined && rpm > gearing.max;
        return (
          <button key={i} type="button" aria-pressed={at === i} disabled={rpm === undefined || fast} onClick={() => pick(at === i ? undefined : i)}>
            <b>{w.gear(i + 1)}</b> <span>{rpm === undefined ? "–" : fast ? w.fast : `${fixed(rpm)} rpm`}</span>
          </button>
        );
      })}
    </div>
  );
}

/** Where tyre and ratios are entered. A box more than there are gears; an emptied one takes its gear out. */
export function GearBox({ about, rig, units }: { about: About; rig: Rig; units: Units }) {
  const w = words.gears;
  const [tyre, ratio] = [fieldOf(about, TYRE), fieldOf(about, RATIO)];
  if (!tyre || !ratio) return null;
  const gears = rig.gears ?? [];
  const set = (i: number, v: Json | undefined) =>
    updateRig((r) => {
      const list = (r.gears ?? []).slice();
      if (typeof v === "number") list[i] = v;
      else list.splice(i, 1);
      const { gears: _, gear: __, ...rest } = r;
      return list.length > 0 ? { ...rest, gears: list } : rest;
    });
  const row = (i: number): Field => ({ ...ratio, meaning: w.ratio(i + 1), where: w.where });
  return (
    <Fold summary={w.title} kind="gearbox">{() => (
      <>
        <p class="quiet">{w.lead}</p>
        <InputRow field={tyre} value={valueAt(rig.request, TYRE)} units={units}
          onChange={(v) => updateRig((r) => ({ ...r, request: withValue(r.request, TYRE, v) }), TYRE)} />
        {Array.from({ length: Math.min(MOST_GEARS, gears.length + 1) }, (_, i) => (
          <InputRow key={i} id={fieldId(`gear-${i + 1}`)} field={row(i)} value={gears[i]} units={units} onChange={(v) => set(i, v as Json | undefined)} />
        ))}
      </>
    )}</Fold>
  );
}
