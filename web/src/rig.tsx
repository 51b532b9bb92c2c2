// Rig: what can be read off labels and measured with a tape, in the order one
// meets it at the vehicle. Which inputs there are the module's table says; this
// file only says at which station of the walk each stands.

import { useLayoutEffect, useState } from "preact/hooks";
import { fieldOf, groupPath, label, plainly, valueAt, withValue, type About, type Field, type Group, type Json } from "./about";
import type { Ceiling } from "./answer";
import type { Reply } from "./ask";
import { Exchange } from "./exchange";
import { AreaMenu, fieldId, InputRow } from "./field";
import { useCeiling, Unknowns } from "./now";
import { amps, typed, watts } from "./number";
import { cleanName, currentRig, newId, rigOf, update, updateRig, useDoc, type Doc, type Rig } from "./store";
import type { Units } from "./units";
import { words } from "./words";

/** The stations in order, and what belongs to each: the longest prefix wins. */
const STATIONS: [station: string, prefixes: string[]][] = [
  ["label", ["rig.alternator."]],
  ["belt", ["rig.alternator.pulley_ratio", "rig.alternator.fouling", "rig.alternator.belt_W", "rig.engine."]],
  ["starter", ["rig.starter_battery."]],
  ["lead", ["rig.cable."]],
  ["charger", ["rig.charger."]],
  ["house", ["rig.house_battery."]],
  ["extras", ["rig.inverter.", "rig.solar."]],
  ["meter", ["rig.alternator.regulator_V", "rig.alternator.points", "rig.alternator.machine."]],
  ["choice", ["confidence"]],
];

function stationOf(path: string): string {
  let best = "";
  let length = 0;
  for (const [station, prefixes] of STATIONS) {
    for (const p of prefixes) {
      if (path.startsWith(p) && p.length > length) [best, length] = [station, p.length];
    }
  }
  return best || "extras";
}

/** First to be asked: what must be known, and what the demo knows. */
const essential = (f: Field) => f.need === "required" || f.demo !== undefined;

export function RigScreen({ about, go, focus }: { about: About; go: (screen: string, field?: string) => void; focus?: string }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const reply = useCeiling("now", rig, rig.request.moment);
  const w = words.rig;

  useLayoutEffect(() => {
    if (!focus) return;
    const at = document.getElementById(fieldId(focus)) ?? document.getElementById("part-" + focus.split(".").slice(0, 2).join("-"));
    at?.closest("details")?.setAttribute("open", "");
    at?.scrollIntoView({ block: "center" });
    at?.focus();
  }, [focus]);

  return (
    <main class="rig" id="screen">
      <h1>{w.title}</h1>
      <Rigs doc={doc} about={about} />
      <p class="quiet">{isDemo(rig, about) ? w.demoLead : w.lead}</p>
      {STATIONS.map(([station]) => (
        <Station key={station + rig.id} station={station} about={about} rig={rig} units={doc.units} reply={reply} />
      ))}
      {reply?.answer ? (
        <section aria-labelledby="h-unknown">
          <h2 id="h-unknown">{w.unknown}</h2>
          <Unknowns a={reply.answer} about={about} />
        </section>
      ) : null}
      <Exchange about={about} />
      <Strip about={about} reply={reply} go={go} />
    </main>
  );
}

export const rigName = (rig: Rig, about: About) => rig.name || (isDemo(rig, about) ? words.demoRig : words.unnamedRig);

/** Whether a rig is the demo's, unchanged. */
function isDemo(rig: Rig, about: About): boolean {
  const { learned: _, ...described } = rigOf(rig);
  return JSON.stringify(described) === JSON.stringify(about.demo.rig);
}

/** A rig of which nothing is known, in a moment like the demo's: the nudges are the first thing seen. */
export function newRig(about: About): Rig {
  const moment = Object.fromEntries(
    about.inputs.fields
      .filter((f) => groupPath(f.path) === "moment" && f.need !== "optional" && f.demo !== undefined)
      .map((f) => [f.path.slice("moment.".length), f.demo as Json]),
  );
  return { id: newId(), name: words.unnamedRig, request: { rig: { alternator: {} }, moment }, whatIf: null };
}

export function addRig(rig: Rig): void {
  update((d) => ({ ...d, rigs: [...d.rigs, rig], current: rig.id }));
}

function Rigs({ doc, about }: { doc: Doc; about: About }) {
  const w = words.rig;
  const rig = currentRig(doc);
  return (
    <section class="rigs">
      <div class="row">
        <label for="rig-pick">{w.pick}</label>
        <div class="entry">
          <select id="rig-pick" value={rig.id} onChange={(e) => update((d) => ({ ...d, current: e.currentTarget.value }))}>
            {doc.rigs.map((r) => <option key={r.id} value={r.id}>{rigName(r, about)}</option>)}
          </select>
        </div>
      </div>
      <div class="row">
        <label for="rig-name">{w.rename}</label>
        <div class="entry">
          <input id="rig-name" type="text" autocomplete="off" maxLength={60} value={rigName(rig, about)}
            onChange={(e) => updateRig((r) => ({ ...r, name: cleanName(e.currentTarget.value) }), "name")} />
        </div>
      </div>
      <div class="tools">
        <button type="button" onClick={() => addRig(newRig(about))}>+ {w.add}</button>
        <button type="button" onClick={() => addRig({ ...structuredClone(rig), id: newId(), name: cleanName(rigName(rig, about) + " 2") })}>{w.copy}</button>
        <button type="button" onClick={() => addRig({ id: newId(), name: "", request: structuredClone(about.demo), whatIf: null })}>{w.addDemo}</button>
        {doc.rigs.length > 1 ? (
          <button type="button" onClick={() => update((d) => {
            const rigs = d.rigs.filter((r) => r.id !== rig.id);
            return { ...d, rigs, current: rigs[0]!.id };
          })}>{w.remove}</button>
        ) : null}
      </div>
    </section>
  );
}

interface StationProps {
  station: string;
  about: About;
  rig: Rig;
  units: Units;
  reply: Reply<Ceiling> | null;
}

function Station({ station, about, rig, units, reply }: StationProps) {
  const w = words.rig;
  const fields = about.inputs.fields.filter((f) => stationOf(f.path) === station && !/^(moment|day|rig\.observations|rig\.learned)\b/.test(f.path));
  const groups = new Map<string, Field[]>();
  for (const f of fields) groups.set(groupPath(f.path), [...(groups.get(groupPath(f.path)) ?? []), f]);
  const rows = (list: Field[]) => list.map((f) => <Row key={f.path} field={f} about={about} rig={rig} units={units} reply={reply} />);

  return (
    <section class="station" aria-labelledby={"h-" + station}>
      <h2 id={"h-" + station}>{w.stations[station]}</h2>
      {[...groups].map(([path, list]) => {
        const group = about.inputs.groups.find((g) => g.path === path);
        if (group?.max_rows) return <Rows key={path} group={group} fields={list} rig={rig} units={units} />;
        const absent = group?.optional && valueAt(rig.request, path) === undefined;
        if (absent) {
          return (
            <div class="tools" key={path}>
              <button type="button" id={"part-" + path.replaceAll(".", "-")} onClick={() => updateRig((r) => ({ ...r, request: withValue(r.request, path, {}) }))}>+ {w.addPart(label(group!))}</button>
            </div>
          );
        }
        const first = station === "meter" || station === "choice" ? list : list.filter(essential);
        const more = list.filter((f) => !first.includes(f));
        return (
          <div class="part" key={path} id={"part-" + path.replaceAll(".", "-")} tabIndex={-1}>
            {rows(first)}
            {more.length > 0 ? <details><summary>{w.more(more.length)}</summary>{rows(more)}</details> : null}
            {group?.optional ? <div class="tools"><button type="button" onClick={() => updateRig((r) => ({ ...r, request: withValue(r.request, path, undefined) }))}>{w.dropPart(label(group))}</button></div> : null}
          </div>
        );
      })}
    </section>
  );
}

const AREA = "rig.cable.area_mm2";
const AWG = "rig.cable.awg";

function Row({ field, about, rig, units, reply }: { field: Field; about: About; rig: Rig; units: Units; reply: Reply<Ceiling> | null }) {
  // The same thing in two inputs: the unit menu picks which one is shown.
  if (field.path === AWG) return null;
  const byAWG = field.path === AREA && units.area === "AWG";
  const shownField = byAWG ? { ...fieldOf(about, AWG)!, where: field.where } : field;
  const path = shownField.path;
  const set = (v: number | string | undefined) =>
    updateRig((r) => {
      let request = withValue(r.request, path, v);
      if (path === AREA || path === AWG) request = withValue(request, path === AREA ? AWG : AREA, undefined);
      return { ...r, request };
    }, path);
  const unknown = about.unknowns.find((u) => u.input === path);
  const cost = unknown && reply?.answer?.unknowns.find((u) => u.unknown === unknown.unknown)?.cost_A;
  const found = [...(reply?.refused?.problems ?? []), ...(reply?.held ?? [])].find((p) => p.field === path);
  const missing = found?.code === "missing";
  const problem = found && !missing ? plainly(about, found.message) : undefined;
  const value = valueAt(rig.request, path);
  const otherUnit = path === AREA ? valueAt(rig.request, AWG) : path === AWG ? valueAt(rig.request, AREA) : undefined;

  return (
    <InputRow field={shownField} value={value} units={units} onChange={set} problem={problem} needed={missing}
      costA={cost && cost >= 0.1 ? amps(cost) : undefined}>
      {byAWG ? <AreaMenu units={units} name={label(field)} /> : null}
      {otherUnit !== undefined ? <p class="quiet">{words.rig.instead(path === AREA ? `${otherUnit} AWG` : `${otherUnit} mm²`)}</p> : null}
      {path === "rig.alternator.pulley_ratio" ? <Pulleys onRatio={set} /> : null}
    </InputRow>
  );
}

/** The pulley ratio from two diameters. */
function Pulleys({ onRatio }: { onRatio: (v: number) => void }) {
  const w = words.rig;
  const [crank, setCrank] = useState("");
  const [alt, setAlt] = useState("");
  const work = (c: string, a: string) => {
    const ratio = typed(c) / typed(a);
    if (ratio >= 1 && ratio <= 5) onRatio(Number(ratio.toPrecision(4)));
  };
  return (
    <details class="helper">
      <summary>{w.pulleys}</summary>
      <div class="pulleys">
        <label>{w.crank}<input type="text" inputMode="decimal" autocomplete="off" value={crank} onInput={(e) => { setCrank(e.currentTarget.value); work(e.currentTarget.value, alt); }} /></label>
        <label>{w.alternatorPulley}<input type="text" inputMode="decimal" autocomplete="off" value={alt} onInput={(e) => { setAlt(e.currentTarget.value); work(crank, e.currentTarget.value); }} /></label>
      </div>
    </details>
  );
}

/** A list of the table: rows added and taken out. Also of use for the lists of a day. */
export function Rows({ group, fields, rig, units }: { group: Group; fields: Field[]; rig: Rig; units: Units }) {
  const w = words.rig;
  const path = group.path.replace("[]", "");
  const list = (valueAt(rig.request, path) as Json[] | undefined) ?? [];
  const set = (rows: Json[]) => updateRig((r) => ({ ...r, request: withValue(r.request, path, rows.length > 0 ? rows : undefined) }));
  return (
    <details class="list" open={list.length > 0}>
      <summary>{label(group)}</summary>
      {list.map((row, i) => (
        <fieldset key={i}>
          <legend>{w.row(i + 1)}</legend>
          {fields.map((f) => {
            const key = f.path.slice(f.path.lastIndexOf(".") + 1);
            return (
              <InputRow key={f.path} field={f} id={fieldId(`${path}-${i}-${key}`)} value={valueAt(row, key)} units={units}
                onChange={(v) => set(list.map((old, j) => (j === i ? withValue(old, key, v) : old)))} />
            );
          })}
          <div class="tools"><button type="button" onClick={() => set(list.filter((_, j) => j !== i))}>{w.dropRow(i + 1)}</button></div>
        </fieldset>
      ))}
      {list.length < group.max_rows! ? <div class="tools"><button type="button" onClick={() => set([...list, {}])}>+ {w.addRow}</button></div> : null}
    </details>
  );
}

/** The answer, always in sight while the rig is described. */
function Strip({ about, reply, go }: { about: About; reply: Reply<Ceiling> | null; go: (screen: string) => void }) {
  const a = reply?.answer;
  const n = words.now;
  return (
    <button type="button" class="strip" onClick={() => go("now")}>
      {a ? (
        a.advice.output_W > 0
          ? <><span>{n.set}</span> <b>{watts(a.advice.output_W)} W</b> <b class="lesser">{amps(a.advice.output_A)} A</b></>
          : <><span>{n.leaveOff}</span> <b>{n.off}</b></>
      ) : reply?.refused ? <span>{n.needs}: {plainly(about, reply.refused.problems[0]?.message ?? reply.refused.message)}</span> : <span>{n.wait}</span>}
    </button>
  );
}
