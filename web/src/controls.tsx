// What changes of a moment: the nudges, the gears, a second moment beside the
// first, and the rest of it when asked for. Answers do not reach in here, so
// that one that comes draws nothing of this anew.

import { memo } from "preact/compat";
import { fieldOf, valueAt, type About, type Part, type Request } from "./about";
import { InputRow } from "./field";
import { Fold } from "./fold";
import { gearOf, Gears, idleOf, inGear, useGearing } from "./gears";
import { Nudge } from "./nudge";
import { currentRig, updateRig, type Doc } from "./store";
import type { Units } from "./units";
import { words } from "./words";

/** What the nudges move, and by how much in the unit on the screen; the rest of a moment stands in the form below. */
export const NUDGES: { path: string; step: (units: Units, request: Request) => number }[] = [
  { path: "moment.ambient_C", step: (u) => (u.temperature === "°F" ? 2 : 1) },
  { path: "moment.speed_kmh", step: () => 5 },
  { path: "moment.engine_rpm", step: () => 100 },
  { path: "moment.altitude_m", step: (u) => (u.length === "ft" ? 500 : 200) },
  { path: "moment.vehicle_loads_W", step: () => 50 },
  { path: "moment.setting_W", step: (_, q) => Number(valueAt(q.rig, "charger.step_W") ?? 10) },
];

/** `second` tells whether it is the second moment that is moved. */
export const Controls = memo(function Controls({ about, doc, second, setSide }: { about: About; doc: Doc; second: boolean; setSide: (side: "now" | "if") => void }) {
  const w = words.now;
  const rig = currentRig(doc);
  const at = second ? "if" : "now";
  const moment = second ? rig.whatIf! : rig.request.moment;
  const gearing = useGearing(about, rig, idleOf(about, rig.request));

  const change = (path: string, v: number | string | undefined) => {
    const key = path.slice("moment.".length);
    updateRig((r) => {
      const edit = (m: Part): Part => {
        const { [key]: _, ...rest } = m;
        const next = v === undefined ? rest : { ...rest, [key]: v };
        const gear = key === "speed_kmh" ? gearOf(r, at, m, gearing) : undefined;
        return gear === undefined ? next : inGear(next, gear, gearing);
      };
      return second ? { ...r, whatIf: edit(r.whatIf!) } : { ...r, request: { ...r.request, moment: edit(r.request.moment) } };
    }, at + path);
  };
  const pick = (gear: number | undefined) =>
    updateRig((r) => {
      const picked = { ...r, gear: { ...r.gear, [at]: gear } };
      if (gear === undefined) return picked;
      return second ? { ...picked, whatIf: inGear(r.whatIf!, gear, gearing) } : { ...picked, request: { ...r.request, moment: inGear(r.request.moment, gear, gearing) } };
    }, at + "gear");

  return (
    <>
      <section class="nudges" aria-label={second ? `${w.nudges}: ${w.second}` : w.nudges}>
        {NUDGES.map(({ path, step }) => {
          const field = fieldOf(about, path);
          const value = valueAt({ moment }, path);
          return field ? (
            <Nudge key={path + at + doc.current} field={field} units={doc.units} step={step(doc.units, rig.request)}
              value={typeof value === "number" ? value : undefined} onChange={(v) => change(path, v)} />
          ) : null;
        })}
      </section>

      <Gears rig={rig} side={at} moment={moment} gearing={gearing} pick={pick} />

      <div class="tools">
        {rig.whatIf ? (
          <>
            <button type="button" onClick={() => { setSide("now"); updateRig((r) => ({ ...r, whatIf: null })); }}>{w.dropSecond}</button>
            <button type="button" onClick={() => { setSide("now"); updateRig((r) => ({ ...r, request: { ...r.request, moment: r.whatIf! }, whatIf: null, ...(r.gear ? { gear: { now: r.gear.if } } : {}) })); }}>{w.takeSecond}</button>
          </>
        ) : (
          <button type="button" onClick={() => { updateRig((r) => ({ ...r, whatIf: { ...r.request.moment }, ...(r.gear ? { gear: { ...r.gear, if: r.gear.now } } : {}) })); setSide("if"); }}>+ {w.addSecond}</button>
        )}
      </div>
      <Fold summary={w.moreMoment} kind="more">{() => about.inputs.fields
          .filter((f) => f.path.startsWith("moment.") && !NUDGES.some((n) => n.path === f.path))
          .map((f) => (
            <InputRow key={f.path + at + doc.current} field={f} value={valueAt({ moment }, f.path)} units={doc.units} onChange={(v) => change(f.path, v)} />
          ))}
      </Fold>
    </>
  );
});
