// The axis of bars, from 0: a surveyor's staff, black and white by turns.

import { fixed } from "./number";
import { tick } from "./plot";

const ROOM = 0.1; // of the whole, for a figure not to be cut at the end

export function Staff({ top }: { top: number }) {
  const step = tick(top, 6);
  const blocks = Array.from({ length: Math.ceil(top / step) }, (_, i) => i * step);
  return (
    <div class="staff" aria-hidden="true">
      {blocks.map((v, i) => (
        <span key={v} class={i % 2 ? "block" : "block dark"} style={{ left: `${(100 * v) / top}%`, width: `${(100 * Math.min(step, top - v)) / top}%` }}>
          {top - v > ROOM * top ? <b>{fixed(v)}</b> : null}
        </span>
      ))}
    </div>
  );
}
