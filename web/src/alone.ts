// A long question in a thread of its own: others need not wait for it, and it
// ends with its thread.

import { compiledModule, type FromWorker, type Job, type Reply, type ToWorker } from "./ask";
import { scriptURL } from "./trusted";

/** Asks; the reply is null once cancelled. */
export function askAlone<T>(job: Job): { reply: Promise<Reply<T> | null>; cancel: () => void } {
  const worker = new Worker(scriptURL(WORKER) as string, { type: "module" });
  let cancel = () => {};
  const reply = new Promise<Reply<T> | null>((resolve) => {
    const end = (r: Reply<T> | null) => {
      worker.terminate();
      resolve(r);
    };
    const failed = (message: string) => end({ id: 0, refused: { code: "internal", problems: [], message } });
    cancel = () => end(null);
    worker.onerror = (e) => failed(e.message || "the solver did not start");
    worker.onmessage = (event: MessageEvent<FromWorker>) => {
      const m = event.data;
      if (m.kind === "failed") failed(m.message);
      if (m.kind === "answer") end({ id: m.id, answer: m.answer as T, refused: m.refused });
    };
    compiledModule().then(
      (module) => {
        worker.postMessage({ kind: "load", module } satisfies ToWorker);
        worker.postMessage({ kind: "job", id: 1, channel: "alone", job } satisfies ToWorker);
      },
      (cause: Error) => failed(cause.message),
    );
  });
  return { reply, cancel: () => cancel() };
}
