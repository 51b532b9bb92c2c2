// What takes longer than a second says what it does and for how long, and can
// be stopped. How long it will take nobody knows beforehand: a block is added
// each second, and there is no end to the row.

import { useEffect, useRef, useState } from "preact/hooks";
import { askAlone } from "./alone";
import type { Job, Reply } from "./ask";
import { words } from "./words";

const AFTER_MS = 1000; // before a wait is spoken of
const BLOCKS = 20; // in a row
const SPOKEN_S = 10; // between two times that it is read out

/** A job in a thread of its own; seconds: of waiting, null while there is nothing to say. */
export function useAlone() {
  const [seconds, setSeconds] = useState<number | null>(null);
  const running = useRef<(() => void) | null>(null);
  useEffect(() => () => running.current?.(), []);
  const run = async <T,>(job: Job): Promise<Reply<T> | null> => {
    running.current?.();
    const began = performance.now();
    const { reply, cancel } = askAlone<T>(job);
    const tick = setInterval(() => {
      const waited = performance.now() - began;
      if (waited >= AFTER_MS) setSeconds(Math.floor(waited / 1000));
    }, 250);
    running.current = cancel;
    const got = await reply;
    clearInterval(tick);
    if (running.current === cancel) {
      running.current = null;
      setSeconds(null);
    }
    return got;
  };
  return { seconds, run, stop: () => running.current?.() };
}

export function Busy({ seconds, doing, stop }: { seconds: number; doing: string; stop: () => void }) {
  const w = words.busy;
  return (
    <div class="busy">
      <p aria-hidden="true">{doing} <b>{w.seconds(seconds)}</b></p>
      <p class="unseen" role="status">{doing}{seconds >= SPOKEN_S ? ` ${w.seconds(seconds - (seconds % SPOKEN_S))}` : ""}</p>
      <span class="blocks" aria-hidden="true">
        {Array.from({ length: BLOCKS }, (_, i) => <i key={i} class={i <= (seconds - 1) % BLOCKS ? "past" : ""} />)}
      </span>
      <div class="tools"><button type="button" onClick={stop}>{w.stop}</button></div>
    </div>
  );
}
