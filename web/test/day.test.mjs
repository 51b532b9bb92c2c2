// The day: what the page says equals what the program says; the calendar file
// is one; tracks that are none change nothing; axe; a form that mends itself.

import assert from "node:assert/strict";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { build } from "esbuild";
import { begun, choose, demo, docOf, faultless, host, launch, serve, show, stopAll, stored as written, unfold, visitor, watched } from "./browser.mjs";

let browser, server, dir;
before(async () => ((server = await serve()), (browser = await launch()), (dir = await mkdtemp(join(tmpdir(), "spareamps-day-")))));
after(stopAll);


/** A source of the page by itself. */
async function source(name) {
  const { outputFiles } = await build({ entryPoints: [new URL(`../src/${name}`, import.meta.url).pathname], bundle: true, format: "esm", write: false });
  return import("data:text/javascript;base64," + Buffer.from(outputFiles[0].contents).toString("base64"));
}

const demoRequest = () => {
  const { rig, day } = JSON.parse(host(["day", "--print-request"]));
  return { rig, day };
};

/** The page with a request for its rig, at the day. */
const open = (context, request) => begun(context, server.url, docOf(request), "day");

const stored = async (page, afterMs) => JSON.parse(await written(page, afterMs)).rigs[0];
const days = () => {
  const base = demoRequest();
  const with_ = (change) => ({ rig: structuredClone(base.rig), day: { ...structuredClone(base.day), ...change } });
  const noFeed = with_({ max_C: 41 });
  delete noFeed.rig.charger.feed_W;
  delete noFeed.rig.charger.feed_V;
  return {
    demo: with_({}),
    "low and short": with_({ house_soc: 0.2, want_by: "12:00" }),
    "three days": with_({ days: 3, house_soc: 0.4 }),
    "no feed, hot": noFeed,
    "a setting to try": with_({ setting_W: 160 }),
    "on its own": with_({ control: "automatic", house_soc: 0.35 }),
    cold: with_({ min_C: -22, max_C: -12, starter_soc: 0.4 }),
  };
};

test("the page says what the program says", async () => {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, locale: "en-GB" });
  const { page, wrong } = await open(context, days().demo);
  for (const [name, request] of Object.entries(days())) {
    const file = join(dir, "day.json");
    await writeFile(file, JSON.stringify(request));
    const text = host(["day", "--rig", file]).replace(/\s+/g, " ");
    const plan = JSON.parse(host(["day", "--rig", file, "--json"]));
    await show(page, docOf(request), "day");
    await page.locator(".facts").waitFor();
    const flat = async (selector) => (await page.locator(selector).allInnerTexts()).map((s) => s.replace(/\s+/g, " ").trim());

    const setting = (await flat(".setting"))[0];
    const first = plan.stretches[0]?.setting_W ?? plan.setting.output_W;
    assert.match(setting, plan.setting.output_W > 0 ? new RegExp(`${first} W`) : /Off/, name);
    const said = Object.fromEntries(plan.says.map((s) => [s.code, s.text]));
    const facts = await flat(".facts dd");
    const ending = said.full ?? said.missing;
    assert.ok(facts[0].includes(ending.split(/[;,]/)[0].replace(" without charging", "").replace(/ on day (\d+)/, ", day $1")), `${name}: ${facts[0]} is not ${ending}`);
    if (said.missing) assert.ok(facts[0].includes(`${/(\d+) Wh short of \d+ %/.exec(said.missing)[0]}`), `${name}: ${facts[0]} is not ${said.missing}`);
    const low = /lowest (\d+ %) at (\d\d:\d\d)/.exec(said.night);
    assert.ok(facts[1].includes(`Lowest ${low[1]} at ${low[2]}`), `${name}: ${facts[1]} is not ${said.night}`);
    const volts = /(\d+\.\d V while cranking, \d+\.\d V needed)/.exec(said.no_start ?? said.start)[1];
    assert.ok(facts[2].includes(volts), `${name}: ${facts[2]} has no ${volts}`);
    assert.match(facts[2], said.no_start ? /No start/ : /Engine starts/, name);

    const rows = await page.locator(".handovers li").evaluateAll((list) => list.map((li) => ({ at: li.dataset.at, what: li.querySelector("b").innerText, missed: li.querySelector(".missed").innerText })));
    if (plan.handovers.length > 0) assert.ok(rows.length > 0, name);
    for (const r of rows) {
      const what = r.what.replace("Charge", "charge").replace("Feed", "feed").replace("Off", "off");
      assert.ok(text.includes(`${r.at} `) && text.includes(what), `${name}: ${r.at} ${what} is not in ${text.slice(0, 900)}`);
      const missed = r.missed.replace("If forgotten: ", "").replace(/\.$/, "").split(", ").filter((s) => !/passed at|So the day begins/.test(s));
      for (const m of missed) assert.ok(text.includes(m), `${name}: ${m} is not in ${text.slice(0, 1200)}`);
    }
    const remedies = await flat(".remedies li span");
    assert.deepEqual(remedies.map((s) => s.toLowerCase().replace(/\.$/, "")), plan.remedies.map((r) => `${r.text}, +${r.gain_Wh.toFixed(0)} wh`.toLowerCase()), name);

    const ledger = await page.locator(".ledger tbody tr:not(.sum)").evaluateAll((list) => list.map((tr) => [tr.cells[0].textContent.toLowerCase(), tr.cells[1].textContent.replace("−", "-")]));
    const kinds = ["source", "use", "loss", "stored"];
    const want = plan.ledger.map((e, i) => [e, i]).sort(([a, i], [b, j]) => kinds.indexOf(a.kind) - kinds.indexOf(b.kind) || i - j).map(([e]) => [e.name.toLowerCase(), e.Wh.toFixed(0).replace(/^-0$/, "0")]);
    assert.deepEqual(ledger, want, name);
    const stretches = await page.locator("section[aria-labelledby=h-charging] tbody tr").evaluateAll((list) => list.map((tr) => [...tr.cells].slice(1, 4).map((c) => c.textContent)));
    assert.deepEqual(stretches, plan.stretches.map((s) => [s.setting_W, s.allowed_W, s.charged_Wh].map((v) => v.toFixed(0))), name);
    assert.deepEqual(wrong, [], name);
  }
  await context.close();
});

test("reading off by keyboard, and the table says the same as the strips", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const request = demoRequest();
  const { page, wrong } = await open(context, request);
  const slider = page.locator("#day-cursor");
  await slider.waitFor();
  const file = join(dir, "cursor.json");
  await writeFile(file, JSON.stringify({ ...request, day: { ...request.day, series_min: 5 } }));
  const { series } = JSON.parse(host(["day", "--rig", file, "--json"]));
  await slider.focus();
  await page.keyboard.press("Home");
  for (const i of [0, 1, 2]) {
    const said = await slider.getAttribute("aria-valuetext");
    const want = `${series.at[i]}: house ${(100 * series.house_soc[i]).toFixed(0)} %, starter ${(100 * series.starter_soc[i]).toFixed(0)} %; charging ${series.charge_W[i].toFixed(0)} of ${series.allowed_W[i].toFixed(0)} W allowed`;
    assert.ok(said.startsWith(want), `${said} is not ${want}`);
    await page.keyboard.press("ArrowRight");
  }
  await page.keyboard.press("End");
  assert.match(await page.locator(".dayread > b").innerText(), new RegExp(series.at.at(-1)));
  await page.locator(".strips summary").click();
  const rows = await page.locator(".strips tbody tr").evaluateAll((list) => list.map((tr) => [...tr.cells].slice(0, 3).map((c) => c.textContent)));
  assert.equal(rows.length, 48);
  rows.forEach((r, k) => assert.deepEqual(r, [series.at[6 * k + 5], `${(100 * series.house_soc[6 * k + 5]).toFixed(0)} %`, `${(100 * series.starter_soc[6 * k + 5]).toFixed(0)} %`]));
  assert.deepEqual(wrong, []);
});

/** RFC 5545, section 3.1 and 3.6: a reader of our own, strict. */
function parseCalendar(text) {
  assert.ok(text.endsWith("\r\n"), "last line is not ended");
  assert.ok(!/[^\r]\n|\r[^\n]/.test(text), "a line break is not CRLF");
  const lines = text.slice(0, -2).split("\r\n");
  for (const l of lines) assert.ok(Buffer.byteLength(l) <= 75, `${Buffer.byteLength(l)} octets, at most 75: ${l}`);
  const whole = text.replace(/\r\n[ \t]/g, "").slice(0, -2).split("\r\n");
  const root = { name: "", children: [], props: {} };
  const stack = [root];
  for (const l of whole) {
    const found = /^([A-Z-]+)((?:;[A-Z-]+=[^:;]*)*):(.*)$/s.exec(l);
    assert.ok(found, `no content line: ${l}`);
    const [, name, , value] = found;
    const top = stack.at(-1);
    if (name === "BEGIN") {
      const child = { name: value, children: [], props: {} };
      top.children.push(child);
      stack.push(child);
    } else if (name === "END") assert.equal(stack.pop().name, value);
    else {
      assert.ok(!(name in top.props), `${name} twice`);
      top.props[name] = value;
    }
  }
  assert.equal(stack.length, 1);
  return root.children[0];
}
const unescaped = (s) => s.replace(/\\([\\;,nN])/g, (_, c) => (c.toLowerCase() === "n" ? "\n" : c));

test("calendar: folded by octets, escaped, floating times", async () => {
  const { calendar, fold, escaped } = await source("ics.ts");
  assert.equal(escaped("a,b;c\\d\r\ne\u0007"), "a\\,b\\;c\\\\d\\ne ");
  const hostile = "Ä€😀".repeat(60) + "\r\nEND:VCALENDAR\nBEGIN:VEVENT;x,y\\";
  const text = calendar("n,ame", "a/b c-2026-07-24", [{ at: new Date("2026-07-24T23:30:00Z"), title: hostile, text: hostile }], new Date("2026-07-01T10:00:00Z"), 5);
  const cal = parseCalendar(text);
  assert.equal(cal.name, "VCALENDAR");
  assert.equal(cal.props.VERSION, "2.0");
  assert.ok(cal.props.PRODID);
  assert.equal(cal.children.length, 1);
  const [event] = cal.children;
  assert.equal(event.props.DTSTART, "20260724T233000");
  assert.match(event.props.DTSTAMP, /^20260701T100000Z$/);
  assert.equal(unescaped(event.props.SUMMARY), hostile.replace("\r\n", "\n"));
  assert.equal(event.children[0].name, "VALARM");
  assert.deepEqual([event.children[0].props.ACTION, event.children[0].props.TRIGGER], ["DISPLAY", "-PT5M"]);
  assert.ok(event.children[0].props.DESCRIPTION);
  assert.ok(!fold("x".repeat(300)).split("\r\n").some((l) => l.length > 75));
});

test("calendar: one event with an alarm for each hand-over of the plan", async () => {
  const request = days()["three days"];
  const file = join(dir, "three.json");
  await writeFile(file, JSON.stringify(request));
  const plan = JSON.parse(host(["day", "--rig", file, "--json"]));
  const context = await browser.newContext({ acceptDownloads: true, timezoneId: "America/Denver" });
  const { page, wrong } = await open(context, request);
  await page.locator("#calendar-date").fill("2026-12-30");
  await page.locator("#calendar-before").selectOption("10");
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Put it into my calendar" }).click()]);
  assert.equal(download.suggestedFilename(), "charger-2026-12-30.ics");
  const cal = parseCalendar(await readFile(await download.path(), "utf8"));
  const start = 360;
  const want = plan.handovers.map((h) => {
    const [hour, minute] = h.at.split(":").map(Number);
    const at = new Date(Date.UTC(2026, 11, 30 + h.day - 1 + (hour * 60 + minute < start ? 1 : 0), hour, minute));
    return at.toISOString().replace(/[-:]|\.000Z/g, "");
  });
  assert.deepEqual(cal.children.map((e) => e.props.DTSTART), want);
  assert.ok(cal.children.every((e) => e.children[0].props.TRIGGER === "-PT10M"));
  assert.equal(new Set(cal.children.map((e) => e.props.UID)).size, want.length);
  assert.deepEqual(wrong, []);
  await context.close();
});

const two = (n) => String(n).padStart(2, "0");
/** A recorded day as CSV: out, a pause without records, back. */
function csv() {
  const lines = ["time_s,speed_kmh,engine_rpm,ele,note"];
  for (let s = 8 * 3600 + 7; s < 8 * 3600 + 2400; s += 10) lines.push(`${s},${s % 600 < 200 ? 0 : 22.5},${s % 600 < 200 ? 850 : 1500},612,"a, b"`);
  for (let s = 12 * 3600; s < 12 * 3600 + 1800; s += 10) lines.push(`${s},30.4,1700,640,x`);
  return lines.join("\r\n") + "\r\n";
}
/** The same with positions: 12 km/h eastwards for half an hour, then jitter, then back. */
function gpx({ head = "", point = "" } = {}) {
  let seed = 7;
  const noise = () => ((seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0), (seed / 2 ** 32 - 0.5) * 8e-5);
  let out = `<?xml version="1.0"?>${head}<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`;
  for (let s = 0; s < 5400; s += 5) {
    const way = s < 1800 ? s / 1800 : s < 3600 ? 1 : (5400 - s) / 1800;
    const t = 6 * 3600 + s; // UTC
    out += `<trkpt lat="${(39.5 + noise()).toFixed(7)}" lon="${(-3.5 + (way * 6000) / (111320 * Math.cos((39.5 * Math.PI) / 180)) + noise()).toFixed(7)}"><ele>600</ele><time>2026-07-24T${two(Math.floor(t / 3600))}:${two(Math.floor((t % 3600) / 60))}:${two(t % 60)}Z</time>${point}</trkpt>`;
  }
  return out + "</trkseg></trk></gpx>";
}

const drop = async (page, name, body) => {
  await page.evaluate(() => document.querySelector("#part-day-track").setAttribute("open", ""));
  await choose(page, "#track-file", name, body);
  await page.locator("#part-day-track .note p").first().waitFor();
  await page.waitForFunction(() => !/^Reading/.test(document.querySelector("#part-day-track .note").innerText), null, { timeout: 20_000 });
  return page.locator("#part-day-track .note").innerText();
};

test("a track of recorded speeds becomes the program's own minutes; it goes in and out", async () => {
  const file = join(dir, "track.csv");
  await writeFile(file, csv());
  const { day: want } = JSON.parse(host(["day", "--track", file, "--print-request"]));
  const context = await visitor(browser, {});
  const request = demoRequest();
  const { page, wrong } = await open(context, request);
  await page.locator(".facts").waitFor();
  const note = await drop(page, "track.csv", csv());
  assert.match(note, /Gaps without records: 1/);
  assert.match(note, /Columns not read: \u201cnote\u201d/);
  const { request: got } = await stored(page);
  assert.equal(got.day.legs, undefined);
  assert.equal(got.day.start, want.start ?? "06:00");
  assert.deepEqual(got.day.track, want.track, "rows of day.track");
  await page.locator(".facts").waitFor();
  await page.locator("#in-day-track_engine_rpm").waitFor();
  await page.getByRole("button", { name: "Take the track out" }).click();
  assert.deepEqual((await stored(page)).request.day, request.day);
  assert.deepEqual(wrong, []);
});

test("a track of positions: way and standing as the program has them, within 3 %", async () => {
  const file = join(dir, "track.gpx");
  await writeFile(file, gpx());
  const { day: want } = JSON.parse(host(["day", "--track", file, "--utc-offset-h", "2", "--print-request"]));
  const context = await visitor(browser, {});
  const { page, wrong } = await open(context, demoRequest());
  await page.locator(".facts").waitFor();
  const note = await drop(page, "track.gpx", gpx());
  const { request: got } = await stored(page);
  const km = (rows) => rows.reduce((sum, r) => sum + r.speed_kmh / 60, 0);
  assert.ok(Math.abs(km(got.day.track) / 12 - 1) < 0.03, `${km(got.day.track)} km, driven 12 km in 8 m of jitter, tolerance 3 %: ${note}`);
  assert.ok(Math.abs(km(got.day.track) / km(want.track) - 1) < 0.03, `${km(got.day.track)} km, the program has ${km(want.track)} km, tolerance 3 %`);
  assert.ok(Math.abs(got.day.track.length - want.track.length) <= 3, `${got.day.track.length} minutes, the program has ${want.track.length}, tolerance 3`);
  assert.deepEqual([got.day.date, got.day.latitude_deg, got.day.longitude_deg, got.day.start, got.day.utc_offset_h], ["2026-07-24", 39.5, -3.5, "08:00", 2]);
  await page.locator(".facts").waitFor();
  assert.deepEqual(wrong, []);
});

test("tracks that are none: a clear message, nothing changed", async () => {
  const context = await visitor(browser, {});
  const { page, wrong } = await open(context, demoRequest());
  await page.locator(".facts").waitFor();
  const before = await stored(page);
  const big = Buffer.alloc(20e6 + 1, "x");
  const bomb = `<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>`;
  const cases = {
    "no records": ["time_s,speed_kmh\n", /no records/],
    empty: ["", /no records/],
    "too large": [big, /larger than 20 MB/],
    "not text": [Buffer.from([0xff, 0xfe, 0x00, 0x80, 0x80]), /no text/],
    "cut short": [gpx().slice(0, 5000), /no complete XML/],
    "no GPX": ["<html><body onload='alert(1)'><script>alert(1)</script></body></html>", /no GPX/],
    entities: [gpx({ head: bomb }), /document type/],
    "a route": [gpx().replaceAll("trkpt", "rtept"), /route/],
    "no times": [gpx().replace(/<time>.*?<\/time>/g, ""), /no times/],
    "latitude of 95": [gpx().replace(/lat="[\d.]+"/, 'lat="95.5"'), /Track point 1: lat is/],
    "a script for a number": [gpx({ point: "<speed_kmh>&lt;img src=x onerror=alert(1)&gt;</speed_kmh>" }), /speed_kmh is “<img/],
    "no unit": ["time,speed\n08:00:00,3\n", /neither a speed with its unit/],
    "no time column": ["speed_kmh\n3\n", /column of times/],
    "twice a column": ["time_s,speed_kmh,speed_ms\n1,2,3\n", /twice/],
    NaN: ["time_s,speed_kmh\n1,NaN\n2,3\n", /Line 2: speed_kmh is/],
    "cells missing": ["time_s,speed_kmh\n1\n2,3\n", /Line 2 has 1 cells/],
    "a quotation mark": ['time_s,speed_kmh\n1,"3\n2,3\n', /quotation mark/],
    "a long line": ["time_s,speed_kmh\n" + "1".repeat(70_000) + "\n", /longer than 64 kB/],
    "back in time": ["time_s,speed_kmh\n5000,3\n100,3\n", /lies before/],
    "nine days": ["time_s,speed_kmh\n1,3\n800000,3\n", /allowed is 7/],
    "one record": ["time_s,speed_kmh\n1,3\n", /fewer than two/],
    standing: ["time_s,speed_kmh\n1,0\n1000,0\n", /Nothing moves/],
    "31st of June": ["time,speed_kmh\n2026-06-31T08:00:00Z,3\n", /time is/],
  };
  for (const [name, [body, want]] of Object.entries(cases)) {
    const note = await drop(page, name.replaceAll(" ", "-"), body);
    assert.match(note, want, name);
    assert.match(note, /Nothing was changed/, name);
    assert.deepEqual(await stored(page), before, name);
  }
  assert.deepEqual(await stored(page, 300), before);
  // The browser's own note on broken XML has a style of its own, which the policy refuses.
  assert.deepEqual(wrong.filter((m) => !m.startsWith("Applying inline style")), []);
});

test("a day of one's own: what is missing is said at its field, by row; legs are added, moved and taken out", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { rig } = demoRequest();
  const { page, wrong } = await open(context, { rig });
  await page.getByRole("button", { name: "Plan my day" }).click();
  await page.locator(".problems").waitFor();
  await page.locator(".problems button").first().click();
  await page.locator("#in-day-house_soc").waitFor();
  await page.waitForFunction(() => document.activeElement.id === "in-day-house_soc");
  const fill = async (path, v) => {
    const box = page.locator("#in-" + path.replace(/[^\w]+/g, "-"));
    if (await box.evaluate((e) => e.tagName === "SELECT")) return box.selectOption(v);
    await box.fill(v);
    await box.press("Enter");
    await box.blur();
  };
  const fold = (text) => page.locator(".plan > details > summary", { hasText: text }).click();
  await fill("day.house_soc", "60");
  await fold("Air and sun");
  await fill("day.min_C", "15");
  await fill("day.max_C", "31");
  await page.locator(".facts").waitFor();
  await fold("Legs");
  await page.getByRole("button", { name: "+ Add a leg" }).click();
  await fill("day.legs[0].from", "09:00");
  await fill("day.legs[0].to", "12:00");
  await fill("day.legs[0].kind", "drive");
  await page.locator('[data-path="day.legs[].speed_kmh"] .wrong', { hasText: "a drive has a speed" }).waitFor();
  await fill("day.legs[0].speed_kmh", "40");
  await page.waitForFunction(() => !document.querySelector(".problems") && document.querySelector(".setting"));
  await page.getByRole("button", { name: "+ Add a leg" }).click();
  await fill("day.legs[1].from", "07:00");
  await fill("day.legs[1].to", "08:00");
  await fill("day.legs[1].kind", "stop");
  await page.getByRole("button", { name: "Put in the order of time" }).click();
  await page.waitForFunction(() => !document.querySelector(".problems"));
  let day = (await stored(page)).request.day;
  assert.deepEqual(day.legs.map((l) => l.from), ["07:00", "09:00"]);
  await page.getByRole("button", { name: "Leg 1 later" }).click();
  day = (await stored(page)).request.day;
  assert.deepEqual(day.legs.map((l) => l.from), ["09:00", "07:00"]);
  await page.getByRole("button", { name: "Undo" }).click();
  await page.getByRole("button", { name: /Take out leg 1/ }).click();
  day = (await stored(page)).request.day;
  assert.deepEqual(day, { house_soc: 0.6, min_C: 15, max_C: 31, legs: [{ from: "09:00", to: "12:00", kind: "drive", speed_kmh: 40 }] });
  await page.waitForFunction(() => !document.querySelector(".problems"));
  assert.deepEqual(wrong, []);
});

const looks = ["light", "dark"].flatMap((colorScheme) => [[360, 640], [1280, 800], [320, 568]].map(([width, height]) => ({ viewport: { width, height }, colorScheme })));
for (const [state, change] of Object.entries({ demo: {}, short: days()["low and short"], mistakes: { day: { legs: [{ kind: "drive" }], loads: [{}], air: [{}] } }, none: { day: undefined } })) {
  test(`${state}, at every width and colour: axe finds nothing, nothing runs over, small or cut`, async () => {
    const context = await visitor(browser, { viewport: looks[0].viewport, reducedMotion: "reduce" });
    const { page, wrong } = await open(context, { ...demoRequest(), ...change });
    await page.locator(".facts, .problems, button.main").first().waitFor();
    await unfold(page);
    await faultless(page, looks, state, {
      cut: "button, label, h1, h2, h3, th, td, a, b, time, dd",
      targets: "button, select, summary, input:not([type=file]):not([type=range])",
    });
    assert.deepEqual(wrong, []);
  });
}

test("the day works with the server gone", async () => {
  const context = await browser.newContext();
  const own = await serve();
  const { page } = await watched(context, own.url);
  await demo(page, own.url, "day");
  await page.locator(".facts").waitFor();
  await page.locator(".status", { hasText: "Ready offline" }).waitFor({ timeout: 20_000 });
  const before = await page.locator(".setting").innerText();
  await own.stop();
  await page.reload();
  await page.locator(".facts").waitFor();
  assert.equal(await page.locator(".setting").innerText(), before);
  await context.close();
});
