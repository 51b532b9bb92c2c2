// node --test: what the installed package promises beyond binding.mjs.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createServer } from "node:http";
import { test } from "node:test";
import { load, SpareampsError } from "spareamps";
import { pool } from "spareamps/pool";

const file = new URL(import.meta.resolve("spareamps/spareamps.wasm"));
const request = {
  rig: { alternator: { rated_current_A: 120 } },
  moment: { engine_rpm: 1400, ambient_C: 20 },
};
const one = await load();
const want = one.ceiling(request);

test("loads from URLs: a file, a server, as text, and says what went wrong", async () => {
  const bytes = await readFile(file);
  const server = createServer((q, r) => {
    r.writeHead(q.url === "/spareamps.wasm" ? 200 : 404, { "content-type": "application/wasm" });
    r.end(bytes);
  }).listen(0, "127.0.0.1");
  await new Promise((ready) => server.on("listening", ready));
  const base = `http://127.0.0.1:${server.address().port}/`;
  for (const source of [file, file.href, new URL("spareamps.wasm", base), `${base}spareamps.wasm`]) {
    assert.deepEqual((await load(source)).ceiling(request), want);
  }
  await assert.rejects(load(new URL("nothing", base)), { name: "SpareampsError", code: "load", message: /404/ });
  server.closeAllConnections();
  server.close();
  await assert.rejects(load(new URL("nothing.wasm", file)), { code: "load", message: /ENOENT/ });
  await assert.rejects(load("no such address"), { code: "load" });
});

test("a pool gives the answers of one instance", async (t) => {
  const many = await pool(file, { size: 3 });
  t.after(() => many.close());
  const at = (ambient_C) => ({ ...request, moment: { ...request.moment, ambient_C } });
  const heats = Array.from({ length: 40 }, (_, i) => i - 5);
  const answers = await Promise.all(heats.map((t) => many.ceiling(at(t))));
  heats.forEach((t, i) => assert.deepEqual(answers[i], one.ceiling(at(t))));
  assert.deepEqual(await many.about(), one.about());
  assert.equal(await many.quantity("copper_ratio", 105), one.quantity("copper_ratio", 105));
  const demo = one.about().demo;
  assert.deepEqual(await many.ceiling(demo), one.ceiling(demo));

  const columns = { "moment.ambient_C": Array.from({ length: 1300 }, (_, i) => i / 20 - 10), "moment.engine_rpm": Float64Array.from({ length: 1300 }, (_, i) => i % 7 === 0 ? -1 : 900 + i) };
  for (const outputs of [["nominal.input_A", "nominal.output_W"], []]) {
    assert.deepEqual(await many.block(request, columns, outputs), one.block(request, columns, outputs));
  }
  assert.deepEqual(await many.block(request, {}, ["ceiling.input_A"]), one.block(request, {}, ["ceiling.input_A"]));
  assert.deepEqual(await many.block(request, { "moment.ambient_C": [] }, []), one.block(request, { "moment.ambient_C": [] }, []));
});

test("errors arrive as they were thrown, and harm nobody else", async (t) => {
  const many = await pool(one.module, { size: 1 });
  t.after(() => many.close());
  const thrown = (() => { try { one.ceiling({ rig: 7 }); } catch (e) { return e; } })();
  await assert.rejects(many.ceiling({ rig: 7 }), (e) => {
    assert.ok(e instanceof SpareampsError);
    assert.deepEqual([e.code, e.problems, e.message], [thrown.code, thrown.problems, thrown.message]);
    return true;
  });
  await assert.rejects(many.block(request, { "moment.ambient_C": [1], "moment.engine_rpm": [1, 2] }, []), { code: "columns" });
  await assert.rejects(many.block(request, { "moment.nothing": [1] }, []), { code: "bad_input" });
  await assert.rejects(many.ceiling({ rig: () => 0 }), { name: "DataCloneError" });
  assert.deepEqual(await many.ceiling(request), want);
});

test("a call is given up by its signal, waiting or under way; the pool goes on", async (t) => {
  const many = await pool(one.module, { size: 1 });
  t.after(() => many.close());
  const rows = { "moment.ambient_C": new Float64Array(20000).fill(20) };
  const [running, waiting] = [new AbortController(), new AbortController()];
  const calls = [many.block(request, rows, ["ceiling.input_A"], running), many.ceiling(request, waiting), many.ceiling(request)];
  waiting.abort();
  setTimeout(() => running.abort(), 50);
  const ends = await Promise.allSettled(calls);
  assert.deepEqual(ends.map((e) => e.status), ["rejected", "rejected", "fulfilled"]);
  assert.equal(ends[0].reason.name, "AbortError");
  assert.equal(ends[1].reason.name, "AbortError");
  assert.deepEqual(ends[2].value, want);
  await assert.rejects(many.ceiling(request, { signal: AbortSignal.abort() }), { name: "AbortError" });
  const late = many.ceiling(request);
  many.close();
  await assert.rejects(late, { code: "closed" });
  await assert.rejects(many.ceiling(request), { code: "closed" });
});

test("a pool of something else does not start", async () => {
  const empty = new WebAssembly.Module(new Uint8Array([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0]));
  await assert.rejects(pool(empty), (e) => e instanceof SpareampsError || e.message.length > 0);
  await assert.rejects(pool(new URL("nothing.wasm", file)), { code: "load" });
});
