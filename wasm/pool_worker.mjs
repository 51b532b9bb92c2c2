// One instance of a pool, in its worker. The first message brings the module,
// each later one a call; each call is answered by {value} or {error}.

import { load } from "./spareamps.mjs";

const port = globalThis.process?.getBuiltinModule?.("node:worker_threads").parentPort ?? globalThis;

let instance;
const answer = async ({ module, name, args }) => {
  if (module) {
    instance = load(module);
    instance.catch(() => {}); // the first call tells of it
    return;
  }
  try {
    const it = await instance;
    try {
      port.postMessage({ value: it[name](...args) });
    } catch (error) {
      if (error.code === "trapped") await it.restart();
      throw error;
    }
  } catch ({ code = "internal", problems = [], message }) {
    port.postMessage({ error: { code, problems, message } });
  }
};

if (port.on) port.on("message", answer);
else port.addEventListener("message", ({ data }) => answer(data));
