// Questions to the solver's thread. They are numbered; of a channel only the
// answer to the latest question is given on, and while one is on its way at
// most one more waits behind it.

import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { LogConditions, Problem } from "../../wasm/spareamps.mjs";
import type { About, Request } from "./about";
import { scriptURL } from "./trusted";

export type Job =
  | { ask: "ceiling"; request: Request }
  | { ask: "day"; request: Request }
  | { ask: "check"; request: Request }
  | { ask: "fit"; request: Request }
  | { ask: "log"; file: ArrayBuffer; conditions: LogConditions }
  | { ask: "quantity"; name: string; args: number[] }
  | { ask: "curve"; request: Request; path: string; values: number[]; outputs: string[] };

export type ToWorker = { kind: "load"; module: WebAssembly.Module | string } | { kind: "job"; id: number; channel: string; job: Job };

export interface Refused {
  code: string;
  problems: Problem[];
  message: string;
}

export type FromWorker =
  | { kind: "ready"; about: About; hasDay: boolean; module: WebAssembly.Module }
  | { kind: "failed"; message: string }
  | { kind: "stale"; id: number }
  | { kind: "answer"; id: number; answer?: unknown; refused?: Refused; held?: Problem[]; took?: number };

/** What came back: an answer, or why there is none. */
export interface Reply<T> {
  id: number;
  answer?: T;
  refused?: Refused;
  held?: Problem[]; // wrong parts of the rig that the answer leaves out
}

// The tables and the last answer of this very module, from the last visit: the
// same module gives the same answer to the same question, so the page need not
// wait for it to start.
const LAST = "spareamps.last";

interface Last {
  module: string;
  about: About;
  key?: string;
  answer?: unknown;
}

let last: Last | null = null;
try {
  const stored = JSON.parse(localStorage.getItem(LAST) ?? "null") as Last | null;
  if (stored?.module === MODULE) last = stored;
} catch {
  // nothing remembered
}

/** The module's tables, if they are known before it has started. */
export const earlyAbout = (): About | null => last?.about ?? null;

let remembering = 0;
function remember(key: string, answer: unknown): void {
  if (!last) return;
  last = { ...last, key, answer };
  clearTimeout(remembering);
  remembering = self.setTimeout(() => {
    try {
      localStorage.setItem(LAST, JSON.stringify(last));
    } catch {
      // full or closed: the next start waits for the module
    }
  }, 800);
}

let worker: Worker | null = null;
const early: ToWorker[] = []; // asked before there is a thread
let count = 0;
const open = new Map<number, (reply: Reply<any> | null) => void>();

/** Starts the thread and loads the module; resolves with the module's tables. */
export function start(): Promise<{ about: About; hasDay: boolean }> {
  const thread = new Worker(scriptURL(WORKER) as string, { type: "module" });
  worker = thread;
  for (const message of early.splice(0)) thread.postMessage(message);
  return new Promise((resolve, reject) => {
    thread.onerror = (e) => reject(new Error(e.message || "the solver did not start"));
    thread.onmessage = (event: MessageEvent<FromWorker>) => {
      const m = event.data;
      switch (m.kind) {
        case "ready":
          last ??= { module: MODULE, about: m.about };
          gotModule(m.module);
          return resolve(m);
        case "failed":
          return reject(new Error(m.message));
        case "stale":
          open.get(m.id)?.(null);
          return void open.delete(m.id);
        case "answer":
          if (m.took !== undefined) performance.measure?.("answer", { start: performance.now() - m.took, duration: m.took });
          open.get(m.id)?.({ id: m.id, answer: m.answer, refused: m.refused, held: m.held });
          return void open.delete(m.id);
      }
    };
    // Fetched and compiled in the thread: where compiled code is cached, taking it up holds a thread.
    thread.postMessage({ kind: "load", module: new URL(MODULE, document.baseURI).href } satisfies ToWorker);
  });
}

let gotModule: (module: WebAssembly.Module) => void;
const module = new Promise<WebAssembly.Module>((resolve) => (gotModule = resolve));
/** The module, once the thread has compiled it. */
export const compiledModule = () => module;

/** Asks; null when a later question of the channel overtook this one. */
export function ask<T>(channel: string, job: Job): Promise<Reply<T> | null> {
  const id = ++count;
  return new Promise((resolve) => {
    open.set(id, resolve);
    const message: ToWorker = { kind: "job", id, channel, job };
    if (worker) worker.postMessage(message);
    else early.push(message);
  });
}

/**
 * The reply to a job that changes: the last good one is kept until the next is
 * there, so that nothing flickers. `key` says when it is another question.
 */
export function useReply<T>(channel: string, job: Job | null, key: string | null): Reply<T> | null {
  const [reply, set] = useState<Reply<T> | null>(() => (key !== null && key === last?.key ? { id: 0, answer: last.answer as T } : null));
  const flying = useRef(false);
  const pending = useRef<Job | null>(null);
  useLayoutEffect(() => {
    if (!job) return set(null);
    pending.current = job;
    const send = () => {
      const now = pending.current;
      if (!now) return;
      pending.current = null;
      flying.current = true;
      void ask<T>(channel, now).then((r) => {
        flying.current = false;
        if (r) set(r); // while a finger keeps nudging, what there is
        if (r?.answer && channel === "now" && !r.held && now.ask === "ceiling") remember(JSON.stringify(now.request), r.answer);
        send();
      });
    };
    if (!flying.current) send();
  }, [key]);
  return reply;
}
