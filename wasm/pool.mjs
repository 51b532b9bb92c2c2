// A pool of instances, each in a worker of its own: calls in parallel, and a
// page that stays smooth meanwhile. Browsers, Node, Deno and Bun.
//
//   import { pool } from "spareamps/pool";
//   const spareamps = await pool();
//   const answer = await spareamps.ceiling({ rig: {...}, moment: {...} });
//   spareamps.close();

import { SpareampsError, checkColumns, compile } from "./spareamps.mjs";

// So many rows of a block go to a worker at a time: enough to hide the way
// there, few enough that all workers end together.
const CHUNK_ROWS = 256;

/**
 * Starts a pool.
 * @param source  the module, as load of spareamps.mjs takes it
 * @param options size: instances, hence calls at a time; else one for each
 *   processor. worker: the address of pool_worker.mjs, where a bundler moved it
 */
export async function pool(source, { size, worker = new URL("./pool_worker.mjs", import.meta.url) } = {}) {
  const it = new Pool(await compile(source), size ?? globalThis.navigator?.hardwareConcurrency ?? processors(), worker);
  try {
    await it.about(); // starts one, and shows whether the module is one of ours
  } catch (cause) {
    it.close();
    throw cause;
  }
  return it;
}

class Pool {
  #module;
  #worker;
  #members = []; // all workers, {worker, job}
  #waiting = []; // jobs no worker has taken yet
  #closed = false;

  constructor(module, size, worker) {
    this.#module = module;
    this.#worker = worker;
    this.size = Math.max(1, Math.floor(size));
  }

  ceiling(request, options) {
    return this.#ask("ceiling", [request], options);
  }

  day(request, options) {
    return this.#ask("day", [request], options);
  }

  fit(request, options) {
    return this.#ask("fit", [request], options);
  }

  log(file, conditions, options) {
    return this.#ask("log", [file, conditions], options);
  }

  about(options) {
    return this.#ask("about", [], options);
  }

  quantity(name, ...args) {
    return this.#ask("quantity", [name, ...args]);
  }

  /** As block of one instance, its rows shared out among all. */
  async block(request, inputs, outputs, options) {
    const rows = checkColumns(inputs);
    const names = [...outputs, "status"];
    const results = names.map(() => new Float64Array(rows));
    let from = 0;
    const lane = async () => {
      while (from < rows || from === 0) {
        const at = from;
        from += CHUNK_ROWS;
        const part = Object.fromEntries(Object.entries(inputs).map(([path, column]) => [path, Float64Array.from(Array.prototype.slice.call(column, at, from))]));
        const got = await this.#ask("block", [request, part, outputs], options);
        names.forEach((name, c) => results[c].set(got[name], at));
      }
    };
    const lanes = await Promise.allSettled(Array.from({ length: this.size }, () => lane().catch((cause) => {
      from = Infinity; // the others stop as well
      throw cause;
    })));
    const failed = lanes.find((end) => end.status === "rejected");
    if (failed) throw failed.reason;
    return Object.fromEntries(names.map((name, c) => [name, results[c]]));
  }

  /** Ends all workers. Calls under way, and those that come later, fail with code "closed". */
  close() {
    this.#closed = true;
    for (const job of [...this.#waiting.splice(0), ...this.#members.map((m) => m.job)]) job?.reject(closed());
    for (const member of this.#members.splice(0)) member.worker.terminate();
  }

  // An abort takes a call that waits out of the line. One that is under way
  // cannot be broken off but with its worker.
  #ask(name, args, { signal } = {}) {
    return new Promise((resolve, reject) => {
      if (this.#closed) return reject(closed());
      if (signal?.aborted) return reject(signal.reason);
      const done = (end) => (value) => {
        signal?.removeEventListener("abort", abort);
        end(value);
      };
      const job = { name, args, resolve: done(resolve), reject: done(reject) };
      const abort = () => {
        const at = this.#waiting.indexOf(job);
        if (at >= 0) this.#waiting.splice(at, 1);
        else this.#drop(this.#members.find((m) => m.job === job));
        job.reject(signal.reason);
        this.#next();
      };
      signal?.addEventListener("abort", abort, { once: true });
      this.#waiting.push(job);
      this.#next();
    });
  }

  // Gives waiting jobs to idle members, and makes members while there are fewer
  // than size.
  #next() {
    while (this.#waiting.length > 0 && !this.#closed) {
      let member = this.#members.find((m) => !m.job);
      if (!member) {
        if (this.#members.length >= this.size) return;
        member = this.#start();
      }
      const job = (member.job = this.#waiting.shift());
      try {
        member.worker.postMessage({ name: job.name, args: job.args });
      } catch (cause) {
        member.job = null; // an argument that cannot be sent
        job.reject(cause);
      }
    }
  }

  #start() {
    const member = { worker: newWorker(this.#worker), job: null };
    const end = (settle) => {
      const { job } = member;
      member.job = null;
      if (job) settle(job);
      this.#next();
    };
    const broken = (message) => {
      this.#drop(member);
      end((job) => job.reject(new SpareampsError("trapped", [], `a worker broke off: ${message}`)));
    };
    listen(member.worker, "message", ({ value, error }) =>
      end((job) => (error ? job.reject(new SpareampsError(error.code, error.problems, error.message)) : job.resolve(value))));
    listen(member.worker, "error", (e) => broken(e?.message ?? "no reason given"));
    listen(member.worker, "messageerror", () => broken("a message did not arrive whole"));
    member.worker.postMessage({ module: this.#module });
    this.#members.push(member);
    return member;
  }

  #drop(member) {
    const at = this.#members.indexOf(member);
    if (at < 0) return;
    this.#members.splice(at, 1);
    member.worker.terminate();
  }
}

const closed = () => new SpareampsError("closed", [], "the pool is closed");

const builtin = (name) => globalThis.process?.getBuiltinModule?.(name);
const processors = () => builtin("node:os")?.availableParallelism() ?? 2;

// Browsers, Deno and Bun have Worker; Node has another of the same use.
function newWorker(url) {
  if (globalThis.Worker) return new globalThis.Worker(url, { type: "module" });
  return new (builtin("node:worker_threads").Worker)(url);
}

function listen(worker, event, hear) {
  if (worker.addEventListener) worker.addEventListener(event, (e) => hear(event === "message" ? e.data : e));
  else worker.on(event, hear);
}
