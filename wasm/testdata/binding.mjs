// node --test binding.mjs, with the module's file in SPAREAMPS_MODULE and a
// good request in SPAREAMPS_REQUEST: what spareamps.mjs promises.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { SpareampsError, load } from "../spareamps.mjs";

const bytes = await readFile(process.env.SPAREAMPS_MODULE);
const request = JSON.parse(process.env.SPAREAMPS_REQUEST);

test("loads from bytes, a buffer, a module, a response, and promises", async () => {
  const response = (type) => new Response(bytes, { headers: { "content-type": type } });
  const first = await load(bytes);
  for (const source of [
    Promise.resolve(bytes),
    bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length),
    first.module,
    response("application/wasm"),
    response("application/octet-stream"),
    Promise.resolve(response("application/wasm")),
  ]) {
    const it = await load(source);
    assert.equal(it.ceilingText(JSON.stringify(request)), first.ceilingText(JSON.stringify(request)));
  }
  assert.deepEqual(first.abi, { major: 1, minor: 3 });
});

test("says so when the module is not there or not one", async () => {
  await assert.rejects(load(new Response("no", { status: 404, statusText: "Not Found" })), { name: "SpareampsError", code: "load", message: /404 Not Found/ });
  await assert.rejects(load(new Uint8Array([1, 2, 3])), WebAssembly.CompileError);
});

test("answers objects with objects and errors with SpareampsError", async () => {
  const it = await load(bytes);
  assert.equal(typeof it.ceiling(request), "object");
  assert.equal(typeof it.about().version, "string");
  assert.throws(() => it.ceiling({ rig: 7, no_such_key: 1 }), (e) => {
    assert.ok(e instanceof SpareampsError && e instanceof Error);
    assert.ok(e.problems.length >= 1, "problems are listed");
    assert.equal(typeof e.code, "string");
    assert.ok(e.message.includes(e.problems[0].message));
    return true;
  });
  assert.throws(() => it.quantity("no_such_quantity"), SpareampsError);
  assert.ok(JSON.parse(it.ceilingText("{")).error, "text to text: the error object comes back");
  assert.equal(it.ceilingText(""), it.ceilingText(""));
});

test("a log is read from bytes and from text, and gives its memory back", async () => {
  const it = await load(bytes);
  const csv = "time_s,engine_rpm,output_A,bus_V\n" + Array.from({ length: 61 }, (_, s) => `${10 * s},1400,${60 + (s % 3)},13.8`).join("\n") + "\nlater,1400,60,13.8\n";
  const got = it.log(csv, { ambient_C: 36 });
  assert.deepEqual([got.report.rows, Math.round(got.report.covered_min), got.report.refused], [61, 10, [{ reason: "time", count: 1, line: 63 }]]);
  assert.ok(got.observations.every((o) => o.ambient_C === 36));
  assert.deepEqual(it.log(new TextEncoder().encode(csv), { ambient_C: 36 }), got);
  assert.deepEqual(it.log(new TextEncoder().encode(csv).buffer, { ambient_C: 36 }), got);
  assert.deepEqual(it.log(new DataView(new TextEncoder().encode("xx" + csv).buffer, 2), { ambient_C: 36 }), got);
  for (const odd of [new Blob([csv]), 5, null, [116, 105]]) assert.throws(() => it.log(odd), TypeError);
  assert.throws(() => it.log(csv, { ambient_C: "hot" }), { code: "bad_input" });
  assert.throws(() => it.log("no log"), { code: "bad_input" });
  assert.throws(() => it.log(new Uint8Array((20 << 20) + 1)), { code: "too_large" });
  assert.throws(() => it.log(new Uint8Array(65 << 20)), { code: "memory" });
  for (let i = 0; i < 4; i++) it.log(csv + " ".repeat(19 << 20), { ambient_C: 36 }); // kept, they would fill the 64 MiB of alloc
});

test("text survives: what is not ASCII goes in whole", async () => {
  const it = await load(bytes);
  const key = "größe_°C_車_🚐";
  assert.throws(() => it.ceiling({ [key]: 1 }), (e) => JSON.stringify(e.problems).includes(key));
});

test("block gives the numbers of ceiling", async () => {
  const it = await load(bytes);
  const ambient = [-10, 0, 20, 35, 45];
  const rpm = [800, 1000, 1500, 2000, 3000];
  const got = it.block(request, { "moment.ambient_C": ambient, "moment.engine_rpm": Float64Array.from(rpm) }, ["ceiling.input_A", "nominal.input_A"]);
  assert.deepEqual(Object.keys(got), ["ceiling.input_A", "nominal.input_A", "status"]);
  ambient.forEach((_, i) => {
    const one = it.ceiling({ ...request, moment: { ...request.moment, ambient_C: ambient[i], engine_rpm: rpm[i] } });
    assert.equal(got.status[i], 0);
    assert.equal(got["ceiling.input_A"][i], one.ceiling.input_A, `row ${i}`);
    assert.equal(got["nominal.input_A"][i], one.nominal.input_A, `row ${i}`);
  });
});

test("block refuses what does not fit, and takes no rows and no columns", async () => {
  const it = await load(bytes);
  const out = ["ceiling.input_A"];
  assert.throws(() => it.block(request, { "moment.ambient_C": [1, 2], "moment.engine_rpm": [1000] }, out), { code: "columns" });
  assert.throws(() => it.block(request, { "moment.no_such_field": [1] }, out), SpareampsError);
  assert.throws(() => it.block(request, { "moment.ambient_C": [1] }, ["no.such.output"]), SpareampsError);
  assert.equal(it.block(request, { "moment.ambient_C": [] }, out)["ceiling.input_A"].length, 0);
  assert.equal(it.block(request, {}, out)["ceiling.input_A"][0], it.ceiling(request).ceiling.input_A);
});

test("memory stays flat", async () => {
  const exports = WebAssembly.Module.exports(await WebAssembly.compile(bytes)).map((e) => e.name);
  assert.ok(exports.includes("memory"));
  // The binding hides its instance; one made by hand shows the memory.
  const it = await load(bytes);
  const sizes = [];
  const real = WebAssembly.instantiate;
  let instance;
  WebAssembly.instantiate = async (...a) => (instance = await real.apply(WebAssembly, a));
  await it.restart();
  WebAssembly.instantiate = real;
  const text = JSON.stringify(request);
  for (let round = 0; round < 4; round++) {
    for (let k = 0; k < 20_000; k++) it.quantityText("{");
    for (let k = 0; k < 200; k++) it.ceilingText(text);
    sizes.push(instance.exports.memory.buffer.byteLength);
  }
  // Where pages happen to break may move a little; a leak of 20 bytes a call shows.
  assert.ok(sizes[3] - sizes[0] <= 1 << 20, `memory after each round: ${sizes}`);
});

// Modules by hand: an abi_version, and a ceiling that traps.
function made(version) {
  const leb = (v) => { const out = []; for (;;) { const c = v & 0x7f; v >>= 7; if ((v === 0 && !(c & 0x40)) || (v === -1 && c & 0x40)) return [...out, c]; out.push(c | 0x80); } };
  const name = (s) => [s.length, ...new TextEncoder().encode(s)];
  const section = (id, ...items) => { const body = [items.length, ...items.flat()]; return [id, ...leb(body.length), ...body]; };
  const code = (...body) => [body.length + 2, 0, ...body, 0x0b];
  return new Uint8Array([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0,
    ...section(1, [0x60, 0, 1, 0x7f], [0x60, 1, 0x7f, 1, 0x7f], [0x60, 2, 0x7f, 0x7f, 1, 0x7e], [0x60, 0, 0]),
    ...section(3, [0], [1], [2], [3]),
    ...section(5, [0, 1]),
    ...section(7, [...name("abi_version"), 0, 0], [...name("alloc"), 0, 1], [...name("ceiling"), 0, 2], [...name("_initialize"), 0, 3], [...name("memory"), 2, 0]),
    ...section(10, code(0x41, ...leb(version)), code(0x41, 16), code(0x00), code())]);
}

test("refuses another version of the interface", async () => {
  await assert.rejects(load(made(2 << 16)), { name: "SpareampsError", code: "abi", message: /version 2\.0/ });
  await assert.rejects(load(made(0)), { code: "abi" });
  await assert.rejects(load(made(1 << 16)), { code: "abi" });
  assert.deepEqual((await load(made((1 << 16) | 9))).abi, { major: 1, minor: 9 });
});

test("after a trap nothing runs on the broken instance until restart", async () => {
  const it = await load(made((1 << 16) | 3));
  assert.throws(() => it.ceilingText("{}"), { code: "trapped", message: /unreachable/ });
  assert.throws(() => it.ceilingText("{}"), { code: "trapped", message: /restart/ });
  await it.restart();
  assert.throws(() => it.ceilingText("{}"), { code: "trapped", message: /unreachable/ });
});
