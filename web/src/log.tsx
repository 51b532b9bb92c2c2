// A logger's file, read by the module in a thread of its own: what of it was
// used and what was not is said before anything is added.

import { useRef, useState } from "preact/hooks";
import { fieldOf, plainly, valueAt, type About, type Part } from "./about";
import { sentence } from "./answer";
import { Busy, useAlone } from "./busy";
import { FileDrop } from "./file_drop";
import { Fold } from "./fold";
import { setReadings } from "./measure";
import { fixed, shown } from "./number";
import { inSentence, PREFIX, shortName } from "./reading_form";
import { withUnit } from "./readings";
import type { Rig } from "./store";
import type { Units } from "./units";
import { words } from "./words";
import type { LogAnswer, LogConditions, LogFault } from "../../wasm/spareamps.mjs";

const MAX_BYTES = 20e6;
const FEW = 12; // of one kind are listed
const NAME = 40;

const w = words.measure.log;

interface Read {
  name: string;
  answer: LogAnswer;
  fresh: Part[]; // readings that the rig has not got yet
  given: string[]; // conditions, of Now
}

/** What a log does not tell, as the program `spareamps fit` takes it: of the moment, and what the charger makes of its input. */
function conditionsOf(rig: Rig): LogConditions {
  const number = (path: string) => {
    const v = valueAt(rig.request, path);
    return typeof v === "number" ? v : undefined;
  };
  const all: Record<string, number | undefined> = { charger_efficiency: number("rig.charger.efficiency") };
  for (const name of ["ambient_C", "altitude_m", "setting_W", "vehicle_loads_W"]) all[name] = number("moment." + name);
  return Object.fromEntries(Object.entries(all).filter(([, v]) => v !== undefined));
}

/** The same for the same reading, in whatever order its values stand. */
const markOf = (row: Part) => JSON.stringify(Object.entries(row).sort(([a], [b]) => (a < b ? -1 : 1)));

const shortened = (name: string) => (Array.from(name).length > NAME ? Array.from(name).slice(0, NAME - 1).join("") + "…" : name);

export function LogFile({ about, rig, rows, units }: { about: About; rig: Rig; rows: Part[]; units: Units }) {
  const [read, setRead] = useState<Read | null>(null);
  const [note, setNote] = useState<{ bad: boolean; lines: string[] }>({ bad: false, lines: [] });
  const [name, setName] = useState("");
  const { seconds, run, stop } = useAlone();
  const title = useRef<HTMLHeadingElement>(null);
  const latest = useRef(0); // file
  const most = about.inputs.groups.find((g) => g.path === "rig.observations[]")?.max_rows ?? 0;

  const refuse = (...lines: string[]) => setNote({ bad: true, lines: [...lines, w.unchanged] });
  const take = async (file: File) => {
    const mine = ++latest.current;
    stop();
    setRead(null);
    setNote({ bad: false, lines: [] });
    setName(shortened(file.name));
    if (file.size > MAX_BYTES) return refuse(w.tooLarge);
    let bytes;
    try {
      bytes = await file.arrayBuffer();
    } catch {
      return refuse(w.unreadable);
    }
    if (mine !== latest.current) return; // another file was given meanwhile
    const conditions = conditionsOf(rig);
    const reply = await run<LogAnswer>({ ask: "log", file: bytes, conditions });
    if (!reply) return;
    if (!reply.answer) {
      const problems = reply.refused?.problems ?? [];
      return refuse(...(problems.length > 0 ? problems.slice(0, 5).map((p) => sentence(plainly(about, p.message)) + (p.allowed ? ` ${sentence(p.allowed)}` : "")) : [sentence(reply.refused?.message ?? "")]));
    }
    const has = new Set(rows.map(markOf));
    const told = new Set([...reply.answer.report.columns.map((c) => c.field), ...reply.answer.report.derived]);
    setRead({
      name: shortened(file.name), answer: reply.answer, fresh: (reply.answer.observations as Part[]).filter((row) => !has.has(markOf(row))),
      given: Object.keys(conditions).filter((c) => !told.has(c) && fieldOf(about, PREFIX + c)),
    });
    setTimeout(() => title.current?.focus());
  };
  const close = (line: string) => {
    setRead(null);
    setNote({ bad: false, lines: [line] });
    document.getElementById("h-log")?.focus();
  };
  const add = () => {
    setReadings((old) => [...old, ...read!.fresh]);
    close(w.added(read!.fresh.length));
  };
  const stopped = () => {
    stop();
    setNote({ bad: false, lines: [w.stopped] });
  };

  return (
    <section class="log" aria-labelledby="h-log">
      <h2 id="h-log" tabIndex={-1}>{w.title}</h2>
      <FileDrop id="log-file" accept=".csv,.tsv,.txt,.log,text/csv,text/plain" choose={w.choose} take={(file) => void take(file)} lead={<p>{w.lead}</p>}>
        <Fold summary={w.needs}>{() => <p class="quiet">{w.csv} {w.limits}</p>}</Fold>
      </FileDrop>
      {seconds !== null ? <Busy seconds={seconds} doing={w.reading(name)} stop={stopped} /> : null}
      <div role="status" class="note">{note.lines.map((s, i) => <p key={i} class={note.bad && i === 0 ? "wrong" : ""}>{s}</p>)}</div>
      {read ? (
        <div class="told">
          <h3 ref={title} tabIndex={-1}>{w.found(read.name)}</h3>
          <Report about={about} read={read} rig={rig} units={units} />
          {read.fresh.length === 0 ? <p class="wrong">{w.noneNew}</p> : rows.length + read.fresh.length > most ? <p class="wrong">{w.tooMany(most)}</p> : null}
          <div class="tools">
            {read.fresh.length > 0 && rows.length + read.fresh.length <= most ? <button type="button" class="main" onClick={add}>{w.add(read.fresh.length)}</button> : null}
            <button type="button" onClick={() => close(w.left)}>{w.leave}</button>
          </div>
        </div>
      ) : null}
    </section>
  );
}

/** What was read, and every row and cell that was not, with the reason. */
function Report({ about, read, rig, units }: { about: About; read: Read; rig: Rig; units: Units }) {
  const { report: r, observations } = read.answer;
  const called = (field: string) => w.fields[field] ?? words.short[PREFIX + field] ?? shortName(about, field);
  const fault = (f: LogFault) =>
    w.fault(fixed(f.count), (f.field ? `${inSentence(called(f.field))}, ` : "") + (w.reasons[f.reason] ?? f.reason), fixed(f.line)) + (f.value ? ` (${w.quoted(f.value)})` : "");
  const faults = (title: string, list: LogFault[]) => list.length > 0 && <Item title={title} lines={list.map(fault)} />;
  const names = (title: string, list: string[]) => list.length > 0 && <Item title={title} lines={[list.slice(0, FEW).join(", ") + (list.length > FEW ? ", …" : "")]} />;
  const usual = (c: string) => {
    const f = fieldOf(about, PREFIX + c);
    return w.usual(inSentence(called(c)), typeof f?.default === "number" ? withUnit(units, f, f.default) : "");
  };
  const known = observations.length - read.fresh.length;
  return (
    <>
      <p>{w.count(fixed(r.rows), fixed(r.covered_min), observations.length, r.bucket_s > 0 ? lasting(r.bucket_s) : "")}{r.dropped > 0 ? ` ${w.dropped(r.dropped)}` : ""}{known > 0 ? ` ${w.known(known)}` : ""}</p>
      <dl>
        {r.refused.length > 0 ? faults(w.rows, r.refused) : <Item title={w.rows} lines={[w.noRows]} />}
        {faults(w.cells, r.unread)}
        {faults(w.untold, r.untold)}
        {faults(w.breaks, r.breaks)}
        {names(w.columns, r.columns.map((c) => w.column(c.name, inSentence(called(c.field)))))}
        {names(w.derived, r.derived.map((f) => inSentence(called(f))))}
        {read.given.length > 0 ? <Item title={w.fromNow} lines={[read.given.map((c) => w.usual(inSentence(called(c)), withUnit(units, fieldOf(about, PREFIX + c), Number(valueAt(rig.request, "moment." + c))))).join(", ")]} /> : null}
        {names(w.asUsual, r.assumed.map(usual))}
        {names(w.unknown, r.unknown)}
        {names(w.noUnit, r.no_unit)}
      </dl>
    </>
  );
}

function Item({ title, lines }: { title: string; lines: string[] }) {
  return (
    <>
      <dt>{title}</dt>
      {lines.slice(0, FEW).map((line, i) => <dd key={i}>{line}</dd>)}
    </>
  );
}

const lasting = (s: number) => (s < 60 ? w.seconds(shown(s)) : s < 3600 ? w.minutes(shown(s / 60)) : w.hours(shown(s / 3600)));
