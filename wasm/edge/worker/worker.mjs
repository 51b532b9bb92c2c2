// The worker: one instance of the service for all requests of an isolate.
//
// A request's body is read here, whole; then one call into Go answers it and
// returns. Nothing of Go's is awaited, so an instance may outlive the request
// that started it. An instance that breaks off is dropped, and the next request
// starts another.
//
// Where a page was put beside it (env.PAGE), its files are answered by the
// platform before anything comes here.

import "./wasm_exec.js";
import module from "./spareamps_edge.wasm";

const MAX_WAITING = 64; // requests whose body is here or on its way
const MAX_HELD = 32 << 20; // bytes of their bodies, together
const BODY_MS = 10_000; // for a body to arrive
const MAX_MEMORY = 80 << 20; // of an instance; an isolate has 128 MiB
const PASSED = ["content-type", "content-encoding", "if-none-match"];

// What Go's runtime says when it breaks off may hold parts of a request: it
// goes nowhere.
globalThis.fs.writeSync = (_file, bytes) => bytes.length;
globalThis.fs.write = (_file, bytes, _offset, _length, _position, done) => done(null, bytes.length);

const decoder = new TextDecoder();

let instance = null;
let waiting = 0;
let held = 0;

/** Starts Go; its main has run up to waiting for requests when this returns. */
function start() {
  const go = new globalThis.Go();
  const it = { gone: false, ready: false, binding: {}, memory: null };
  go.exit = () => { it.gone = true; };
  globalThis.context = { binding: it.binding };
  const wasm = new WebAssembly.Instance(module, {
    ...go.importObject,
    workers: { ready: () => { it.ready = true; } },
  });
  it.memory = wasm.exports.mem;
  go.run(wasm).catch(() => { it.gone = true; });
  if (it.gone || !it.ready) throw new Error("the service did not start");
  return it;
}

/** Answers by Go; null where the instance broke off on it. */
function answer(method, path, headers, body) {
  let result;
  try {
    instance ??= start();
    result = instance.binding.answer(method, path, headers, body);
  } catch {
    result = undefined;
  }
  if (result === undefined || instance.gone) {
    instance = null;
    console.error("an instance broke off and was dropped");
    return null;
  }
  // Memory never shrinks; a fresh instance is cheaper than a lost isolate.
  if (instance.memory.buffer.byteLength > MAX_MEMORY) instance = null;
  return result;
}

class Refused extends Error {
  constructor(status, code, detail) {
    super(detail);
    this.status = status;
    this.code = code;
  }

  response() {
    const headers = {
      "content-type": "application/problem+json",
      "cache-control": "no-store",
      "x-content-type-options": "nosniff",
      "access-control-allow-origin": "*",
      "access-control-expose-headers": "ETag, Retry-After, Spareamps-Version",
      "cross-origin-resource-policy": "cross-origin",
    };
    if (this.status === 503) headers["retry-after"] = "1";
    return new Response(JSON.stringify({
      type: "urn:spareamps:problem:" + this.code, title: this.code.replaceAll("_", " "),
      status: this.status, detail: this.message, code: this.code,
    }), { status: this.status, headers });
  }
}

/** The body, counted into held while it comes; its bytes are the caller's to count out. */
async function read(request, most, hold) {
  const tooLarge = () => new Refused(413, "too_large", `the body is longer than ${most} bytes`);
  const declared = request.headers.get("content-length");
  if (declared !== null && Number(declared) > most) throw tooLarge();
  if (request.body === null) return new Uint8Array(0);
  let reader;
  let timer;
  const late = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Refused(408, "slow_body", "the body did not come in time")), BODY_MS);
  });
  late.catch(() => {});
  try {
    if (declared !== null) {
      hold(Number(declared));
      return new Uint8Array(await Promise.race([request.arrayBuffer(), late]));
    }
    reader = request.body.getReader();
    const body = [];
    let size = 0;
    for (;;) {
      const { done, value } = await Promise.race([reader.read(), late]);
      if (done) return joined(body, size);
      size += value.length;
      if (size > most) throw tooLarge();
      hold(value.length);
      body.push(value);
    }
  } catch (cause) {
    reader?.cancel().catch(() => {});
    if (cause instanceof Refused) throw cause;
    throw new Refused(400, "body", "the body broke off");
  } finally {
    clearTimeout(timer);
  }
}

function joined(parts, size) {
  const whole = new Uint8Array(size);
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

async function respond(request) {
  let headers = "";
  for (const name of PASSED) {
    const value = request.headers.get(name); // never with a line break
    if (value !== null) headers += `${name}:${value}\n`;
  }
  const path = new URL(request.url).pathname;
  let mine = 0;
  const hold = (bytes) => {
    if (held + bytes > MAX_HELD) throw new Refused(503, "busy", "more requests than can be taken at once");
    held += bytes;
    mine += bytes;
  };
  let result;
  try {
    let body = null;
    if (request.method === "POST" || request.body !== null) {
      // Where a body is of no use it is read all the same: left unread it
      // would take the connection, and maybe the answer, with it.
      instance ??= start();
      body = await read(request, instance.binding.maxBody, hold);
    }
    result = answer(request.method, path, headers, body);
  } finally {
    held -= mine;
  }
  if (result === null) throw new Refused(503, "trapped", "the service broke off; another instance is started");
  const size = new DataView(result.buffer).getUint32(0, true);
  const [status, ...lines] = decoder.decode(result.subarray(4, 4 + size)).split("\n");
  const out = lines.map((line) => {
    const colon = line.indexOf(":");
    return [line.slice(0, colon), line.slice(colon + 1)];
  });
  const bytes = result.subarray(4 + size);
  return new Response(bytes.length > 0 ? bytes : null, { status: Number(status), headers: out });
}

/** Whether the page is asked for by the root: its file has a name of its own, since a
 * redirection to the root would not do, which browsers take from no service worker's cache. */
function home(request, env) {
  return Boolean(env?.PAGE) && (request.method === "GET" || request.method === "HEAD") && new URL(request.url).pathname === "/";
}

export default {
  async fetch(request, env) {
    if (home(request, env)) {
      const page = await env.PAGE.fetch(new Request(new URL("/index.html", request.url), request));
      if (page.status !== 404) return page;
    }
    try {
      if (waiting >= MAX_WAITING) throw new Refused(503, "busy", "more requests than can be taken at once");
      waiting++;
      try {
        return await respond(request);
      } finally {
        waiting--;
      }
    } catch (cause) {
      if (cause instanceof Refused) return cause.response();
      instance = null;
      return new Refused(503, "trapped", "the service did not start").response();
    }
  },
};
