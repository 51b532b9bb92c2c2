// One reading: what was read, in large figures, and under what conditions.
// Fields, limits and where each is read are the module's table.

import { fieldOf, label, plainly, type About, type Field, type Part, type Request } from "./about";
import { sentence } from "./answer";
import { InputRow } from "./field";
import { isCondition } from "./fit_answer";
import { Fold } from "./fold";
import { NUDGES } from "./controls";
import { Nudge } from "./nudge";
import type { Units } from "./units";
import { words } from "./words";
import type { Problem } from "../../wasm/spareamps.mjs";

export const PREFIX = "rig.observations[].";

/** What is entered: the quantities chosen, and values by name of field. */
export type Draft = { chosen?: string[] } & { [name: string]: number | string | string[] | undefined };

/** The fields of a reading. Where the table says "the same" as of the field above, it stands here in full. */
export function readingFields(about: About): Field[] {
  let where = "";
  return about.inputs.fields.filter((f) => f.path.startsWith(PREFIX)).map((f) => {
    if (f.where !== "the same") where = f.where;
    return { ...f, where };
  });
}
export const nameOf = (f: Field) => f.path.slice(PREFIX.length);

/** What a quantity is called where there is little room. */
export const shortName = (about: About, name: string) => words.measure.short[name] ?? label(fieldOf(about, PREFIX + name) ?? { meaning: name.replaceAll("_", " ") });

// A value that tells nothing without another one.
const WITH: Record<string, string> = { crank_V: "rest_V", charger_V: "bus_V", end_soc: "start_soc", start_soc: "end_soc" };

// The conditions that a quantity is read under, whatever Now has.
const UNDER: Record<string, Draft> = { rest_V: { engine_rpm: 0, speed_kmh: 0, setting_W: 0 } };

// Parts of the alternator, whose readings depend on the thermometer and on what it was aimed at.
const PARTS = ["case_C", "core_C", "plates_C"];
export const AIMED = ["thermometer", "surface"];
export const onParts = (names: string[]) => names.some((n) => PARTS.includes(n));

/** Conditions as entered, or else as Now has them. */
function conditionOf(draft: Draft, moment: Part, name: string): number | string | undefined {
  const v = draft[name] ?? moment[name];
  return typeof v === "number" || typeof v === "string" ? v : undefined;
}

/** The row a draft makes; null while nothing was read. */
export function rowOf(draft: Draft, moment: Part, about: About): Part | null {
  const row: Part = {};
  let read = false;
  const aimed = onParts(draft.chosen ?? []);
  for (const f of readingFields(about)) {
    const name = nameOf(f);
    if (AIMED.includes(name) && !aimed) continue;
    const v = isCondition(name) ? conditionOf(draft, moment, name) : draft.chosen?.includes(name) ? (draft[name] as number | undefined) : undefined;
    if (v === undefined) continue;
    row[name] = v;
    if (!isCondition(name)) read = true;
  }
  return read ? row : null;
}

interface Props {
  about: About;
  moment: Part;
  request: Request;
  units: Units;
  draft: Draft;
  onChange: (d: Draft) => void;
  problem: (name: string) => Problem | undefined;
  missing: boolean;
  add: () => void;
  kept: string; // of what was added
  note: string; // why it was not
}

export function ReadingForm({ about, moment, request, units, draft, onChange, problem, missing, add, kept, note }: Props) {
  const w = words.measure;
  const fields = readingFields(about);
  const chosen = draft.chosen ?? [];
  const set = (name: string, v: number | string | undefined) => onChange({ ...draft, [name]: v });
  const choose = (name: string) => {
    const on = !chosen.includes(name);
    const next = on ? [...chosen, name] : chosen.filter((n) => n !== name);
    const other = WITH[name];
    if (on && other && !next.includes(other)) next.push(other);
    const under = Object.assign({}, ...next.filter((n) => !chosen.includes(n)).map((n) => UNDER[n]));
    onChange({ ...under, ...draft, chosen: next });
  };
  const message = (name: string) => {
    const p = problem(name);
    if (p?.code === "missing") return missing ? w.missing : undefined;
    return p ? sentence(plainly(about, p.message)) : undefined;
  };
  const input = (f: Field) => (
    <InputRow key={f.path} field={f} units={units} needed={problem(nameOf(f))?.code === "missing"}
      value={isCondition(nameOf(f)) ? conditionOf(draft, moment, nameOf(f)) : (draft[nameOf(f)] as number | string | undefined)}
      problem={message(nameOf(f))} onChange={(v) => set(nameOf(f), v)} />
  );
  const nudges = NUDGES.flatMap(({ path, step }) => {
    const field = fieldOf(about, path.replace("moment.", PREFIX));
    return field && field.kind !== "choice" ? [{ field, step: step(units, request) }] : [];
  });
  const nudged = new Set(nudges.map((n) => n.field.path));
  const early = [...(onParts(chosen) ? AIMED : []), "minutes", ...(chosen.includes("output_A") || chosen.includes("bus_V") || draft.everything_on !== undefined ? ["everything_on"] : [])];
  const rest = fields.filter((f) => isCondition(nameOf(f)) && nameOf(f) !== "at" && !nudged.has(f.path) && !early.includes(nameOf(f)) && !AIMED.includes(nameOf(f)));
  const restWrong = rest.some((f) => message(nameOf(f)));

  return (
    <section class="add" aria-labelledby="h-add">
      <h2 id="h-add" tabIndex={-1}>{w.add}</h2>
      <p role="status" class="note">{kept}</p>
      <h3 id="h-what">{w.what}</h3>
      <p class="quiet">{w.several}</p>
      <div class="chips" role="group" aria-labelledby="h-what">
        {fields.filter((f) => !isCondition(nameOf(f))).map((f) => (
          <button type="button" key={f.path} aria-pressed={chosen.includes(nameOf(f))} onClick={() => choose(nameOf(f))}>
            {shortName(about, nameOf(f))}
          </button>
        ))}
      </div>
      <div class="reads">{fields.filter((f) => chosen.includes(nameOf(f))).map(input)}</div>
      {chosen.length > 0 ? (
        <>
          <h3>{w.conditions}</h3>
          <p class="quiet">{w.fromNow}</p>
          {fields.filter((f) => early.includes(nameOf(f))).map(input)}
          <div class="nudges">
            {nudges.map(({ field, step }) => {
              const v = conditionOf(draft, moment, nameOf(field));
              return <Nudge key={field.path} field={field} units={units} step={step} value={typeof v === "number" ? v : undefined} onChange={(x) => set(nameOf(field), x)} />;
            })}
          </div>
          {nudges.map(({ field }) => {
            const m = message(nameOf(field));
            return m ? <p class="wrong" role="alert" key={field.path}>{m}</p> : null;
          })}
          {rest.length > 0 ? (restWrong ? rest.map(input) : <Fold summary={w.more}>{() => rest.map(input)}</Fold>) : null}
          <div class="tools"><button type="button" class="main" onClick={add}>{w.keep}</button></div>
        </>
      ) : null}
      {note ? <p role="alert" class="wrong">{note}</p> : null}
    </section>
  );
}

/** A name within a sentence. */
export const inSentence = (s: string) => s.charAt(0).toLowerCase() + s.slice(1);
