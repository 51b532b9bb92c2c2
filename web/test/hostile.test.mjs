// Links and files from anybody: a clear message, and what was there untouched.

import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { deflateRawSync, inflateRawSync } from "node:zlib";
import { anew, choose, demo, host, launch, serve, stopAll, stored, violations, visitor, watched } from "./browser.mjs";

let browser, server;
before(async () => ((server = await serve()), (browser = await launch())));
after(stopAll);

const good = JSON.parse(host(["ceiling", "--print-request"]));
const link = (value, version = 1) => `#r${version}.${deflateRawSync(typeof value === "string" ? value : JSON.stringify(value)).toString("base64url")}`;
const changed = (path, v) => {
  const copy = structuredClone(good);
  let at = copy;
  const keys = path.split(".");
  for (const key of keys.slice(0, -1)) at = at[key];
  at[keys.at(-1)] = v;
  return copy;
};
const nasty = `<img src=x onerror="document.title='caught'"><script>document.title='caught'</script>`;

test("links", async () => {
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url);
  const before = await stored(page);
  const refused = {
    "cut short": link({ name: "a", request: good }).slice(0, 200),
    "one character lost": link({ name: "a", request: good }).replace(/.(?=.{40}$)/, ""),
    "no base64": "#r1.%%%%",
    "empty": "#r1.",
    "no JSON": link("not json"),
    "a list": link([1, 2]),
    "no rig": link({ name: "a", request: { moment: {} } }),
    "a rig that is a list": link({ name: "a", request: { rig: [] } }),
    "wrong types": link({ name: "a", request: changed("rig.alternator.rated_current_A", "lots") }),
    "a name that is an object": link({ name: { toString: "x" }, request: good }),
    "out of range": link({ name: "a", request: changed("rig.alternator.rated_current_A", 1e9) }),
    "not a number": link(`{"name":"a","request":${JSON.stringify(good).replace('"rated_current_A":120', '"rated_current_A":1e999')}}`),
    "an unknown field": link({ name: "a", request: { ...good, extra: 1 } }),
    "a prototype": link(`{"name":"a","request":{"rig":{"__proto__":{"x":1},"alternator":{"rated_current_A":120}}}}`),
    "10 MB squeezed": link(" ".repeat(10 << 20) + JSON.stringify({ name: "a", request: good })),
    "a long link": "#r1." + "A".repeat(200_000),
    "a newer version": link({ name: "a", request: good }, 7),
    "an older version": link({ name: "a", request: good }, 0),
    "gears that are none": link({ name: "a", request: good, gears: ["fast"] }),
    "gears out of range": link({ name: "a", request: good, gears: [38.9, 1e9] }),
    "a thousand gears": link({ name: "a", request: good, gears: Array(1000).fill(5) }),
    "deep": link(`{"name":"a","request":{"rig":${"[".repeat(5000)}${"]".repeat(5000)}}}`),
  };
  for (const [what, fragment] of Object.entries(refused)) {
    await page.evaluate((fragment) => (location.hash = fragment), fragment);
    const message = page.locator(".message[role=alert]");
    await message.waitFor({ timeout: 10_000 }).catch(() => assert.fail(`no message: ${what}`));
    assert.match(await message.innerText(), /Nothing was changed/, what);
    assert.equal(await stored(page), before, what);
    assert.equal(await page.evaluate(() => location.hash), "", what);
    await message.getByRole("button", { name: "Close" }).click();
  }
  assert.equal(await stored(page, 300), before);
  // A good one changes nothing before it is taken, and its name is only text.
  await page.evaluate((fragment) => (location.hash = fragment), link({ name: nasty + "\u202e\u0000", request: good }));
  await page.locator(".question").waitFor();
  assert.equal(await stored(page), before);
  assert.ok((await page.locator(".question").innerText()).includes("<img src=x"));
  await page.getByRole("button", { name: "Leave it" }).click();
  assert.equal(await stored(page), before);
  await page.evaluate((fragment) => (location.hash = fragment), link({ name: nasty, request: good }));
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await page.locator(".setting .number").waitFor();
  assert.equal(JSON.parse(await stored(page)).rigs.length, 2);
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  assert.notEqual(await page.title(), "caught");
  assert.equal(await page.locator("#page img, #page script").count(), 0);
  assert.deepEqual(wrong, []);
  await context.close();
});

test("a link that is the first thing opened, and one that this page made", async () => {
  const context = await visitor(browser, {});
  const { page, wrong } = await watched(context, server.url);
  await page.goto(server.url + link({ name: "Canal crew", request: changed("moment.ambient_C", 40) }));
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.locator(".rigname", { hasText: "Canal crew" }).waitFor();
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  await page.getByRole("button", { name: "Share as a link" }).click();
  const made = await page.locator(".link input").inputValue();
  const sent = [];
  page.on("request", (r) => sent.push(r.url()));
  await page.goto("about:blank");
  await page.goto(made);
  await page.locator(".question", { hasText: "Canal crew" }).waitFor();
  assert.equal(sent.some((url) => url.includes("#r1") && false), false);
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await page.locator(".setting .number").waitFor();
  const rigs = JSON.parse(await stored(page)).rigs;
  assert.deepEqual(rigs.at(-1).request, rigs.at(-2).request);
  assert.deepEqual(wrong, []);
});

test("files", async () => {
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "rig");
  const before = await stored(page);
  const file = (name, text) => ({ name, mimeType: "application/json", buffer: Buffer.from(text) });
  const doc = JSON.parse(before);
  const refused = {
    "10 MB": " ".repeat(10 << 20),
    "cut short": file("a.json", JSON.stringify(good).slice(0, 300)),
    "not UTF-8": { name: "a.json", mimeType: "application/json", buffer: Buffer.from([0x7b, 0xff, 0xfe, 0x7d]) },
    "wrong types": file("a.json", JSON.stringify(changed("rig.cable.length_m", { m: 6 }))),
    "a number": file("a.json", "7"),
    "nothing": file("a.json", ""),
    "another's JSON": file("a.json", `{"hello":"world"}`),
    "gears that are none": file("a.json", JSON.stringify({ ...good, page: { gears: { 0: 5 } } })),
    "gears below one": file("a.json", JSON.stringify({ ...good, page: { gears: [0.5] } })),
    "a page that is a list": file("a.json", JSON.stringify({ ...good, page: [] })),
    "a what-if of wrong types": file("a.json", JSON.stringify({ ...doc, rigs: [{ ...doc.rigs[0], whatIf: { engine_rpm: { a: 1 } } }] })),
    "a newer document": file("a.json", JSON.stringify({ ...doc, version: 99 })),
    "an older document": file("a.json", JSON.stringify({ ...doc, version: 0 })),
    "a document without rigs": file("a.json", JSON.stringify({ ...doc, rigs: [] })),
    "a document of wrong rigs": file("a.json", JSON.stringify({ ...doc, rigs: [{ id: 1, name: "x", request: {} }] })),
  };
  for (const [what, given] of Object.entries(refused)) {
    if (typeof given === "string") await choose(page, "#file", "a.json", given);
    else await page.locator("#file").setInputFiles(given);
    await page.locator(".note", { hasText: "Nothing was changed" }).waitFor({ timeout: 10_000 }).catch(() => assert.fail(`no message: ${what}`));
    assert.equal(await page.locator(".question").count(), 0, what);
    assert.equal(await stored(page), before, what);
    await anew(page, "rig"); // the next one's message begins the same
  }
  assert.equal(await stored(page, 300), before);
  await page.locator("#file").setInputFiles(file(`${nasty.replaceAll("/", "")}.json`, JSON.stringify(good)));
  await page.getByRole("button", { name: "Add it to mine" }).click();
  assert.equal(JSON.parse(await stored(page)).rigs.length, 2);
  assert.notEqual(await page.title(), "caught");
  assert.deepEqual(wrong, []);
  await context.close();
});

/** axe finds nothing, nothing runs over the phone, targets are large. */
async function fine(page) {
  for (const colorScheme of ["dark", "light"]) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await violations(page), [], colorScheme);
  }
  const bad = await page.evaluate(() => [
    ...(document.documentElement.scrollWidth > document.documentElement.clientWidth ? ["runs over"] : []),
    ...[...document.querySelectorAll(".own button, .question button")].filter((e) => e.getBoundingClientRect().height < 44 || e.scrollWidth > e.clientWidth).map((e) => e.outerHTML),
  ]);
  assert.deepEqual(bad, []);
}

test("what was learned on one vehicle: left out of a link, kept in a file, asked about when it comes", async () => {
  const fitted = JSON.parse(host(["fit", "--print-request"]));
  const dir = await mkdtemp(join(tmpdir(), "spareamps-own-"));
  await writeFile(join(dir, "fit.json"), JSON.stringify(fitted));
  const { learned } = JSON.parse(host(["fit", "--rig", join(dir, "fit.json"), "--json"]));
  assert.ok(learned);
  const own = { ...fitted, rig: { ...fitted.rig, learned } };
  const n = fitted.rig.observations.length;

  const context = await browser.newContext({ viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "rig");
  assert.equal(await page.locator(".own").count(), 0, "nothing learned, nothing asked");
  const rigs = async (n) => (await page.waitForFunction((n) => JSON.parse(localStorage.spareamps).rigs.length === n, n), JSON.parse(await stored(page)).rigs);
  const carries = (rig) => [rig.request.rig.learned !== undefined, (rig.request.rig.observations ?? []).length];
  const file = { name: "own.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(own)) };

  // It comes in a file: said plainly, taken without it, taken with it.
  await page.locator("#file").setInputFiles(file);
  assert.match(await page.locator(".question .carries").innerText(), new RegExp(`learned on one vehicle, and ${n} readings`));
  await fine(page);
  await page.getByRole("button", { name: "Add it, drop what was learned" }).click();
  assert.deepEqual(carries((await rigs(2)).at(-1)), [false, 0]);
  await page.locator("#file").setInputFiles(file);
  await page.getByRole("button", { name: "Add it to mine" }).click();
  assert.deepEqual(carries((await rigs(3)).at(-1)), [true, n]);

  // It goes: a link without it, a file with it, unless it is said otherwise.
  const saved = async () => {
    const [it] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save this rig as a file" }).click()]);
    return JSON.parse(await readFile(await it.path(), "utf8"));
  };
  const carriedBy = (link) => {
    const { request } = JSON.parse(inflateRawSync(Buffer.from(link.slice(link.indexOf("#r1.") + 4), "base64url")).toString());
    return carries({ request });
  };
  const shared = async () => (await page.getByRole("button", { name: "Share as a link" }).click(), page.locator(".link input").inputValue());
  assert.deepEqual(carriedBy(await shared()), [false, 0]);
  assert.match(await page.locator(".link").innerText(), /What was learned is left out/);
  await fine(page);
  assert.deepEqual(carries({ request: await saved() }), [true, n]);
  await page.getByRole("button", { name: "With the file" }).click();
  assert.deepEqual(carries({ request: await saved() }), [false, 0]);
  await page.getByRole("button", { name: "With the link" }).click();
  await page.waitForFunction(() => !document.querySelector(".link"));
  const link = await shared();
  assert.deepEqual(carriedBy(link), [true, n]);

  // The same of a link.
  await page.goto("about:blank");
  await page.goto(link);
  await page.locator(".question .carries", { hasText: "learned on one vehicle" }).waitFor();
  await page.getByRole("button", { name: "Add it, drop what was learned" }).click();
  assert.deepEqual(carries((await rigs(4)).at(-1)), [false, 0]);

  // A whole day of a logger is too much for a link, and that is said.
  const long = structuredClone(own);
  long.rig.observations = Array.from({ length: 1500 }, (_, i) => ({ ...fitted.rig.observations[i % n], minutes: 1 + ((i * 7919) % 997) / 10, output_A: 20 + randomBytes(4).readUInt32LE() / 2 ** 26, speed_kmh: randomBytes(4).readUInt32LE() / 2 ** 26, at: randomBytes(16).toString("hex") }));
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  await page.locator("#file").setInputFiles({ ...file, buffer: Buffer.from(JSON.stringify(long)) });
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await rigs(5);
  await page.getByRole("button", { name: "With the link" }).click();
  await page.getByRole("button", { name: "Share as a link" }).click();
  await page.locator(".note", { hasText: "Too much for a link" }).waitFor();
  assert.equal(await page.locator(".link").count(), 0);
  assert.deepEqual(wrong, []);
  await context.close();
});

test("what is stored: unreadable, or of a newer page", async () => {
  const context = await visitor(browser, {});
  const { page, wrong } = await watched(context, server.url);
  await page.goto(server.url);
  await page.locator(".welcome").waitFor();
  await page.evaluate(() => (localStorage.spareamps = "{broken"));
  await page.reload();
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  assert.equal(await page.evaluate(() => localStorage["spareamps.unreadable"]), "{broken");
  await page.evaluate(() => (localStorage.spareamps = JSON.stringify({ version: 9, rigs: "of another shape" })));
  await page.goto("about:blank");
  await page.goto(server.url);
  await page.locator(".message", { hasText: "newer version" }).waitFor();
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.getByRole("button", { name: "More: Air outside" }).click();
  assert.match(await stored(page), /of another shape/);
  assert.deepEqual(wrong, []);
});

test("a browser that stores no more: the page answers, and says so until it does again", async () => {
  const context = await visitor(browser, {});
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url);
  const said = page.locator(".message", { hasText: "This browser stores no more" });
  await page.evaluate(() => {
    const keep = Storage.prototype.setItem;
    Storage.prototype.setItem = () => {
      throw new DOMException("full", "QuotaExceededError");
    };
    globalThis.roomAgain = () => (Storage.prototype.setItem = keep);
  });
  await page.getByRole("button", { name: "More: Air outside" }).click();
  await said.waitFor();
  await page.evaluate(() => globalThis.roomAgain());
  await page.getByRole("button", { name: "More: Air outside" }).click();
  await said.waitFor({ state: "detached" });
  assert.deepEqual(wrong, []);
});
