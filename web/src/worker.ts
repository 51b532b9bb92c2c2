// The solver's own thread: holds one instance of the module and answers jobs,
// the most urgent first. A job that a later one of the same channel has
// overtaken is dropped, long ones between their pieces.

import { load, SpareampsError, type Problem, type Spareamps } from "../../wasm/spareamps.mjs";
import type { Part, Request } from "./about";
import type { FromWorker, Job, ToWorker } from "./ask";

const CURVE_ROWS = 6; // in one piece, so that a nudge does not wait for a curve

let solver: Spareamps | null = null;
const jobs: { id: number; job: Job; channel: string }[] = [];
const latest = new Map<string, number>();
const curves = new Map<number, Record<string, number[]>>();

const tell = (message: FromWorker) => self.postMessage(message);

self.onmessage = async (event: MessageEvent<ToWorker>) => {
  const message = event.data;
  if (message.kind === "load") {
    try {
      solver = await load(message.module);
      next();
      tell({ kind: "ready", about: solver.about(), hasDay: typeof solver.day === "function" && solver.abi.minor >= 1, module: solver.module });
    } catch (cause) {
      tell({ kind: "failed", message: (cause as Error).message });
    }
    return;
  }
  latest.set(message.channel, message.id);
  jobs.push(message);
  next();
};

// Between two jobs the messages that came meanwhile are read.
const pump = new MessageChannel();
let waiting = false;
pump.port1.onmessage = () => {
  waiting = false;
  void work();
};
function next(): void {
  if (waiting || jobs.length === 0 || !solver) return; // what is asked early waits
  waiting = true;
  pump.port2.postMessage(null);
}

const urgency = (job: Job) => (job.ask === "ceiling" || job.ask === "quantity" ? 0 : job.ask === "check" ? 1 : job.ask === "day" ? 2 : 3);

async function work(): Promise<void> {
  for (let i = jobs.length - 1; i >= 0; i--) {
    const { id, channel } = jobs[i]!;
    if (latest.get(channel) !== id) {
      jobs.splice(i, 1);
      curves.delete(id);
      tell({ kind: "stale", id });
    }
  }
  let first = 0;
  for (let i = 1; i < jobs.length; i++) {
    if (urgency(jobs[i]!.job) < urgency(jobs[first]!.job)) first = i;
  }
  const [taken] = jobs.splice(first, 1);
  if (taken) {
    const { id, job } = taken;
    try {
      const answer = answerTo(id, job);
      if (answer === undefined) jobs.push(taken); // more of it to do
      else tell({ kind: "answer", id, ...answer });
    } catch (cause) {
      const e = cause as SpareampsError;
      tell({ kind: "answer", id, refused: { code: e.code ?? "internal", problems: e.problems ?? [], message: e.message } });
      if (e.code === "trapped") await solver?.restart();
    }
  }
  next();
}

type Answer = { answer: unknown; took: number; held?: Problem[] };

function answerTo(id: number, job: Job): Answer | undefined {
  if (!solver) throw new SpareampsError("load", [], "the module is not loaded");
  const from = performance.now();
  switch (job.ask) {
    case "ceiling":
      return { ...forgiving(job.request, (q) => solver!.ceiling(q as never)), took: performance.now() - from };
    case "day":
      return { ...forgiving(job.request, (q) => solver!.day(q as never)), took: performance.now() - from };
    case "quantity":
      return { answer: solver.quantity(job.name, ...job.args), took: performance.now() - from };
    case "check":
      solver.ceiling(job.request as never); // judged by the module, not by types
      if (job.request.day) solver.day(job.request as never);
      return { answer: true, took: performance.now() - from };
    case "fit":
      return { answer: solver.fit(job.request as never), took: performance.now() - from };
    case "log":
      return { answer: solver.log(job.file, job.conditions), took: performance.now() - from };
    case "curve": {
      const done = curves.get(id) ?? Object.fromEntries(job.outputs.map((path) => [path, []]));
      const at = done[job.outputs[0]!]!.length;
      const piece = solver.block(job.request, { [job.path]: job.values.slice(at, at + CURVE_ROWS) }, job.outputs);
      for (const path of job.outputs) done[path]!.push(...piece[path]!);
      if (at + CURVE_ROWS < job.values.length) {
        curves.set(id, done);
        return undefined;
      }
      curves.delete(id);
      return { answer: done, took: performance.now() - from };
    }
  }
}

/**
 * An answer in spite of half-filled forms: where all that is wrong lies in
 * optional parts of the rig, it is asked once more without them, and what was
 * wrong is told beside the answer.
 */
function forgiving(request: Request, ask: (q: Request) => unknown): { answer: unknown; held?: Problem[] } {
  try {
    return { answer: ask(request) };
  } catch (cause) {
    const e = cause as SpareampsError;
    if (e.code !== "bad_input" || e.problems.length === 0) throw cause;
    const rig: Part = { ...request.rig };
    for (const p of e.problems) {
      const part = /^rig\.(\w+)/.exec(p.field)?.[1];
      if (part === undefined || !(part in rig) || !OPTIONAL.has(part)) throw cause;
    }
    for (const p of e.problems) delete rig[/^rig\.(\w+)/.exec(p.field)![1]!];
    return { answer: ask({ ...request, rig }), held: e.problems };
  }
}

const OPTIONAL = new Set(["cable", "charger", "house_battery", "inverter", "solar", "learned"]);
