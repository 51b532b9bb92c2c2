// A big control for one changing number: two buttons to nudge, a box to type
// in. Held down, a button repeats.

import { useEffect, useRef, useState } from "preact/hooks";
import { label, type Field } from "./about";
import { shown, typed } from "./number";
import { fromShown, scale, toShown, type Units } from "./units";
import { words } from "./words";

const REPEAT_AFTER_MS = 450;
const REPEAT_MS = 110;

interface Props {
  field: Field;
  value: number | undefined;
  step: number; // in the unit on the screen
  units: Units;
  onChange: (v: number) => void;
}

export function Nudge({ field, value, step, units, onChange }: Props) {
  const s = scale(units, field.unit, field);
  const [text, setText] = useState<string | null>(null); // while typed
  const assumed = value === undefined && field.need === "optional"; // and counted with a spread
  const base = value ?? (field.default as number | undefined) ?? (field.assumed as number | undefined) ?? 0;
  const name = words.short[field.path] ?? label(field);
  const id = "nudge-" + field.path.replace(".", "-");
  const [min, max] = [Number(field.min), Number(field.max)];

  const latest = useRef(base);
  latest.current = base;
  const nudge = (direction: number) => {
    const at = toShown(s, latest.current);
    const grid = at / step;
    // To the next round value first.
    const next = direction > 0 ? Math.floor(grid + 1e-6) + 1 : Math.ceil(grid - 1e-6) - 1;
    const v = Math.min(max, Math.max(min, fromShown(s, Number((next * step).toPrecision(12)))));
    latest.current = v;
    setText(null);
    onChange(v);
  };

  const timer = useRef(0);
  const release = () => {
    clearTimeout(timer.current);
    timer.current = 0;
  };
  useEffect(() => release, []);
  const press = (direction: number) => (e: PointerEvent) => {
    if (e.button !== 0) return;
    release();
    const again = () => {
      nudge(direction);
      timer.current = self.setTimeout(again, REPEAT_MS);
    };
    timer.current = self.setTimeout(again, REPEAT_AFTER_MS);
  };
  const button = (direction: number, sign: string, says: string) => (
    <button type="button" class="step" aria-label={says} onClick={() => nudge(direction)}
      onPointerDown={press(direction)} onPointerUp={release} onPointerLeave={release} onPointerCancel={release} onContextMenu={(e) => e.preventDefault()}>
      {sign}
    </button>
  );

  const commit = () => {
    if (text === null) return;
    const v = fromShown(s, typed(text));
    setText(null);
    if (Number.isFinite(v)) onChange(Math.min(max, Math.max(min, field.kind === "whole" ? Math.round(v) : v)));
  };

  const plain = shown(round(toShown(s, base), step));
  const content = text ?? (assumed ? "≈" + plain : plain);
  return (
    <div class={value === undefined ? "nudge unset" : "nudge"}>
      <label for={id}>{name}{assumed ? <span class="unseen">, {words.now.assumed}</span> : null} <span class="unit">{s.unit}</span></label>
      {button(-1, "−", words.now.down(name))}
      <input id={id} type="text" inputMode={min < 0 ? "text" : "decimal"} autocomplete="off" enterkeyhint="done"
        class={content.length > 4 ? "long" : undefined} value={content}
        onFocus={(e) => e.currentTarget.select()}
        onInput={(e) => setText(e.currentTarget.value)}
        onBlur={commit}
        onKeyDown={(e) => {
          if (e.key === "Enter") { commit(); e.currentTarget.select(); }
          if (e.key === "Escape") setText(null);
          if (e.key === "ArrowUp") { e.preventDefault(); commit(); nudge(1); }
          if (e.key === "ArrowDown") { e.preventDefault(); commit(); nudge(-1); }
        }} />
      {button(1, "+", words.now.up(name))}
    </div>
  );
}

/** To a tenth of a step: what a conversion adds behind that is not shown. */
const round = (v: number, step: number) => Number((Math.round((v / step) * 1000) / 1000 * step).toPrecision(5));
