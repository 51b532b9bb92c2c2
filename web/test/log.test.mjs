// A logger's file under Measure: what was read and what was not is said, it is
// asked about, added, taken back; what is no log changes nothing.

import assert from "node:assert/strict";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { anew, demo, everyLook, host, launch, serve, stopAll, stored, violations, visitor, watched } from "./browser.mjs";

let browser, server, dir;
before(async () => ((dir = await mkdtemp(join(tmpdir(), "spareamps-log-"))), (server = await serve()), (browser = await launch())));
after(stopAll);

const phone = { viewport: { width: 360, height: 640 }, locale: "en-GB" };

/** A crawl along a canal, a row a second; invented. */
const canal = (n, spoil = (line) => line) => "time_s;engine_rpm;speed_kmh;output_A;bus_V;case_C;charger_input_A;gearbox;oil\n" +
  Array.from({ length: n }, (_, s) => spoil([28800 + s, 1400 + ((s * 37) % 101), 8 + ((s * 13) % 18), (58.4 + (s % 3)).toFixed(1), "13.8", 70 + Math.round(s / 60), 30 + (s % 5), "ok", 3].join(";").replaceAll(".", ","), s)).join("\n") + "\n";

const requestOf = async (page) => {
  const doc = JSON.parse(await stored(page));
  return doc.rigs.find((r) => r.id === doc.current).request;
};
const give = (page, name, text) => page.locator("#log-file").setInputFiles({ name, mimeType: "text/csv", buffer: Buffer.from(text) });
/** Drops files that are made in the page: large ones are slow to hand over. What is made is told by words. */
const drop = (page, ...files) => page.evaluate((files) => {
  const make = {
    day: (n, from) => "time_s;engine_rpm;speed_kmh;output_A;bus_V;case_C;charger_input_A\n" + Array.from({ length: n }, (_, s) => [from + s, 1400 + ((s * 37) % 101), 8 + ((s * 13) % 18), 58 + (s % 3), "13,8", 70 + (Math.round(s / 60) % 20), 30 + (s % 5)].join(";")).join("\n"),
    many: (text, n) => text.repeat(n),
    long: (head, text, n) => head + text.repeat(n),
    zeros: (n) => new Uint8Array(n),
    noise: (n) => {
      const bytes = new Uint8Array(n);
      for (let i = 0, s = 1; i < n; i++) bytes[i] = (s = (Math.imul(s, 1103515245) + 12345) >>> 0) >>> 16;
      return bytes;
    },
  };
  for (const [name, what, ...rest] of files) {
    const data = new DataTransfer();
    data.items.add(new File([make[what](...rest)], name));
    document.querySelector(".log .drop").dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data }));
  }
}, files);
const told = async (page) => (await page.locator(".log .told").waitFor(), (await page.locator(".log .told").innerText()).replace(/\s+/g, " "));

test("a log is read as the program reads it, asked about, added, undone, and not added twice", async () => {
  const context = await visitor(browser, phone);
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  const before = await stored(page);
  const rig = await requestOf(page);
  const csv = canal(3600, (line, s) => (s === 100 ? "soon;" + line.split(";").slice(1).join(";") : s === 200 || s === 201 ? line + ";1;2" : s === 300 ? line.replace(";58,4;", ";99999;") : line));
  await give(page, "canal.csv", csv);
  const said = await told(page);
  assert.match(said, /In canal\.csv/);
  assert.match(said, /3597 rows were read: (59|60) min, in \d+ readings, each the mean over 10 s/);
  assert.match(said, /Rows left out 1: no time that can be read, first in line 102 2: another number of cells than the header has, first in line 202/);
  assert.match(said, /Cells left out 1: output amps, outside what is possible, first in line 302 \(“99999”\)/);
  assert.match(said, /Columns read time_s \(time\), engine_rpm \(engine\), speed_kmh \(speed\), output_A \(output amps\), .* case_C \(housing\), charger_input_A \(amps into charger\)/);
  assert.match(said, /Worked out of the others charger's setting/);
  assert.match(said, /Not in it, taken from Now air outside 36 °C, altitude 600 m, vehicle loads 350 W/);
  assert.match(said, /Columns not read gearbox, oil/);
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "In canal.csv");
  assert.equal(await stored(page), before, "nothing before it is said");

  await page.getByRole("button", { name: "Leave them" }).click();
  assert.equal(await stored(page), before);
  await give(page, "canal.csv", csv);
  await page.getByRole("button", { name: /^Add these \d+ readings$/ }).click();
  await page.locator(".log .note", { hasText: "are added" }).waitFor();
  const got = (await requestOf(page)).rig.observations;
  await writeFile(join(dir, "rig.json"), JSON.stringify(rig));
  await writeFile(join(dir, "canal.csv"), csv);
  const want = JSON.parse(host(["fit", "--rig", join(dir, "rig.json"), "--log", join(dir, "canal.csv"), "--print-request", "-q"])).rig.observations;
  assert.ok(got.length > 300);
  assert.deepEqual(got.map((o) => ({ altitude_m: 0, speed_kmh: 0, setting_W: 0, ...o, everything_on: undefined })), want.map((o) => ({ ...o, everything_on: undefined })));
  await page.waitForFunction((n) => document.querySelector(".readings h2 small").textContent === String(n), got.length);

  await give(page, "again.csv", csv);
  assert.match(await told(page), /All of them are kept already/);
  assert.equal(await page.getByRole("button", { name: /^Add these/ }).count(), 0);
  await page.getByRole("button", { name: "Leave them" }).click();
  await page.getByRole("button", { name: "Undo" }).first().click();
  await page.waitForFunction(() => document.querySelectorAll(".readings li").length === 0);
  assert.equal("observations" in (await requestOf(page)).rig, false);
  assert.deepEqual(wrong, []);
});

test("a day of a row a second is read, kept, learned from, and travels in a file", async (t) => {
  const context = await visitor(browser, phone);
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  const began = Date.now();
  await drop(page, ["day.csv", "day", 86_400, 0]);
  await page.locator(".log .told").waitFor();
  t.diagnostic(`86,400 rows made, dropped and read in ${Date.now() - began} ms, thread included`);
  await page.getByRole("button", { name: /^Add these \d+ readings$/ }).click();
  await page.locator(".log .note", { hasText: "are added" }).waitFor();
  const rows = (await requestOf(page)).rig.observations;
  assert.ok(rows.length > 1000 && rows.length <= 1500, String(rows.length));
  assert.equal(await page.locator(".readings .tag.need").count(), 0, "the module finds nothing wrong with them");

  // No more than the table takes.
  await drop(page, ["later.csv", "day", 86_400, 90_000]);
  await page.getByRole("button", { name: /^Add these/ }).click();
  await page.waitForFunction((n) => Number(document.querySelector(".readings h2 small").textContent) === n, 2 * rows.length);
  await drop(page, ["third.csv", "day", 86_400, 180_000]);
  assert.match(await told(page), /more than 3000/);
  assert.equal(await page.getByRole("button", { name: /^Add these/ }).count(), 0);
  await page.getByRole("button", { name: "Leave them" }).click();

  // Out in a file and in again.
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  const all = (await requestOf(page)).rig.observations;
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save all rigs as a file" }).click()]);
  await page.locator("#file").setInputFiles(await saved.path());
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await page.locator(".note", { hasText: "Added" }).waitFor();
  assert.deepEqual((await requestOf(page)).rig.observations, all);
  assert.deepEqual(wrong, []);
});

test("what is no log: a clear message, and nothing is changed", async () => {
  const context = await visitor(browser, phone);
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  const before = await stored(page);
  const nasty = `<img src=x onerror="document.title='caught'">`;
  const header = "time_s,engine_rpm,ambient_C,output_A\n";
  for (const [what, bytes] of Object.entries({
    "nothing": "",
    "21 MB": ["many", "1,2\n", 5_250_000],
    "10 MB of noise": ["noise", 10 << 20],
    "10 MB of zeros": ["zeros", 10 << 20],
    "10 MB in one line": ["long", header, "1", 10 << 20],
    "10 MB of commas": ["long", header, ",", 10 << 20],
    "a picture": await readFile("static/icon-192.png"),
    "UTF-16": Buffer.from("\ufeff" + header + "0,1400,36,60\n10,1400,36,60\n", "utf16le"),
    "a rig": host(["ceiling", "--print-request", "-q"]),
    "GPX": `<?xml version="1.0"?><gpx><trk><trkseg><trkpt lat="39.5" lon="-4"><time>2026-07-24T08:00:00Z</time></trkpt></trkseg></trk></gpx>`,
    "a header alone": header,
    "one row": header + "0,1400,36,60\n",
    "words for numbers": header + "0,fast,hot,much\n10,fast,hot,much\n20,fast,hot,much\n",
    "no engine speed": "time_s,ambient_C,output_A\n0,36,60\n10,36,60\n",
    "no times": "engine_rpm,output_A\n1400,60\n1400,60\n",
    "script for a header": `${nasty},${nasty}\n1,2\n`,
  })) {
    if (Array.isArray(bytes)) await drop(page, ["a.csv", ...bytes]);
    else await give(page, what === "a picture" ? "a.png" : "a.csv", bytes);
    await page.locator(".log .note", { hasText: "Nothing was changed" }).waitFor({ timeout: 20_000 }).catch(() => assert.fail(`no message: ${what}`));
    assert.match(await page.locator(".log .note .wrong").innerText(), /\w{3}/, what);
    assert.equal(await page.locator(".log .told").count(), 0, what);
    assert.equal(await stored(page), before, what);
    await anew(page, "measure"); // the next one's message is another
  }
  // Names of files and columns are only text.
  await give(page, `${nasty.replaceAll("/", "")}${"x".repeat(200)}.csv`, `time_s,engine_rpm,output_A,${nasty}\n0,1400,60,1\n60,1400,60,1\n120,1400,60,1\n${nasty},1,2,3\n`);
  assert.ok((await told(page)).includes(nasty.slice(0, 20)));
  assert.equal(await page.locator("#page img").count(), 0);
  assert.notEqual(await page.title(), "caught");
  assert.equal(await stored(page, 300), before);
  // Of two files the later counts.
  await drop(page, ["first.csv", "day", 80_000, 0], ["second.csv", "day", 300, 0]);
  await page.locator(".log h3", { hasText: "second.csv" }).waitFor();
  await page.waitForTimeout(500);
  assert.match(await told(page), /second\.csv/);
  assert.deepEqual(wrong, []);
});

// Colours do not depend on the width, nor widths on colours.
const looks = [[1280, "light"], [360, "dark"], [320, "light"]].map(([width, colorScheme]) => ({ viewport: { width, height: 640 }, colorScheme }));

test("axe, letters, widths and targets", async () => {
  const context = await visitor(browser, phone);
  const { page, wrong } = await watched(context, server.url);
  await page.setViewportSize(looks.at(-1).viewport);
  await demo(page, server.url, "measure");
  const look = (state) => everyLook(page, looks, async (look) => {
    assert.deepEqual(await violations(page), [], `${state}, ${look}`);
    const bad = await page.evaluate(() => {
      const bad = [];
      const root = document.documentElement;
      if (root.scrollWidth > root.clientWidth) bad.push(`runs over: ${root.scrollWidth} > ${root.clientWidth}`);
      for (const e of document.querySelectorAll(".log, .log *")) {
        if (e.closest(".unseen")) continue;
        if (parseFloat(getComputedStyle(e).fontSize) < 16) bad.push(`small letters: ${e.outerHTML.slice(0, 80)}`);
        if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") bad.push(`cut: ${e.outerHTML.slice(0, 80)}`);
        const r = e.getBoundingClientRect();
        if (e.matches("button") && (r.height < 44 || r.width < 44)) bad.push(`small target ${r.width}x${r.height}: ${e.outerHTML.slice(0, 80)}`);
      }
      return bad;
    });
    assert.deepEqual(bad, [], `${state}, ${look}`);
  });
  await give(page, "a.csv", "none");
  await page.locator(".log .note", { hasText: "Nothing was changed" }).waitFor();
  await look("refused");
  await give(page, "averyveryveryverylongnameofafilewithoutablank.csv", canal(900, (line, s) => (s % 7 ? line : "x" + line)).replace("gearbox", "avery".repeat(30)));
  await told(page);
  await look("told");
  assert.deepEqual(wrong, []);
});
