// The day as stacked strips on one axis of time. Reading off is a plain slider,
// so that finger and keyboard do it alike; a tap on a strip moves it too.

import { memo } from "preact/compat";
import { useState } from "preact/hooks";
import { clockOf, degrees, percent, planMinutes, type DayPlan } from "./day_answer";
import { Fold } from "./fold";
import { fixed } from "./number";
import { line, tick, ticks, useWidth } from "./plot";
import { Scroll } from "./scroll";
import { scale, toShown, type Units } from "./units";
import { words } from "./words";

const w = words.day.strips;
const LEFT = 50;
const RIGHT = 12;

type Kind = "thick" | "dash" | "dot" | "area" | "room";
interface Trace {
  name: string;
  kind: Kind;
  values: number[];
  steps?: boolean; // a mean over the step, not a value at its end
}

/** A scale that one short peak does not flatten: the peak is cut, and said. */
function most(traces: Trace[]): { top: number; cut: number } {
  const all = traces.flatMap((t) => t.values).filter(Number.isFinite).sort((a, b) => a - b);
  const peak = all[all.length - 1] ?? 1;
  const usual = all[Math.floor(all.length * 0.985)] ?? peak;
  const top = Math.max(usual * 1.15, 10);
  return peak > 1.5 * top ? { top, cut: peak } : { top: Math.max(peak * 1.08, 10), cut: 0 };
}

export const Strips = memo(function Strips({ plan, start, units }: { plan: DayPlan; start: number; units: Units }) {
  const s = plan.series;
  const [box, width] = useWidth<HTMLDivElement>();
  const [cursor, setCursor] = useState<number | null>(null);
  const n = s.at_min.length;
  const step = n > 1 ? s.at_min[1]! - s.at_min[0]! : 1;
  const [x0, x1] = [s.at_min[0]! - step, s.at_min[n - 1]!];
  const days = plan.nights.length;
  const x = (m: number) => LEFT + ((m - x0) / (x1 - x0)) * (width - LEFT - RIGHT);
  const goal = plan.goal.full_at !== null ? planMinutes(start, plan.goal.full_day ?? 1, plan.goal.full_at) : planMinutes(start, plan.goal.due_day, plan.goal.due_at);
  const index = Math.min(cursor ?? Math.max(0, s.at_min.findIndex((m) => m >= goal)), n - 1);
  const at = s.at_min[index]!;
  const name = (m: number) => (days > 1 ? `${w.day(Math.floor((m - start) / 1440 - 1e-9) + 1)}, ` : "") + clockOf(m);
  const value = (i: number) => ({
    at: name(s.at_min[i]!), house: percent(s.house_soc[i]!), starter: percent(s.starter_soc[i]!), charge: fixed(s.charge_W[i]!), allowed: fixed(s.allowed_W[i]!),
    sun: fixed(s.sun_W[i]!), loads: fixed(s.house_W[i]!), vehicle: fixed(s.vehicle_W[i]!), heat: degrees(s.stator_winding_C[i]!, units), air: degrees(s.ambient_C[i]!, units),
  });
  const v = value(index);
  const reading = w.reading(v.at, v.house, v.starter, v.charge, v.allowed, v.sun, v.loads, v.vehicle, v.heat, v.air);
  const warm = scale(units, "°C");
  const warmth = (list: number[]) => list.map((t) => toShown(warm, t));
  const changes = plan.handovers.map((h) => planMinutes(start, h.day, h.at));

  const axis: { at: number; text: string }[] = [];
  if (days === 1) {
    const every = width < 520 ? 360 : 180;
    for (let m = Math.ceil(x0 / every) * every; m <= x1; m += every) axis.push({ at: m, text: clockOf(m) });
  } else {
    const every = tick(days, width < 520 ? 5 : 10);
    for (let d = 0; d < days; d += every) axis.push({ at: start + d * 1440, text: w.day(d + 1) });
  }
  const toIndex = (clientX: number, svg: SVGSVGElement) => {
    const box = svg.getBoundingClientRect();
    const m = x0 + (((clientX - box.left) * (width / box.width) - LEFT) / (width - LEFT - RIGHT)) * (x1 - x0);
    return Math.min(n - 1, Math.max(0, Math.round((m - x0) / step) - 1));
  };
  const pick = (e: PointerEvent) => {
    if (e.type === "pointermove" && e.buttons === 0) return;
    setCursor(toIndex(e.clientX, e.currentTarget as SVGSVGElement));
  };

  const strip = (key: string, title: string, unit: string, height: number, traces: Trace[], range: { from: number; to: number; cut?: number }, readings: string) => {
    const TOP = 8;
    const y = (v: number) => TOP + height - ((Math.min(Math.max(v, range.from), range.to) - range.from) / (range.to - range.from)) * height;
    const points = (t: Trace): [number, number][] => {
      const list: [number, number][] = [];
      t.values.forEach((v, i) => {
        const end = s.at_min[i]!;
        if (t.steps) list.push([x(i === 0 ? x0 : s.at_min[i - 1]!), y(v)]);
        list.push([x(end), y(v)]);
      });
      return list;
    };
    const closed = (t: Trace) => line([[x(x0), y(range.from)], ...points(t), [x(x1), y(range.from)]]) + "Z";
    // Dots along what lasts; the ways up and down at each stop would hide the rest.
    const levels = (t: Trace) => {
      const near = (i: number, j: number) => t.values[j] !== undefined && Math.abs(t.values[i]! - t.values[j]!) <= (range.to - range.from) * 0.1;
      let d = "";
      t.values.forEach((v, i) => {
        const [before, after] = [near(i, i - 1), near(i, i + 1)];
        if (!before && !after) return;
        if (!before) d += `M${x(i === 0 ? x0 : s.at_min[i - 1]!).toFixed(1)} ${y(v).toFixed(1)}`;
        d += `L${x(s.at_min[i]!).toFixed(1)} ${y(v).toFixed(1)}`;
      });
      return d;
    };
    return (
      <div class="lane" key={key}>
        <h3>{title}<small>, {unit}</small></h3>
        <ul class="legend">
          {traces.map((t) => <li key={t.name}><i class={"key " + t.kind} /> {t.name}</li>)}
          {range.cut ? <li><i class="key over">▲</i> {w.more(fixed(range.cut))}</li> : null}
        </ul>
        <svg width={width} height={height + TOP + 4} viewBox={`0 0 ${width} ${height + TOP + 4}`} role="img" aria-label={`${title}, ${unit}. ${readings}`} onPointerDown={pick} onPointerMove={pick}>
          {ticks(range.from, range.to, 3).map((v) => (
            <g key={v}>
              <line class="grid" x1={LEFT} x2={width - RIGHT} y1={y(v)} y2={y(v)} />
              <text x={LEFT - 7} y={y(v) + 5} text-anchor="end">{fixed(v)}</text>
            </g>
          ))}
          {axis.map((a) => <line key={a.at} class="grid" x1={x(a.at)} x2={x(a.at)} y1={TOP} y2={TOP + height} />)}
          {traces.map((t) => t.kind === "area" ? <path key={t.name} class="area" d={closed(t)} />
            : t.kind === "room" ? <path key={t.name} class="room" d={closed(t)} />
            : <path key={t.name} class={t.kind} d={t.kind === "dot" ? levels(t) : line(points(t))} />)}
          {range.cut ? traces.flatMap((t) => t.values.map((v, i) => (v > range.to && !(i > 0 && t.values[i - 1]! > range.to) ? <path key={t.name + i} class="over" d={`M${x(s.at_min[i]! - step / 2).toFixed(1)} ${TOP - 7}l6 9h-12Z`} /> : null))) : null}
          {changes.map((m, i) => <line key={i} class="change" x1={x(m)} x2={x(m)} y1={TOP - 6} y2={TOP + height} />)}
          <line class="cursor" x1={x(at)} x2={x(at)} y1={0} y2={TOP + height + 4} />
        </svg>
      </div>
    );
  };

  const speed = scale(units, "km/h");
  const engine = s.engine_rpm.map((r) => r > 0);
  const charger: Trace[] = [{ name: w.allowed, kind: "room", values: s.allowed_W, steps: true }, { name: w.charging, kind: "area", values: s.charge_W, steps: true }, { name: w.ceiling, kind: "dot", values: s.ceiling_W, steps: true }];
  const power: Trace[] = [
    { name: w.sun, kind: "area", values: s.sun_W, steps: true },
    { name: w.vehicleLoads, kind: "dot", values: s.vehicle_W, steps: true },
    { name: w.houseLoads, kind: "thick", values: s.house_W, steps: true },
  ];
  const heat: Trace[] = [{ name: w.winding, kind: "thick", values: warmth(s.stator_winding_C) }, { name: w.air, kind: "dash", values: warmth(s.ambient_C) }];
  const least = Math.min(...heat[1]!.values, ...heat[0]!.values);
  const lowest = Math.floor(Math.min(least, 0) / 10) * 10;
  const most1 = most(charger);
  const most2 = most(power);
  const skip = Math.max(1, Math.round((days === 1 ? 30 : 180) / step));

  return (
    <section class="strips" aria-labelledby="h-strips">
      <h2 id="h-strips">{w.title}</h2>
      <figure>
        <div ref={box}>
          {strip("battery", w.battery, "%", 96, [
            { name: w.house, kind: "thick", values: s.house_soc.map((v) => 100 * v) },
            { name: w.starter, kind: "dash", values: s.starter_soc.map((v) => 100 * v) },
            { name: w.want, kind: "dot", values: s.house_soc.map(() => 100 * plan.goal.want_soc) },
          ], { from: 0, to: 100 }, `${v.at}: ${w.house} ${v.house}, ${w.starter} ${v.starter}`)}
          {strip("charger", w.charger, "W", 84, charger, { from: 0, to: most1.top, cut: most1.cut }, `${v.at}: ${w.charging} ${v.charge}, ${w.allowed} ${v.allowed}`)}
          {strip("power", w.power, "W", 84, power, { from: 0, to: most2.top, cut: most2.cut }, `${v.at}: ${w.sun} ${v.sun}, ${w.houseLoads} ${v.loads}, ${w.vehicleLoads} ${v.vehicle}`)}
          {strip("heat", w.heat, warm.unit, 84, heat, { from: lowest, to: Math.max(...heat[0]!.values, ...heat[1]!.values) * 1.06 }, `${v.at}: ${w.winding} ${v.heat}, ${w.air} ${v.air}`)}
          <div class="lane">
            <h3>{w.drive}<small>, {speed.unit}</small></h3>
            <ul class="legend">
              <li><i class="key area" /> {w.speed}</li>
              <li><i class="key band" /> {w.engine}</li>
              <li><i class="key change" /> {w.change}</li>
            </ul>
            <svg width={width} height={86} viewBox={`0 0 ${width} 86`} role="img" aria-label={`${w.drive}. ${v.at}: ${fixed(toShown(speed, s.speed_kmh[index]!))} ${speed.unit}, ${w.engine}: ${engine[index] ? w.on : w.stands}`} onPointerDown={pick} onPointerMove={pick}>
              {axis.map((a) => <line key={a.at} class="grid" x1={x(a.at)} x2={x(a.at)} y1={2} y2={62} />)}
              <Speeds x={x} from={x0} ends={s.at_min} values={s.speed_kmh} shown={(k) => toShown(speed, k)} width={width} />
              {spans(engine).map(([a, b]) => <rect key={a} class="band" x={x(a === 0 ? x0 : s.at_min[a - 1]!)} y={50} width={Math.max(1, x(s.at_min[b]!) - x(a === 0 ? x0 : s.at_min[a - 1]!))} height={8} />)}
              {changes.map((m, i) => <line key={i} class="change" x1={x(m)} x2={x(m)} y1={2} y2={62} />)}
              {axis.map((a) => <text key={a.at} x={x(a.at)} y={81} text-anchor={x(a.at) > width - 40 ? "end" : "middle"}>{a.text}</text>)}
              <line class="cursor" x1={x(at)} x2={x(at)} y1={0} y2={62} />
            </svg>
          </div>
        </div>
        <label class="readoff">
          <span>{w.at}</span>
          <input type="range" id="day-cursor" min={0} max={n - 1} step={1} value={index} aria-valuetext={reading} onInput={(e) => setCursor(Number(e.currentTarget.value))} />
        </label>
        <output class="dayread" for="day-cursor">
          <b>{v.at}</b>
          <span>{w.house} <b>{v.house}</b></span><span>{w.starter} <b>{v.starter}</b></span>
          <span>{w.charging} <b>{v.charge} W</b></span><span>{w.allowed} <b>{v.allowed} W</b></span>
          <span>{w.sun} <b>{v.sun} W</b></span><span>{w.houseLoads} <b>{v.loads} W</b></span><span>{w.vehicleLoads} <b>{v.vehicle} W</b></span>
          <span>{w.winding} <b>{v.heat}</b></span><span>{w.air} <b>{v.air}</b></span>
        </output>
        <Fold summary={w.table}>{() => (
          <>
            <p class="quiet">{w.tableStep(fixed(step * skip))}</p>
            <Scroll label={w.title}>
              <table>
                <thead><tr>
                  <th scope="col">{w.time}</th><th scope="col">{w.house}</th><th scope="col">{w.starter}</th><th scope="col">{w.charging}, W</th><th scope="col">{w.allowed}, W</th>
                  <th scope="col">{w.sun}, W</th><th scope="col">{w.houseLoads}, W</th><th scope="col">{w.vehicleLoads}, W</th><th scope="col">{w.winding}</th><th scope="col">{w.air}</th>
                </tr></thead>
                <tbody>
                  {s.at_min.map((m, i) => {
                    if ((i + 1) % skip !== 0 && i !== n - 1) return null;
                    const from = i - (i % skip);
                    const mean = (list: number[]) => fixed(list.slice(from, i + 1).reduce((a, b) => a + b, 0) / (i + 1 - from));
                    const r = value(i);
                    return (
                      <tr key={m}>
                        <th scope="row">{r.at}</th><td>{r.house}</td><td>{r.starter}</td><td>{mean(s.charge_W)}</td><td>{mean(s.allowed_W)}</td>
                        <td>{mean(s.sun_W)}</td><td>{mean(s.house_W)}</td><td>{mean(s.vehicle_W)}</td><td>{r.heat}</td><td>{r.air}</td>
                      </tr>
                    );
                  })}
                </tbody>
              </table>
            </Scroll>
          </>
        )}</Fold>
      </figure>
    </section>
  );
});

/** Where a list is true: first and last index of each stretch. */
function spans(list: boolean[]): [number, number][] {
  const out: [number, number][] = [];
  list.forEach((on, i) => {
    if (!on) return;
    const last = out[out.length - 1];
    if (last && last[1] === i - 1) last[1] = i;
    else out.push([i, i]);
  });
  return out;
}

function Speeds({ x, from, ends, values, shown, width }: { x: (m: number) => number; from: number; ends: number[]; values: number[]; shown: (kmh: number) => number; width: number }) {
  const top = Math.max(10, ...values);
  const y = (v: number) => 48 - (v / top) * 40;
  const points: [number, number][] = [[x(from), y(0)]];
  values.forEach((v, i) => points.push([x(i === 0 ? from : ends[i - 1]!), y(v)], [x(ends[i]!), y(v)]));
  points.push([x(ends[ends.length - 1]!), y(0)]);
  const high = tick(shown(top), 1) > shown(top) ? shown(top) : tick(shown(top), 1);
  return (
    <>
      <line class="grid" x1={LEFT} x2={width - RIGHT} y1={y(0)} y2={y(0)} />
      <text x={LEFT - 7} y={y(0) + 4} text-anchor="end">0</text>
      <text x={LEFT - 7} y={Math.max(16, y((top * high) / shown(top)) + 6)} text-anchor="end">{fixed(high)}</text>
      <path class="area" d={line(points) + "Z"} />
    </>
  );
}
