// The readings kept with the rig, the newest first, each to be changed or taken
// out.

import { useState } from "preact/hooks";
import { fieldOf, plainly, type About, type Field, type Part } from "./about";
import { sentence } from "./answer";
import { fieldId, InputRow } from "./field";
import { isCondition, OBSERVATIONS } from "./fit_answer";
import { Fold } from "./fold";
import { setReadings, type Wrong } from "./measure";
import { shown } from "./number";
import { AIMED, nameOf, onParts, PREFIX, readingFields, shortName } from "./reading_form";
import { scale, toShown, type Units } from "./units";
import { words } from "./words";
import type { Problem } from "../../wasm/spareamps.mjs";

const AT_FIRST = 8; // shown without being asked for

/** A value with its unit on the screen. */
export function withUnit(units: Units, field: Field | undefined, v: number): string {
  const s = scale(units, field?.unit ?? "", field);
  return `${shown(Number(toShown(s, v).toPrecision(4)))}${s.unit === "%" || s.unit.startsWith("°") ? "\u00a0" : " "}${s.unit}`;
}

interface Props {
  about: About;
  rows: Part[];
  units: Units;
  problem: (row: number, name: string) => Problem | undefined;
  wrong: Wrong;
  open: number | undefined; // a row to be shown
}

export function Readings({ about, rows, units, problem, wrong, open }: Props) {
  const w = words.measure;
  const [all, setAll] = useState(false);
  const newest = rows.map((row, i) => ({ row, i })).reverse();
  const shownRows = all || open !== undefined ? newest : newest.slice(0, AT_FIRST);
  return (
    <section class="readings" aria-labelledby="h-readings">
      <h2 id="h-readings">{w.list} <small>{rows.length > 0 ? rows.length : ""}</small></h2>
      {rows.length === 0 ? <p>{w.none}</p> : <p class="quiet">{w.order}</p>}
      <ol reversed>
        {shownRows.map(({ row, i }) => (
          <li key={i} id={`reading-${i}`} tabIndex={-1}>
            <Reading about={about} row={row} i={i} units={units} problem={(name) => problem(i, name)} bad={[...wrong.keys()].some((k) => k.startsWith(`${i}.`))} forced={open === i} />
          </li>
        ))}
      </ol>
      {shownRows.length < rows.length ? <div class="tools"><button type="button" onClick={() => setAll(true)}>{w.older(rows.length)}</button></div> : null}
      {rows.length > 1 ? <div class="tools"><button type="button" onClick={() => setReadings(() => [])}>{w.dropAll}</button></div> : null}
    </section>
  );
}

function Reading({ about, row, i, units, problem, bad, forced }: { about: About; row: Part; i: number; units: Units; problem: (name: string) => Problem | undefined; bad: boolean; forced: boolean }) {
  const w = words.measure;
  const [open, setOpen] = useState(false);
  const shows = open || forced;
  const fields = readingFields(about);
  const values = fields.filter((f) => !isCondition(nameOf(f)) && row[nameOf(f)] !== undefined);
  const value = (name: string) => {
    const f = fieldOf(about, PREFIX + name);
    const v = row[name] ?? f?.default;
    return typeof v === "number" ? withUnit(units, f, v) : "–";
  };
  const bare = (name: string) => value(name).split(" ")[0]!;
  const input = (f: Field) => {
    const name = nameOf(f);
    const p = problem(name);
    return (
      <InputRow key={f.path} field={f} id={fieldId(`${OBSERVATIONS}-${i}-${name}`)} value={row[name]} units={units}
        problem={p ? sentence(plainly(about, p.message)) : undefined} needed={p?.code === "missing"}
        onChange={(v) => setReadings((rows) => rows.map((old, j) => {
          if (j !== i) return old;
          const { [name]: _, ...rest } = old;
          return v === undefined ? rest : { ...rest, [name]: v };
        }), `reading-${i}-${name}`)} />
    );
  };
  // Open, it may be long: what is in sight first is what was read and when.
  const first = fields.filter((f) => values.includes(f) || ["at", "minutes"].includes(nameOf(f)) || (AIMED.includes(nameOf(f)) && onParts(values.map(nameOf))) || problem(nameOf(f)));
  return (
    <details open={shows} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>
        <span class="when">{i + 1} · {typeof row.at === "string" && row.at !== "" ? row.at : "–"}</span>
        {bad ? <span class="tag need">{w.wrong}</span> : null}
        <span class="read">{values.map((f) => `${shortName(about, nameOf(f))} ${withUnit(units, f, Number(row[nameOf(f)]))}`).join(" · ") || w.nothing}</span>
        <span class="gist">{w.inConditions(bare("minutes"), bare("engine_rpm"), value("speed_kmh"), value("ambient_C"), bare("setting_W"))}</span>
      </summary>
      {shows ? (
        <>
          {first.map(input)}
          <Fold summary={w.all}>{() => fields.filter((f) => !first.includes(f)).map(input)}</Fold>
          <div class="tools"><button type="button" onClick={() => setReadings((rows) => rows.filter((_, j) => j !== i))}>{w.drop(i + 1)}</button></div>
        </>
      ) : null}
    </details>
  );
}
