// The form of a day: legs or a recorded track, loads, air and sun, times,
// batteries. Which inputs there are the module's table says; this file only
// says where each stands, and which come first.

import { useEffect, useState } from "preact/hooks";
import type { Problem } from "../../wasm/spareamps.mjs";
import { capital, label, lastName, spaced, valueAt, withValue, type About, type Field, type Json, type Part } from "./about";
import { inWords } from "./day";
import { clockOf, minutesOf, startOf } from "./day_answer";
import { fieldId, InputRow } from "./field";
import { FileDrop } from "./file_drop";
import { fixed, shown } from "./number";
import { updateRig, type Rig } from "./store";
import { BadTrack, toMinutes } from "./track";
import { readTrackFile } from "./track_read";
import { scale, toShown, type Units } from "./units";
import { words } from "./words";

const w = words.day.plan;
const t = words.day.track;

/** Groups of single inputs and short lists, in order; what is nowhere goes to the last. */
const GROUPS: [name: keyof typeof w & string, keys: string[]][] = [
  ["batteries", ["house_soc", "want_soc", "want_by", "house_battery_C", "starter_soc"]],
  ["air", ["min_C", "max_C", "air[]", "cloud", "altitude_m", "date", "latitude_deg", "longitude_deg", "utc_offset_h"]],
  ["times", ["days", "start"]],
  ["vehicle", ["vehicle_loads_W", "idle_loads_W", "parked_W"]],
  ["charger", ["setting_W", "control", "switches[]", "shortest_switch_min"]],
];
const ELSEWHERE = new Set(["series_min", "track[]", "legs[]", "loads[]", "track_ratio", "track_engine_rpm"]);

/** What only a drive has: not asked of a stop. */
const DRIVE = new Set(["speed_kmh", "overall_ratio", "stop_every_min", "stop_min", "stop_engine"]);
const FIRST: Record<string, string[]> = {
  legs: ["from", "to", "kind", "speed_kmh", "engine_rpm"],
  loads: ["name", "watts", "side", "from", "to", "duty"],
};

interface Props {
  about: About;
  rig: Rig;
  units: Units;
  problems: Problem[];
  jump: { path: string } | null;
}

export function Plan({ about, rig, units, problems, jump }: Props) {
  const day = rig.request.day!;
  const fields = about.inputs.fields.filter((f) => f.path.startsWith("day."));
  const set = (key: string, v: Json | undefined, merge = "") => updateRig((r) => ({ ...r, request: withValue(r.request, "day." + key, v) }), merge);
  useEffect(() => {
    if (!jump) return;
    // The fold that holds it opens first.
    const later = setTimeout(() => {
      const at = document.getElementById(fieldId(jump.path)) ?? document.getElementById("part-" + jump.path.replace(/[^\w]+/g, "-"));
      at?.scrollIntoView({ block: "center" });
      at?.focus({ preventScroll: true });
    }, 80);
    return () => clearTimeout(later);
  }, [jump]);
  const problemOf = (path: string): { problem?: string; needed?: boolean } => {
    const found = problems.find((p) => p.field === path);
    if (!found) return {};
    const field = about.inputs.fields.find((f) => f.path === path.replace(/\[\d+\]/g, "[]"));
    return found.code === "missing" && field?.need === "required" ? { needed: true } : { needed: found.code === "missing", problem: inWords(about, found.message) };
  };
  const row = (f: Field, path = f.path) => (
    <InputRow key={path} field={f} id={fieldId(path)} units={units} value={valueAt(rig.request, path.replace(/\[(\d+)\]/g, ".$1"))} {...problemOf(path)}
      onChange={(v) => set(path.slice(4).replace(/\[(\d+)\]/g, ".$1"), v, path)} />
  );
  const wrongIn = (paths: (path: string) => boolean) => problems.filter((p) => paths(p.field)).length;
  const used = new Set(GROUPS.flatMap(([, keys]) => keys));
  const rest = fields.filter((f) => !f.path.includes("[]") && !used.has(f.path.slice(4)) && !ELSEWHERE.has(f.path.slice(4))).map((f) => f.path.slice(4));
  const groups: [string, string[]][] = [...GROUPS.map(([name, keys]): [string, string[]] => [w[name] as string, keys]), ...(rest.length > 0 ? [[w.other, rest] as [string, string[]]] : [])];
  const list = { fields, day, units, problems, jump, set, row, problemOf };
  const tracked = Array.isArray(day.track);

  return (
    <section class="plan" aria-labelledby="h-plan">
      <h2 id="h-plan">{w.title}</h2>
      {tracked ? null : <List name="legs" title={w.legs} hint={w.legsHint} one={w.leg} add={w.addLeg} {...list} />}
      <TrackPart rig={rig} day={day} row={row} fields={fields} jump={jump} />
      <List name="loads" title={w.loads} hint={w.loadsHint} one={w.load} add={w.addLoad} {...list} />
      {groups.map(([name, keys]) => {
        const inside = (path: string) => keys.some((k) => path === "day." + k || (k.endsWith("[]") && path.startsWith("day." + k.slice(0, -1))) || path === "day." + k.replace("[]", ""));
        return (
          <Part_ key={name} title={name} note={gist(keys, fields, day, units)} wrong={wrongIn(inside)} want={jump !== null && inside(jump.path)}>{() => (
            <div class="part">
              {keys.map((k) => (k.endsWith("[]") ? <Short key={k} name={k.slice(0, -2)} {...list} about={about} /> : fields.filter((f) => f.path === "day." + k).map((f) => row(f))))}
            </div>
          )}</Part_>
        );
      })}
      <div class="tools"><button type="button" onClick={() => updateRig((r) => {
        const { day: _, ...request } = r.request;
        return { ...r, untracked: null, request };
      })}>{w.dropDay}</button></div>
    </section>
  );
}

/** A part of the form, closed until wanted; it opens by itself for what is asked for. */
function Part_({ title, note, wrong, want, kind = "list", id, children }: { title: preact.ComponentChildren; note?: string; wrong: number; want: boolean; kind?: string; id?: string; children: () => preact.ComponentChildren }) {
  const [open, setOpen] = useState(want);
  useEffect(() => {
    if (want) setOpen(true);
  }, [want]);
  return (
    <details class={kind} open={open} id={id} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary><b>{title}</b>{note ? <span class="gist">{note}</span> : null}{wrong > 0 ? <span class="tag need">▲ {w.incomplete}</span> : null}</summary>
      {open ? children() : null}
    </details>
  );
}

/** What is stated of a group, in a few words. */
function gist(keys: string[], fields: Field[], day: Part, units: Units): string {
  const said: string[] = [];
  for (const k of keys) {
    const v = day[k];
    const f = fields.find((x) => x.path === "day." + k);
    if (!f || v === undefined || v === null || said.length === 3) continue;
    const s = scale(units, f.unit, f);
    said.push(typeof v === "number" ? `${shown(toShown(s, v))}${s.unit ? " " + s.unit : ""}` : spaced(String(v)));
  }
  return said.join(" · ");
}

interface ListProps {
  fields: Field[];
  day: Part;
  units: Units;
  problems: Problem[];
  jump: { path: string } | null;
  set: (key: string, v: Json | undefined, merge?: string) => void;
  row: (f: Field, path?: string) => preact.ComponentChildren;
}

/** Legs or loads: a line each, opened to be changed. */
function List({ name, title, hint, one, add, fields, day, units, problems, jump, set, row }: ListProps & { name: "legs" | "loads"; title: string; hint: string; one: (n: number) => string; add: string }) {
  const rows = (Array.isArray(day[name]) ? day[name] : []) as Part[];
  const own = fields.filter((f) => f.path.startsWith(`day.${name}[].`));
  const put = (next: Part[]) => set(name, next.length > 0 ? (next as Json[]) : undefined);
  const [fresh, setFresh] = useState(-1); // the row just added
  const most = 400;
  const swap = (i: number, j: number) => {
    const next = rows.slice();
    [next[i], next[j]] = [next[j]!, next[i]!];
    put(next);
  };
  const start = startOf(day);
  const since = (r: Part) => {
    const m = minutesOf(r.from);
    return Number.isNaN(m) ? Infinity : (m - start + 1440) % 1440;
  };
  const order = (r: Part) => [typeof r.day === "number" ? r.day : 1, since(r)] as const;
  const sorted = rows.map((r, i) => [r, i] as const).sort(([a, i], [b, j]) => order(a)[0] - order(b)[0] || order(a)[1] - order(b)[1] || i - j);
  const inOrder = sorted.every(([, i], k) => i === k);
  const begun = () => {
    if (name === "loads") return put([...rows, {}]);
    const last = rows[rows.length - 1];
    put([...rows, last?.to !== undefined ? { from: last.to } : {}]);
  };
  const several = Number(day.days ?? 1) > 1;
  const asked = (f: Field, r: Part) => {
    const key = lastName(f.path);
    if (r[key] !== undefined) return true;
    if (key === "day") return several;
    return !(name === "legs" && DRIVE.has(key) && (r.kind === "stop" || r.kind === "camp"));
  };
  return (
    <Part_ title={title} id={"part-day-" + name} note={rows.length === 0 ? w.none : w.count(rows.length)} wrong={problems.filter((p) => p.field.startsWith("day." + name)).length} want={jump !== null && jump.path.startsWith("day." + name)}>{() => (
      <>
        <p class="quiet">{hint}</p>
        <ol class="rows">
          {rows.map((r, i) => {
            const path = `day.${name}[${i}]`;
            const first = own.filter((f) => FIRST[name]!.includes(lastName(f.path)) && asked(f, r));
            const more = own.filter((f) => !FIRST[name]!.includes(lastName(f.path)) && asked(f, r));
            const at = (f: Field) => row(f, `${path}.${lastName(f.path)}`);
            const inside = (p: string) => p === path || p.startsWith(path + ".");
            const moreWanted = (p: string) => more.some((f) => p === `${path}.${lastName(f.path)}`);
            return (
              <li key={i}>
                <Part_ kind="item" title={<><span class="unseen">{one(i + 1)}: </span>{brief(name, r, units)}</>} wrong={problems.filter((p) => inside(p.field)).length} want={fresh === i || (jump !== null && inside(jump.path))}>{() => (
                  <div class="part">
                    {FIRST[name]!.flatMap((k) => first.filter((f) => lastName(f.path) === k)).map(at)}
                    {more.length > 0 ? <Part_ kind="more" title={w.more} wrong={problems.filter((p) => moreWanted(p.field)).length} want={jump !== null && moreWanted(jump.path)}>{() => more.map(at)}</Part_> : null}
                    <div class="tools">
                      <button type="button" disabled={i === 0} aria-label={w.up(one(i + 1))} onClick={() => swap(i, i - 1)}>↑</button>
                      <button type="button" disabled={i === rows.length - 1} aria-label={w.down(one(i + 1))} onClick={() => swap(i, i + 1)}>↓</button>
                      <button type="button" onClick={() => { setFresh(-1); put(rows.filter((_, j) => j !== i)); }}>{w.drop(one(i + 1).toLowerCase())}</button>
                    </div>
                  </div>
                )}</Part_>
              </li>
            );
          })}
        </ol>
        <div class="tools">
          {rows.length < most ? <button type="button" onClick={() => { setFresh(rows.length); begun(); }}>+ {add}</button> : null}
          {name === "legs" && !inOrder ? <button type="button" onClick={() => put(sorted.map(([r]) => r))}>{w.sort}</button> : null}
        </div>
      </>
    )}</Part_>
  );
}

/** A leg or load in one line. */
function brief(name: "legs" | "loads", r: Part, units: Units): preact.ComponentChildren {
  const time = (v: Json | undefined) => (typeof v === "string" ? v : "–");
  const num = (v: Json | undefined, unit: string) => {
    if (typeof v !== "number") return "";
    const s = scale(units, unit);
    return `${shown(Number(toShown(s, v).toPrecision(3)))} ${s.unit}`;
  };
  if (name === "legs") {
    const parts = [num(r.speed_kmh, "km/h"), r.stop_every_min !== undefined && r.stop_min !== undefined ? `${r.stop_min}/${r.stop_every_min} min` : ""].filter((x) => x !== "");
    return <><span class="when">{time(r.from)}–{time(r.to)}</span> {w.kinds[String(r.kind)] ?? "–"}{parts.length > 0 ? `, ${parts.join(", ")}` : ""}</>;
  }
  const when = r.from === undefined ? w.allDay : r.minutes !== undefined ? `${time(r.from)}, ${String(r.minutes)} min` : `${time(r.from)}–${time(r.to)}`;
  return <>{typeof r.name === "string" && r.name !== "" ? capital(r.name) : "–"}, {num(r.watts, "W") || "– W"}<span class="gist">{when}{r.side !== undefined ? `, ${String(r.side)}` : ""}</span></>;
}

/** Air by the hour, or switches: rows of two. */
function Short({ name, fields, day, set, row, about, problems }: ListProps & { name: string; about: About }) {
  const group = about.inputs.groups.find((g) => g.path === `day.${name}[]`);
  const rows = (Array.isArray(day[name]) ? day[name] : []) as Part[];
  const own = fields.filter((f) => f.path.startsWith(`day.${name}[].`));
  if (!group) return null;
  const put = (next: Part[]) => set(name, next.length > 0 ? (next as Json[]) : undefined);
  const whole = problems.find((p) => p.field === "day." + name);
  return (
    <div class="short" id={"part-day-" + name} tabIndex={-1}>
      <h3>{label(group)}</h3>
      {whole ? <p class="wrong" role="alert">{inWords(about, whole.message)}</p> : null}
      {rows.map((_, i) => (
        <fieldset key={i}>
          <legend>{words.rig.row(i + 1)}</legend>
          {own.map((f) => row(f, `day.${name}[${i}].${lastName(f.path)}`))}
          <div class="tools"><button type="button" onClick={() => put(rows.filter((_, j) => j !== i))}>{words.rig.dropRow(i + 1)}</button></div>
        </fieldset>
      ))}
      {rows.length < group.max_rows! ? <div class="tools"><button type="button" onClick={() => put([...rows, {}])}>+ {words.rig.addRow}</button></div> : null}
    </div>
  );
}

/** The track: dropped in or chosen, read here, in the place of the legs. */
function TrackPart({ rig, day, row, fields, jump }: { rig: Rig; day: Part; row: ListProps["row"]; fields: Field[]; jump: { path: string } | null }) {
  const [note, setNote] = useState<{ bad: boolean; lines: string[] }>({ bad: false, lines: [] });
  const track = (Array.isArray(day.track) ? day.track : null) as { minute?: Json; speed_kmh?: Json }[] | null;

  const read = async (file: File) => {
    setNote({ bad: false, lines: [t.reading] });
    // So that the word is seen before a long file holds the page.
    await new Promise((done) => setTimeout(done, 50));
    try {
      setNote({ bad: false, lines: await take(file, rig) });
    } catch (cause) {
      if (!(cause instanceof BadTrack)) console.warn(cause);
      setNote({ bad: true, lines: [cause instanceof BadTrack ? cause.message : t.notText, t.unchanged] });
    }
  };
  const remove = () => {
    setNote({ bad: false, lines: [] });
    updateRig((r) => {
      const gone = ["track", "track_ratio", "track_engine_rpm", ...(r.untracked ? REPLACED : [])];
      const rest = Object.fromEntries(Object.entries(r.request.day!).filter(([k]) => !gone.includes(k)));
      return { ...r, untracked: null, request: { ...r.request, day: { ...rest, ...(r.untracked ?? {}) } } };
    });
  };
  const km = track?.reduce((sum, r) => sum + Number(r.speed_kmh ?? 0) / 60, 0) ?? 0;
  const clock = (r: { minute?: Json } | undefined, more: number) => clockOf(Number(r?.minute ?? 0) + more);
  const wanted = jump !== null && jump.path.startsWith("day.track");
  return (
    <Part_ title={t.title} id="part-day-track" note={track ? `${fixed(km)} km` : w.none} wrong={0} want={wanted || track !== null}>{() => (
      <FileDrop id="track-file" accept=".gpx,.csv,text/csv,application/gpx+xml" choose={t.choose} take={(file) => void read(file)}
        lead={track ? <p><b>{t.held(clock(track[0], 0), clock(track[track.length - 1], 1), fixed(km, 1), track.length)}</b></p> : <p>{t.lead}</p>}
        tools={track ? <button type="button" onClick={remove}>{t.remove}</button> : null}>
        <div role="status" class="note">{note.lines.map((s, i) => <p key={i} class={note.bad && i === 0 ? "wrong" : ""}>{s}</p>)}</div>
        {track ? fields.filter((f) => f.path === "day.track_ratio" || f.path === "day.track_engine_rpm").map((f) => row(f)) : null}
        <p class="quiet">{t.limits}</p>
        <p class="quiet">{t.csv}</p>
      </FileDrop>
    )}</Part_>
  );
}

/** What a track takes the place of; kept to be put back. */
const REPLACED = ["legs", "start", "days", "date", "latitude_deg", "longitude_deg", "utc_offset_h"];

/** Reads a track into a rig's day; returns what to say of it. */
async function take(file: File, rig: Rig): Promise<string[]> {
  const day = rig.request.day!;
  const offset = typeof day.utc_offset_h === "number" ? day.utc_offset_h : undefined;
  const read = await readTrackFile(file, offset);
  const made = toMinutes(read.fixes, { few: t.few, long: t.long, back: t.back, none: t.none });
  const first = Math.floor(made.from / 60) * 60;
  const start = first < 1440 ? first : 23 * 60;
  const next: Part = { start: clockOf(start), days: Math.max(1, Math.ceil((made.to - start) / 1440)), track: made.rows };
  const place = read.fixes.find((f) => !Number.isNaN(f.lat) && !Number.isNaN(f.lon));
  const dated = read.date !== "" && place !== undefined;
  if (dated) {
    next.date = read.date;
    next.latitude_deg = Math.round(place.lat * 100) / 100;
    next.longitude_deg = Math.round(place.lon * 100) / 100;
    next.utc_offset_h = Math.max(-12, Math.min(14, read.offsetH));
  }
  updateRig((r) => {
    const before = r.request.day ?? {};
    const kept = r.untracked ?? Object.fromEntries(REPLACED.filter((k) => before[k] !== undefined).map((k) => [k, before[k]!]));
    const { legs: _, ...still } = before;
    return { ...r, untracked: kept, request: { ...r.request, day: { ...still, ...next } } };
  });
  const say = [t.report(read.fixes.length, made.byPositions ? t.byPlace : t.bySpeed, fixed(made.km, 1), fixed(made.movingMin))];
  if (made.gaps > 0) say.push(t.gaps(made.gaps, fixed(made.gapMin)));
  if (made.dropped > 0) say.push(t.dropped(made.dropped));
  if (!made.hasRpm) say.push(t.noRpm);
  if (read.ignored.length > 0) say.push(t.ignored(read.ignored.join(", ")));
  if (dated) say.push(t.dated(read.date));
  return say;
}
