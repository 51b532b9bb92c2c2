// The module for JavaScript: browsers, workers, Node 20.16 or newer, Deno, Bun.
//
//   import { load } from "spareamps";
//   const spareamps = await load(); // the module beside this file
//   const answer = spareamps.ceiling({ rig: {...}, moment: {...} });
//
// Calls are synchronous and one at a time; pool.mjs has work done in parallel.

/** The version of the binary interface this file speaks. */
export const ABI_MAJOR = 1;
export const ABI_MINOR = 3;

// In one call of block; more rows are split. Keeps both sides' columns well
// below the 64 MiB that alloc gives.
const MAX_CHUNK_BYTES = 8 << 20;
const MAX_CHUNK_ROWS = 1 << 16;

/**
 * What the module refused or could not do.
 *
 * code is stable: that of the module's error object, or one of
 *   "abi"      the module speaks another version of the interface
 *   "load"     the module could not be fetched or read
 *   "columns"  the columns of a block are not of one length
 *   "trapped"  the module broke off; restart() makes a fresh instance
 *   "memory"   the module has no room for what was passed
 * problems lists everything that is wrong: {code, field, value, allowed, message}.
 */
export class SpareampsError extends Error {
  constructor(code, problems = [], message = "", options = undefined) {
    super(message || problems.map((p) => p.message).join("; ") || code, options);
    this.name = "SpareampsError";
    this.code = code;
    this.problems = problems;
  }
}

/**
 * Makes a module ready to answer.
 * @param source where it is (a URL, as an object or a text), its bytes, a
 *   Response, a WebAssembly.Module, or a promise of one; left out: the file
 *   spareamps.wasm beside this one
 */
export async function load(source) {
  const it = new Spareamps(await compile(source));
  await it.restart();
  return it;
}

/** The compiled module of a source, as load takes it. */
export async function compile(source = new URL("./spareamps.wasm", import.meta.url)) {
  let given = await source;
  if (given instanceof WebAssembly.Module) return given;
  if (typeof given === "string" || given instanceof URL) given = await read(given);
  if (typeof Response !== "undefined" && given instanceof Response) return compileResponse(given);
  return WebAssembly.compile(given);
}

// What stands at a URL: Node's fetch reads no files.
async function read(source) {
  try {
    const url = new URL(source, globalThis.location?.href);
    const files = url.protocol === "file:" && globalThis.process?.getBuiltinModule?.("node:fs/promises");
    return await (files ? files.readFile(url) : fetch(url));
  } catch (cause) {
    throw new SpareampsError("load", [], `the module did not load from ${source}: ${cause.message}`, { cause });
  }
}

async function compileResponse(response) {
  if (!response.ok) {
    throw new SpareampsError("load", [], `the module did not load: ${response.status} ${response.statusText}`);
  }
  // Compiling while bytes arrive needs the right type; servers that do not
  // know .wasm are common.
  const type = response.headers.get("content-type") ?? "";
  if (WebAssembly.compileStreaming && type.startsWith("application/wasm")) {
    return WebAssembly.compileStreaming(response);
  }
  return WebAssembly.compile(await response.arrayBuffer());
}

class Spareamps {
  #instance = null;
  #system = null;
  #held = null; // buffers of block, kept from one call to the next

  constructor(module) {
    /** The compiled module; may be posted to a worker and loaded there. */
    this.module = module;
  }

  /** Starts a fresh instance in place of the present one. */
  async restart() {
    this.#instance = null;
    this.#held = null;
    const system = new System();
    const instance = await WebAssembly.instantiate(this.module, { wasi_snapshot_preview1: system.imports() });
    system.memory = instance.exports.memory;
    try {
      instance.exports._initialize();
    } catch (cause) {
      throw new SpareampsError("trapped", [], `the module did not start: ${system.lastWords || cause.message}`, { cause });
    }
    const version = instance.exports.abi_version?.() >>> 0;
    const [major, minor] = [version >>> 16, version & 0xffff];
    if (major !== ABI_MAJOR || minor < ABI_MINOR) {
      throw new SpareampsError("abi", [],
        `the module speaks version ${major}.${minor} of the binary interface, this binding needs ${ABI_MAJOR}.${ABI_MINOR}`);
    }
    this.abi = { major, minor };
    this.#system = system;
    this.#instance = instance;
  }

  /** The answer to a request object, as an object. Throws SpareampsError. */
  ceiling(request) {
    return parse(this.ceilingText(JSON.stringify(request)));
  }

  /** The same from text to text, byte for byte as the module gives it; an error object is returned, not thrown. */
  ceilingText(request) {
    return this.#ask("ceiling", request);
  }

  /** The plan of a day, from a request object with rig and day. Throws SpareampsError. */
  day(request) {
    return parse(this.dayText(JSON.stringify(request)));
  }

  dayText(request) {
    return this.#ask("day", request);
  }

  /** What a rig's observations tell of it, from a request object with rig and moment. Throws SpareampsError. */
  fit(request) {
    return parse(this.fitText(JSON.stringify(request)));
  }

  fitText(request) {
    return this.#ask("fit", request);
  }

  /**
   * A logger's file as observations of a rig, and a report of what of it was used.
   * @param file CSV, as a text or its bytes
   * @param conditions what was the same all along and the file does not tell:
   *   {ambient_C: 36, altitude_m: 600}
   * @returns {observations, report}. Throws SpareampsError.
   */
  log(file, conditions = {}) {
    return parse(this.logText(file, JSON.stringify(conditions)));
  }

  logText(file, conditions = "") {
    const held = [];
    try {
      for (const bytes of [bytesOf(file), encoder.encode(conditions)]) held.push(this.#put(bytes));
      return this.#read(this.#call("log", ...held.flatMap(({ ptr, size }) => [ptr, size])));
    } finally {
      if (this.#instance) held.forEach(({ ptr }) => this.#free(ptr));
    }
  }

  /** Version and the tables of inputs and outputs. */
  about() {
    return parse(this.#read(this.#call("about")));
  }

  /** One named quantity, for example quantity("air_density", 40, 600). */
  quantity(name, ...args) {
    return parse(this.quantityText(JSON.stringify({ quantity: name, args }))).value;
  }

  quantityText(request) {
    return this.#ask("quantity", request);
  }

  /**
   * Many moments of one rig.
   * @param request the request object whose values the columns replace
   * @param inputs  {path: array of numbers}, all of one length
   * @param outputs paths of the answer
   * @returns {path: Float64Array} for every output and "status" (0: good)
   */
  block(request, inputs, outputs) {
    const paths = Object.keys(inputs);
    const rows = checkColumns(inputs);
    const columns = paths.map((path) => inputs[path]);
    const results = [...outputs, "status"].map(() => new Float64Array(rows));
    const held = this.#hold(encoder.encode(JSON.stringify(request)), encoder.encode(paths.join("\n") + "\n\n" + outputs.join("\n")));
    const widest = Math.max(columns.length, results.length, 1);
    const chunk = Math.min(MAX_CHUNK_ROWS, Math.floor(MAX_CHUNK_BYTES / 8 / widest) || 1);
    let from = 0;
    do {
      const n = Math.min(chunk, rows - from);
      this.#room(held.in, 8 * n * columns.length);
      this.#room(held.out, 8 * n * results.length);
      if (columns.length && n) {
        const view = new Float64Array(this.#memory(), held.in.ptr, n * columns.length);
        columns.forEach((column, c) => {
          for (let i = 0; i < n; i++) view[c * n + i] = column[from + i];
        });
      }
      const packed = this.#call("block", held.request.ptr, held.request.size, held.names.ptr, held.names.size, held.in.ptr, held.out.ptr, n);
      if (packed !== 0n) parse(this.#read(packed)); // always an error object
      if (n) {
        const view = new Float64Array(this.#memory(), held.out.ptr, n * results.length);
        results.forEach((result, c) => result.set(view.subarray(c * n, (c + 1) * n), from));
      }
      from += n;
    } while (from < rows);
    return Object.fromEntries([...outputs, "status"].map((path, c) => [path, results[c]]));
  }

  // The buffer is another object after every growth of memory, which any call
  // may cause: it is never kept.
  #memory() {
    return this.#instance.exports.memory.buffer;
  }

  #call(name, ...parameters) {
    if (!this.#instance) {
      throw new SpareampsError("trapped", [], "the module broke off earlier; restart() makes a fresh instance");
    }
    try {
      const result = this.#instance.exports[name](...parameters);
      return typeof result === "bigint" ? BigInt.asUintN(64, result) : result;
    } catch (cause) {
      this.#instance = null;
      throw new SpareampsError("trapped", [], `the module broke off in ${name}: ${this.#system.lastWords || cause.message}`, { cause });
    }
  }

  #read(packed) {
    const [ptr, size] = [Number(packed >> 32n), Number(packed & 0xffffffffn)];
    return decoder.decode(new Uint8Array(this.#memory(), ptr, size));
  }

  #alloc(size) {
    if (size === 0) return 0;
    const ptr = this.#call("alloc", size) >>> 0;
    if (ptr === 0) throw new SpareampsError("memory", [], `the module has no room for ${size} bytes`);
    return ptr;
  }

  #free(ptr) {
    if (ptr !== 0) this.#call("free", ptr);
  }

  #put(bytes) {
    const ptr = this.#alloc(bytes.length);
    new Uint8Array(this.#memory(), ptr, bytes.length).set(bytes);
    return { ptr, size: bytes.length };
  }

  #ask(name, text) {
    const { ptr, size } = this.#put(encoder.encode(text));
    const answer = this.#read(this.#call(name, ptr, size));
    this.#free(ptr);
    return answer;
  }

  // Buffers for block, from the last call if they fit: a slider asks for the
  // same curve at every move.
  #hold(request, names) {
    if (!this.#held) {
      const none = () => ({ ptr: 0, size: 0 });
      this.#held = { request: none(), names: none(), in: none(), out: none() };
    }
    for (const [key, bytes] of [["request", request], ["names", names]]) {
      this.#free(this.#held[key].ptr);
      this.#held[key] = { ptr: 0, size: 0 };
      this.#held[key] = this.#put(bytes);
    }
    return this.#held;
  }

  #room(buffer, size) {
    if (size <= buffer.size) return;
    this.#free(buffer.ptr);
    buffer.ptr = buffer.size = 0;
    buffer.ptr = this.#alloc(size);
    buffer.size = size;
  }
}

/** The rows of a block's input columns, which must be of one length; 1 without any. */
export function checkColumns(inputs) {
  const paths = Object.keys(inputs);
  const rows = paths.length ? inputs[paths[0]].length : 1;
  const odd = paths.find((path) => inputs[path].length !== rows);
  if (odd !== undefined) {
    const message = `column ${odd} has ${inputs[odd].length} rows, others ${rows}`;
    throw new SpareampsError("columns", [{ code: "columns", field: odd, value: String(inputs[odd].length), allowed: String(rows), message }]);
  }
  return rows;
}

const encoder = new TextEncoder();
const decoder = new TextDecoder();

// A File, or a list of numbers, would become another log or an empty one.
function bytesOf(file) {
  if (typeof file === "string") return encoder.encode(file);
  if (ArrayBuffer.isView(file)) return new Uint8Array(file.buffer, file.byteOffset, file.byteLength);
  if (/^\[object (Shared)?ArrayBuffer\]$/.test(Object.prototype.toString.call(file))) return new Uint8Array(file);
  throw new TypeError("a log is a text or its bytes; of a File they are await file.arrayBuffer()");
}

function parse(text) {
  const answer = JSON.parse(text);
  if (answer.error) throw new SpareampsError(answer.error.code, answer.error.problems);
  return answer;
}

/**
 * What the module imports of WASI preview 1, and no more. Time stands still
 * but for a tick at each look, and randomness is a fixed series: Go's runtime
 * asks for both, no answer depends on either.
 */
class System {
  memory = null;
  lastWords = "";
  #ticks = 0n;
  #seed = 0x9e3779b9;

  #view() {
    return new DataView(this.memory.buffer);
  }

  imports() {
    const ok = () => 0;
    const noStrings = (count, size) => {
      this.#view().setUint32(count, 0, true);
      this.#view().setUint32(size, 0, true);
      return 0;
    };
    return {
      args_get: ok,
      args_sizes_get: noStrings,
      environ_get: ok,
      environ_sizes_get: noStrings,
      sched_yield: ok,
      clock_time_get: (_clock, _precision, at) => {
        this.#view().setBigUint64(at, (this.#ticks += 1_000_000n), true);
        return 0;
      },
      random_get: (at, size) => {
        const bytes = new Uint8Array(this.memory.buffer, at, size);
        for (let i = 0; i < size; i++) {
          this.#seed ^= this.#seed << 13;
          this.#seed ^= this.#seed >>> 17;
          this.#seed ^= this.#seed << 5;
          bytes[i] = this.#seed;
        }
        return 0;
      },
      // Go's runtime writes here only on its way out.
      fd_write: (_fd, vectors, count, written) => {
        let total = 0;
        for (let i = 0; i < count; i++) {
          const at = this.#view().getUint32(vectors + 8 * i, true);
          const size = this.#view().getUint32(vectors + 8 * i + 4, true);
          if (this.lastWords.length < 4096) {
            this.lastWords += decoder.decode(new Uint8Array(this.memory.buffer, at, size));
          }
          total += size;
        }
        this.#view().setUint32(written, total, true);
        return 0;
      },
      // Every wait is over at once.
      poll_oneoff: (subscriptions, events, count, happened) => {
        for (let i = 0; i < count; i++) {
          const from = subscriptions + 48 * i;
          const to = events + 32 * i;
          new Uint8Array(this.memory.buffer, to, 32).fill(0);
          this.#view().setBigUint64(to, this.#view().getBigUint64(from, true), true);
          this.#view().setUint8(to + 10, this.#view().getUint8(from + 8));
        }
        this.#view().setUint32(happened, count, true);
        return 0;
      },
      proc_exit: (code) => {
        throw new Error(`the module ended itself with code ${code}`);
      },
    };
  }
}
