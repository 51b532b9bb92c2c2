// What charts share: a width in CSS pixels, so that letters keep their size,
// round ticks, and lines.

import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { RefObject } from "preact";

/** The width of the element a chart stands in. */
export function useWidth<T extends HTMLElement>(first = 328): [RefObject<T | null>, number] {
  const at = useRef<T>(null);
  const [width, set] = useState(first);
  useLayoutEffect(() => {
    const element = at.current;
    if (!element) return;
    const measure = () => set(Math.max(200, Math.floor(element.clientWidth)));
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(element);
    return () => watch.disconnect();
  }, []);
  return [at, width];
}

/** A round step that parts a span into at most n. */
export function tick(span: number, n: number): number {
  for (let step = 1; ; step *= 10) {
    for (const k of [1, 2, 5]) {
      if (span <= k * step * n + 1e-9) return k * step;
    }
  }
}

export function ticks(from: number, to: number, n: number): number[] {
  const step = tick(to - from, n);
  const list = [];
  for (let v = Math.ceil(from / step) * step; v <= to + 1e-9; v += step) list.push(v);
  return list;
}

/** An SVG path through points. */
export function line(points: [number, number][]): string {
  return points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
}
