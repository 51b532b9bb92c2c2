// Links and files from anybody: a clear message, and what was there untouched.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { deflateRawSync } from "node:zlib";
import { demo, host, launch, serve, stopAll, watched } from "./browser.mjs";

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

const stored = (page) => page.evaluate(() => new Promise((done) => setTimeout(() => done(localStorage.spareamps), 300)));

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
  const context = await browser.newContext();
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
  await context.close();
});

test("files", async () => {
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "rig");
  const before = await stored(page);
  const file = (name, text) => ({ name, mimeType: "application/json", buffer: Buffer.from(text) });
  const doc = JSON.parse(before);
  const refused = {
    "10 MB": file("a.json", " ".repeat(10 << 20)),
    "cut short": file("a.json", JSON.stringify(good).slice(0, 300)),
    "not UTF-8": { name: "a.json", mimeType: "application/json", buffer: Buffer.from([0x7b, 0xff, 0xfe, 0x7d]) },
    "wrong types": file("a.json", JSON.stringify(changed("rig.cable.length_m", { m: 6 }))),
    "a number": file("a.json", "7"),
    "nothing": file("a.json", ""),
    "another's JSON": file("a.json", `{"hello":"world"}`),
    "a newer document": file("a.json", JSON.stringify({ ...doc, version: 99 })),
    "an older document": file("a.json", JSON.stringify({ ...doc, version: 0 })),
    "a document without rigs": file("a.json", JSON.stringify({ ...doc, rigs: [] })),
    "a document of wrong rigs": file("a.json", JSON.stringify({ ...doc, rigs: [{ id: 1, name: "x", request: {} }] })),
  };
  for (const [what, given] of Object.entries(refused)) {
    await page.locator(".note").evaluate((e) => (e.dataset.old = e.textContent));
    await page.locator("#file").setInputFiles(given);
    await page.locator(".note", { hasText: "Nothing was changed" }).waitFor({ timeout: 10_000 }).catch(() => assert.fail(`no message: ${what}`));
    assert.equal(await page.locator(".question").count(), 0, what);
    assert.equal(await stored(page), before, what);
  }
  await page.locator("#file").setInputFiles(file(`${nasty.replaceAll("/", "")}.json`, JSON.stringify(good)));
  await page.getByRole("button", { name: "Add it to mine" }).click();
  assert.equal(JSON.parse(await stored(page)).rigs.length, 2);
  assert.notEqual(await page.title(), "caught");
  assert.deepEqual(wrong, []);
  await context.close();
});

test("what is stored: unreadable, or of a newer page", async () => {
  const context = await browser.newContext();
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
  await context.close();
});
