// The ceiling against engine speed, with the present point on it. Reading off
// is a plain slider, so that finger and keyboard do it alike.

import { useState } from "preact/hooks";
import type { Ceiling } from "./answer";
import { Fold } from "./fold";
import { fixed, watts } from "./number";
import { line, ticks, useWidth } from "./plot";
import { Scroll } from "./scroll";
import { words } from "./words";

export interface CurveData {
  "ceiling.output_W": number[];
  "nominal.output_W": number[];
}

/** The engine speeds a curve is computed at. */
export function curveSpeeds(idleRpm: number, presentRpm: number): number[] {
  const from = Math.floor((idleRpm - 100) / 100) * 100;
  const to = Math.max(3600, Math.ceil((presentRpm * 1.2) / 100) * 100);
  const step = (to - from) / 36;
  return Array.from({ length: 37 }, (_, i) => Math.round(from + i * step));
}

const HEIGHT = 240;
const LEFT = 52;
const RIGHT = 14;
const TOP = 14;
const BOTTOM = 46;

export function Curve({ speeds, data, a, rpm, settingW }: { speeds: number[]; data: CurveData; a: Ceiling; rpm: number; settingW: number }) {
  const w = words.curve;
  const [box, width] = useWidth<HTMLDivElement>();
  const [cursor, setCursor] = useState<number | null>(null);
  const safe = data["ceiling.output_W"];
  const likely = data["nominal.output_W"];
  const [x0, x1] = [speeds[0]!, speeds[speeds.length - 1]!];
  const most = Math.max(100, settingW, ...likely, ...safe) * 1.08;
  const x = (v: number) => LEFT + ((v - x0) / (x1 - x0)) * (width - LEFT - RIGHT);
  const y = (v: number) => HEIGHT - BOTTOM - (v / most) * (HEIGHT - TOP - BOTTOM);
  const points = (list: number[]) => list.map((v, i): [number, number] => [x(speeds[i]!), y(v)]);
  const hereW = settingW > 0 ? settingW : a.advice.output_W;
  const index = cursor ?? nearest(speeds, rpm);
  const reading = w.reading(fixed(speeds[index]!), watts(safe[index]!), watts(likely[index]!));

  return (
    <figure class="curve">
      <p class="quiet">{w.lead}</p>
      <div ref={box}>
        <svg width={width} height={HEIGHT} viewBox={`0 0 ${width} ${HEIGHT}`} role="img" aria-label={`${w.title}. ${reading}`}>
          <path class="under" d={line([[x(x0), y(0)], ...points(safe), [x(x1), y(0)]]) + "Z"} />
          {ticks(0, most, 5).map((v) => (
            <g key={v}>
              <line class="grid" x1={LEFT} x2={width - RIGHT} y1={y(v)} y2={y(v)} />
              <text x={LEFT - 8} y={y(v) + 5} text-anchor="end">{fixed(v)}</text>
            </g>
          ))}
          {ticks(x0, x1, width < 500 ? 4 : 8).map((v) => (
            <g key={v}>
              <line class="grid" x1={x(v)} x2={x(v)} y1={y(0)} y2={y(0) + 6} />
              <text x={x(v)} y={HEIGHT - BOTTOM + 22} text-anchor="middle">{fixed(v)}</text>
            </g>
          ))}
          <text x={width - RIGHT} y={HEIGHT - 4} text-anchor="end">{w.x}</text>
          <text x={4} y={HEIGHT - 4}>↑ {w.y}</text>
          <path class="likely" d={line(points(likely))} />
          <path class="safe" d={line(points(safe))} />
          <line class="choose" x1={LEFT} x2={width - RIGHT} y1={y(a.advice.output_W)} y2={y(a.advice.output_W)} />
          <line class="cursor" x1={x(speeds[index]!)} x2={x(speeds[index]!)} y1={TOP} y2={y(0)} />
          <g transform={`translate(${x(clamp(rpm, x0, x1)).toFixed(1)} ${y(hereW).toFixed(1)})`}>
            <path class="here" d="M0 -10L10 0L0 10L-10 0Z" />
          </g>
        </svg>
      </div>
      <ul class="legend">
        <li><i class="key line" /> {w.safe}</li>
        <li><i class="key dash" /> {w.likely}</li>
        <li><i class="key choose" /> {w.choose}</li>
        <li><i class="key diamond" /> {w.here}</li>
      </ul>
      <label class="readoff">
        <span>{w.at}</span>
        <input type="range" min={0} max={speeds.length - 1} step={1} value={index} aria-valuetext={reading}
          onInput={(e) => setCursor(Number(e.currentTarget.value))} />
      </label>
      <output class="reading">{reading}</output>
      <Fold summary={w.table}>{() => (
        <Scroll label={w.title}>
          <table>
            <thead><tr><th scope="col">{w.x}</th><th scope="col">{w.safe}, W</th><th scope="col">{w.likely}, W</th></tr></thead>
            <tbody>
              {speeds.map((v, i) => (
                <tr key={v}><th scope="row">{fixed(v)}</th><td>{watts(safe[i]!)}</td><td>{watts(likely[i]!)}</td></tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}</Fold>
    </figure>
  );
}

const clamp = (v: number, a: number, b: number) => Math.min(b, Math.max(a, v));

function nearest(list: number[], v: number): number {
  let best = 0;
  list.forEach((x, i) => {
    if (Math.abs(x - v) < Math.abs(list[best]! - v)) best = i;
  });
  return best;
}
