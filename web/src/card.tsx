// Card: one page to print, settings by engine speed and air. Each cell is the
// advice: the lower of now and of after ten minutes' idling at a stop. The
// program's `spareamps card` prints the same card.

import { useEffect, useState } from "preact/hooks";
import { fieldOf, plainly, valueAt, type About, type Part, type Request } from "./about";
import { sentence, type Ceiling } from "./answer";
import { ask, type Reply } from "./ask";
import { InputRow } from "./field";
import { Problems } from "./now";
import { amps, fixed, shown, watts } from "./number";
import { rigName } from "./rig";
import { Scroll } from "./scroll";
import { currentRig, isObject, rigOf, useDoc, type Rig } from "./store";
import { fromShown, scale, toShown, type Scale, type Units } from "./units";
import { words } from "./words";

const ROWS = 7; // as many as stay readable on the smallest page
const COLUMNS = 6;
const REMARKS = 1;
const NAME = 26;
const ONE_LINE = 22; // characters that fit a line of the narrowest phone
const AIR_C = [0, 10, 20, 30, 35, 40];
/** Readings of one moment, which a card for any day does not hold for. */
const LEAVES = ["inlet_C", "house_battery_C", "minutes_since_start", "setting_W"];

/** What was chosen for the card, remembered beside the rigs. */
interface Choice {
  rpm: number[] | null; // null: by the rig's idling speed
  airC: number[];
  speedKmh: number | null; // null: that of Now
  paper: "a5" | "a6";
}

const KEY = "spareamps.card";

function remembered(): Choice {
  const usual: Choice = { rpm: null, airC: AIR_C, speedKmh: null, paper: "a5" };
  try {
    const v: unknown = JSON.parse(localStorage.getItem(KEY) ?? "null");
    if (!isObject(v)) return usual;
    const list = (l: unknown, most: number, a: number, b: number) =>
      Array.isArray(l) && l.length > 0 && l.length <= most && l.every((x) => typeof x === "number" && x >= a && x <= b) ? (l as number[]) : null;
    return {
      rpm: list(v.rpm, ROWS, 0, 8000),
      airC: list(v.airC, COLUMNS, -40, 60) ?? AIR_C,
      speedKmh: typeof v.speedKmh === "number" && v.speedKmh >= 0 && v.speedKmh <= 200 ? v.speedKmh : null,
      paper: v.paper === "a6" ? "a6" : "a5",
    };
  } catch {
    return usual;
  }
}

/** Idling and round speeds above it. */
function usualSpeeds(idleRpm: number): number[] {
  return [idleRpm, ...[1000, 1200, 1500, 2000, 2500, 3000].filter((rpm) => rpm >= idleRpm + 100)];
}

/** The request of a cell. */
function cellRequest(rig: Rig, rpm: number, airC: number, speedKmh: number | null): Request {
  const moment: Part = { ...rig.request.moment, engine_rpm: rpm, ambient_C: airC };
  for (const name of LEAVES) delete moment[name];
  if (speedKmh !== null) moment.speed_kmh = speedKmh;
  const { confidence } = rig.request;
  return { ...(confidence === undefined ? {} : { confidence }), rig: rigOf(rig), moment };
}

export function CardScreen({ about }: { about: About }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const w = words.card;
  const [choice, setChoice] = useState(remembered);
  const change = (c: Partial<Choice>) => {
    const next = { ...choice, ...c };
    setChoice(next);
    try {
      localStorage.setItem(KEY, JSON.stringify(next));
    } catch {
      // full or closed: chosen anew next time
    }
  };

  const air = scale(doc.units, "°C");
  const idle = Number(valueAt(rig.request, "rig.engine.idle_rpm") ?? fieldOf(about, "rig.engine.idle_rpm")?.default ?? 750);
  const speeds = choice.rpm ?? usualSpeeds(idle);
  const requests = speeds.map((rpm) => choice.airC.map((c) => cellRequest(rig, rpm, c, choice.speedKmh)));
  const key = JSON.stringify(requests);
  const [done, setDone] = useState<{ key: string; cells: Reply<Ceiling>[][] } | null>(null);
  useEffect(() => {
    let wanted = true;
    void Promise.all(
      requests.map((row, i) => Promise.all(row.map((request, j) => ask<Ceiling>(`card ${i} ${j}`, { ask: "ceiling", request })))),
    ).then((cells) => {
      if (wanted && cells.every((row) => row.every((r) => r !== null))) setDone({ key, cells: cells as Reply<Ceiling>[][] });
    });
    return () => {
      wanted = false;
    };
  }, [key]);
  const cells = done?.key === key ? done.cells : null;
  const refused = cells?.flat().find((r) => r.refused)?.refused;
  const rpmField = fieldOf(about, "moment.engine_rpm")!;
  const airField = fieldOf(about, "moment.ambient_C")!;

  return (
    <main class="card" id="screen" data-ready={cells && !refused ? "yes" : undefined}>
      <h1>{w.title}</h1>
      <p class="lead">{w.lead}</p>
      <div class="choices">
        <ListRow id="card-rpm" label={w.rows} values={speeds} most={ROWS} from={Number(rpmField.min)} to={Number(rpmField.max)}
          unit={{ unit: "rpm", factor: 1, offset: 0 }} onChange={(rpm) => change({ rpm })} />
        <ListRow id="card-air" label={w.columns(air.unit)} values={choice.airC} most={COLUMNS} from={Number(airField.min)} to={Number(airField.max)}
          unit={air} onChange={(airC) => change({ airC: airC ?? AIR_C })} />
        <InputRow field={fieldOf(about, "moment.speed_kmh")!} id="card-speed" units={doc.units}
          value={choice.speedKmh ?? valueAt(rig.request, "moment.speed_kmh")} onChange={(v) => change({ speedKmh: typeof v === "number" ? v : null })} />
        <div class="row">
          <label for="card-paper">{w.paper}</label>
          <select id="card-paper" value={choice.paper} onChange={(e) => change({ paper: e.currentTarget.value === "a6" ? "a6" : "a5" })}>
            {Object.entries(w.papers).map(([name, what]) => <option key={name} value={name}>{what}</option>)}
          </select>
          <p class="where">{w.stated}</p>
        </div>
      </div>
      <div class="tools"><button type="button" class="main" disabled={!cells || !!refused} onClick={() => print()}>{w.print}</button></div>
      {refused ? <Problems about={about} refused={refused} go={(screen) => { location.hash = screen; }} />
        : cells ? <Sheet about={about} name={rigName(rig, about)} units={doc.units} speeds={speeds} airC={choice.airC} paper={choice.paper}
            request={requests[0]![0]!} cells={cells} />
        : <p role="status">{words.now.wait}</p>}
    </main>
  );
}

/** Whole numbers in one box; emptied, the usual ones. */
function ListRow({ id, label, values, most, from, to, unit, onChange }: {
  id: string; label: string; values: number[]; most: number; from: number; to: number; unit: Scale; onChange: (values: number[] | null) => void;
}) {
  const w = words.card;
  const [text, setText] = useState<string | null>(null);
  const [wrong, setWrong] = useState("");
  const [a, b] = [shown(toShown(unit, from)), shown(toShown(unit, to))];
  const usual = values.map((v) => shown(toShown(unit, v))).join(", ");
  const commit = (t: string) => {
    const typed = t.replace(/[\u2212\u2013]/g, "-").trim();
    const list = [...new Set(typed.split(/[\s,;]+/).filter((x) => x !== "").map((x) => (/^-?\d{1,5}$/.test(x) ? fromShown(unit, Number(x)) : NaN)))].sort((x, y) => x - y);
    if (list.length > most || list.some((v) => !(v >= from && v <= to))) return setWrong(w.badList(most, a, b));
    setWrong("");
    setText(null);
    onChange(list.length > 0 ? list : null);
  };
  return (
    <div class="row">
      <label for={id}>{label}</label>
      <textarea id={id} rows={(text ?? usual).length > ONE_LINE ? 2 : 1} autocomplete="off" enterkeyhint="done" maxLength={80} aria-describedby={(wrong ? `${id}-wrong ` : "") + `${id}-where`} aria-invalid={wrong ? true : undefined}
        value={text ?? usual}
        onInput={(e) => setText(e.currentTarget.value)}
        onBlur={(e) => text !== null && commit(e.currentTarget.value)}
        onKeyDown={(e) => {
          if (e.key === "Enter") {
            e.preventDefault(); // no second line is begun
            commit(e.currentTarget.value);
          }
          if (e.key === "Escape") { setText(null); setWrong(""); }
        }} />
      {wrong ? <p class="wrong" id={`${id}-wrong`} role="alert">{wrong}</p> : null}
      <p class="where" id={`${id}-where`}>{w.list(most, a, b)}</p>
    </div>
  );
}

/** What is printed, and nothing else. */
function Sheet({ about, name, units, speeds, airC, paper, request, cells }: {
  about: About; name: string; units: Units; speeds: number[]; airC: number[]; paper: string; request: Request; cells: Reply<Ceiling>[][];
}) {
  const w = words.card;
  const air = scale(units, "°C");
  const letters = Array.from(name);
  const remarks = remarksOf(about, cells);
  return (
    <article class={"sheet " + paper} aria-label={w.head}>
      <header class="head">
        <h2>{w.head}</h2>
        <time>{today()}</time>
        {name ? <p>{letters.length > NAME ? letters.slice(0, NAME - 1).join("") + "…" : name}</p> : null}
      </header>
      <p class="rig">{together(rigWords(request, units))}</p>
      <p class="for"><b>{w.for}</b> {together(forWords(about, request, units))}</p>
      <Scroll label={w.caption(air.unit)}>
        <table>
          <thead>
            <tr><th scope="col">{w.corner(air.unit)}</th>{airC.map((c) => <th key={c} scope="col">{shown(toShown(air, c))}</th>)}</tr>
          </thead>
          <tbody>
            {speeds.map((rpm, i) => (
              <tr key={rpm}>
                <th scope="row">{shown(rpm)}</th>
                {airC.map((c, j) => {
                  const { output_W, output_A } = cells[i]![j]!.answer!.advice;
                  return output_W > 0 ? <td key={c}><b>{watts(output_W)} W</b> {amps(output_A)} A</td> : <td key={c} class="off">{w.off}</td>;
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <p class="caption">{w.caption(air.unit)} {w.reading}</p>
      <p class="sure">{[w.sure(`${fixed(100 * cells[0]![0]!.answer!.ceiling.confidence)} %`), ...remarks].join(" ")}</p>
      <ul class="cautions">{w.cautions.map((c) => <li key={c}>{c} </li>)}</ul>
    </article>
  );
}

/** Remarks of all cells once each, from the hottest and fastest: there they are gravest. */
function remarksOf(about: About, cells: Reply<Ceiling>[][]): string[] {
  const told = new Map<string, string>();
  for (const row of cells.slice().reverse()) {
    for (const r of row.slice().reverse()) {
      for (const p of r.held ?? []) told.set(p.field, sentence(plainly(about, p.message)));
      for (const v of r.answer!.validity) if (!told.has(v.code)) told.set(v.code, sentence(plainly(about, v.message)));
    }
  }
  const all = [...told.values()];
  return all.length > REMARKS ? [...all.slice(0, REMARKS), words.card.more(all.length - REMARKS)] : all;
}

/** What of the rig tells it from others. */
function rigWords(request: Request, units: Units): string {
  const w = words.card;
  const at = (path: string) => valueAt(request.rig, path);
  const number = (path: string) => shown(Number(at(path)));
  const length = scale(units, "m");
  const size = at("cable.area_mm2") !== undefined ? `${number("cable.area_mm2")} mm²` : at("cable.awg") !== undefined ? `AWG ${at("cable.awg")}` : "";
  return [
    at("alternator.rated_current_A") !== undefined ? w.alternator(number("alternator.rated_current_A")) : w.byCurve,
    at("alternator.pulley_ratio") !== undefined && w.pulley(number("alternator.pulley_ratio")),
    size && w.cable(size, `${shown(toShown(length, Number(at("cable.length_m"))))} ${length.unit}`),
    at("cable.fuse_A") !== undefined && w.fuse(number("cable.fuse_A")),
    at("charger.max_output_W") !== undefined && w.charger(number("charger.max_output_W")),
    at("house_battery.capacity_Ah") !== undefined && w.house(number("house_battery.capacity_Ah"), w.chemistry[String(at("house_battery.chemistry"))] ?? ""),
  ].filter(Boolean).join(" · ");
}

/** What the figures hold for, beside rows and columns. */
function forWords(about: About, request: Request, units: Units): string {
  const w = words.card;
  const given = (name: string) => valueAt(request.moment, name) !== undefined;
  const value = (name: string) => {
    const field = fieldOf(about, "moment." + name);
    return Number(valueAt(request.moment, name) ?? field?.default ?? field?.assumed ?? 0);
  };
  const inUnit = (name: string, unit: string) => {
    const s = scale(units, unit);
    return `${shown(Number(toShown(s, value(name)).toFixed(2)))} ${s.unit}`;
  };
  return [
    value("speed_kmh") > 0 ? w.road(inUnit("speed_kmh", "km/h")) : w.standing,
    w.altitude(inUnit("altitude_m", "m")),
    given("vehicle_loads_W") ? w.draws(shown(value("vehicle_loads_W"))) : w.drawsAbout(shown(value("vehicle_loads_W"))),
    given("idle_loads_W") && w.idling(shown(value("idle_loads_W"))),
    value("house_loads_W") > 0 && w.houseLoads(shown(value("house_loads_W"))),
    w.houseSoc(`${fixed(100 * value("house_soc"))} %`),
  ].filter(Boolean).join(" · ");
}

/** Keeps a number and its unit on one line. */
const together = (s: string) => s.replace(/(\d) (W|A|Ah|m|ft|mm²|km\/h|mph|%|°C|°F)/g, "$1\u00a0$2");

function today(): string {
  const d = new Date();
  return [d.getFullYear(), d.getMonth() + 1, d.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}
