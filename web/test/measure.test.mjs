// Measure: readings entered one by one with no signal, learned from, used and
// taken back; what is learned is what the program `spareamps fit` learns.

import assert from "node:assert/strict";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { anew, begun, demo, docOf, faultless, host, launch, readyOffline, serve, stopAll, stored as written, unfold, violations, visitor, watched } from "./browser.mjs";

let browser, server, dir;
before(async () => ((dir = await mkdtemp(join(tmpdir(), "spareamps-measure-"))), (server = await serve()), (browser = await launch())));
after(stopAll);

const to = (page, screen) => page.locator("nav.screens a", { hasText: new RegExp("^" + screen + "$", "i") }).click();
const stored = async (page, afterMs) => JSON.parse(await written(page, afterMs));
const requestOf = async (page) => {
  const doc = await stored(page);
  return doc.rigs.find((r) => r.id === doc.current).request;
};
const field = (name) => `#in-rig-observations-${name}`;
const nudge = (page, name) => page.locator(`.add .nudge`, { hasText: name }).locator("input");
const enter = async (box, text) => {
  await box.fill(text);
  await box.press("Enter");
};
const count = (page, n) => page.waitForFunction((n) => document.querySelectorAll(".readings li").length === n, n);

/** A request of the demo's readings, as the program has them. */
const demoFit = JSON.parse(host(["fit", "--print-request"]));

/** A page that begins with a request. */
const seeded = (context, request, screen = "measure") => begun(context, server.url, docOf(request), screen);

/** What the program learns of a request. */
async function told(request) {
  const file = join(dir, "request.json");
  await writeFile(file, JSON.stringify(request));
  return JSON.parse(host(["fit", "--rig", file, "--json"]));
}

test("with no signal: the demo's readings one by one, learned from, used, in use under Now, taken back", async () => {
  const own = await serve();
  const context = await browser.newContext({ viewport: { width: 360, height: 640 }, locale: "en-GB" });
  const { page, wrong } = await watched(context, own.url);
  await demo(page, own.url);
  const before = await page.locator(".setting .number").textContent();
  await readyOffline(page);
  await own.stop();
  await context.setOffline(true);
  await to(page, "measure");
  await page.locator("main.measure").waitFor();

  const chips = { output_A: "Output amps", bus_V: "Volts at alternator", inlet_C: "Inlet air", case_C: "Housing", core_C: "Stator core", plates_C: "Rectifier plates", charger_V: "Volts at charger", charger_input_A: "Amps into charger" };
  const boxes = { engine_rpm: "Engine", speed_kmh: "Speed", ambient_C: "Air outside", altitude_m: "Altitude", vehicle_loads_W: "Vehicle loads", setting_W: "Charger set to" };
  const wanted = demoFit.rig.observations;
  assert.ok(wanted.length >= 3);
  for (const [i, row] of wanted.entries()) {
    for (const [name, chip] of Object.entries(chips)) {
      if (row[name] === undefined) continue;
      const button = page.getByRole("button", { name: chip, exact: true });
      if ((await button.getAttribute("aria-pressed")) !== "true") await button.click();
      await enter(page.locator(field(name)), String(row[name]));
    }
    await enter(page.locator(field("minutes")), String(row.minutes));
    if (row.surface !== undefined) await page.locator(field("surface")).selectOption(row.surface);
    if (row.everything_on === "yes") await page.locator(field("everything_on")).selectOption(row.everything_on);
    for (const [name, label] of Object.entries(boxes)) {
      await enter(nudge(page, label), String(row[name] ?? (name === "vehicle_loads_W" ? 350 : 0)));
    }
    await page.getByRole("button", { name: "Add it" }).click();
    await count(page, i + 1);
    assert.match(await page.locator(".add [role=status]").innerText(), new RegExp(`Reading ${i + 1} is kept`));
    // The newest stands first.
    assert.match(await page.locator(".readings .when").first().innerText(), new RegExp(`^${i + 1} · \\d{4}-\\d\\d-\\d\\d \\d\\d:\\d\\d$`));
  }
  let request = await requestOf(page);
  for (const [i, row] of wanted.entries()) {
    const { at, ...rest } = request.rig.observations[i];
    assert.match(at, /^\d{4}-\d\d-\d\d \d\d:\d\d$/);
    for (const [name, v] of Object.entries(row)) if (!["at", "begins"].includes(name)) assert.equal(rest[name] ?? (name === "everything_on" ? "no" : undefined), v, `${name} of reading ${i + 1}`);
  }

  const began = Date.now();
  await page.getByRole("button", { name: /^Learn from \d+ readings$/ }).click();
  await page.locator(".result").waitFor();
  console.log(`learned of ${request.rig.observations.length} readings in ${Date.now() - began} ms, thread and module included`);
  const answer = await told(request);
  assert.equal(answer.keep, "yes", answer.verdict);
  const floor = (v) => (v >= 10 ? String(Math.floor(v + 1e-9)) : (Math.floor(v * 10 + 1e-9) / 10).toFixed(1));
  assert.deepEqual(
    await page.locator(".pairnums").evaluateAll((list) => list.map((e) => e.innerText.replace(/\s+/g, " "))),
    answer.moments.map((m) => `before ${floor(m.before_A)} → A, after ${floor(m.after_A)} A`),
  );
  assert.equal(await page.locator(".residuals li").count(), answer.readings.length);
  assert.equal(await page.locator(".residuals .outlier").count(), answer.readings.filter((r) => r.outlier === "yes").length);
  for (const s of await page.locator(".result [data-code]").evaluateAll((list) => list.map((e) => e.dataset.code))) assert.ok(answer.says.some((a) => a.code === s), s);
  assert.equal(await page.locator("section[aria-labelledby=h-next] li").count(), answer.next.length);
  assert.equal(await page.getByRole("button", { name: "Enter this" }).count(), answer.next.length, "every reading proposed has a form or a box");
  assert.equal((await requestOf(page)).rig.learned, undefined); // nothing is used before it is said

  await page.getByRole("button", { name: "Use it" }).click();
  request = await requestOf(page);
  assert.deepEqual(request.rig.learned, answer.learned);
  await to(page, "now");
  await page.locator(".learned", { hasText: "own readings" }).waitFor();
  const now = JSON.parse(host(["ceiling", "--json", "--rig", (await writeFile(join(dir, "used.json"), JSON.stringify(request)), join(dir, "used.json"))]));
  await page.waitForFunction((w) => document.querySelector(".setting .number")?.textContent === w, now.advice.output_W > 0 ? String(Math.floor(now.advice.output_W)) : "Off");
  assert.notEqual(await page.locator(".setting .number").textContent(), before);

  // Undo, again, and the way to drop it under Now.
  await page.getByRole("button", { name: "Undo" }).click();
  await page.waitForFunction((w) => document.querySelector(".setting .number")?.textContent === w, before);
  assert.equal(await page.locator(".learned").count(), 0);
  await to(page, "measure");
  await page.getByRole("button", { name: "Use it" }).click();
  await page.locator(".learn").getByRole("button", { name: "Undo" }).click();
  assert.equal((await requestOf(page)).rig.learned, undefined);
  await page.getByRole("button", { name: "Use it" }).click();
  await to(page, "now");
  await page.getByRole("button", { name: "Drop what was learned" }).click();
  assert.equal((await requestOf(page)).rig.learned, undefined);
  assert.equal((await requestOf(page)).rig.observations.length, wanted.length);
  await to(page, "measure");
  await page.getByRole("button", { name: "Leave it" }).click();
  await page.locator(".learn .note", { hasText: "Nothing was changed" }).waitFor();
  assert.equal(await page.locator(".result").count(), 0);
  assert.deepEqual(wrong, []);
  await context.close();
});

test("readings are changed, taken out and brought back; then it says: learn again", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await seeded(context, demoFit);
  const n = demoFit.rig.observations.length;
  await count(page, n);
  await page.getByRole("button", { name: /^Learn from/ }).click();
  await page.getByRole("button", { name: "Use it" }).click();
  await page.locator(".learned").waitFor();
  assert.equal(await page.locator(".since").count(), 0);

  await page.locator(".readings summary").first().click();
  await enter(page.locator(field(`${n - 1}-minutes`)), "2");
  await page.locator(".since", { hasText: "learn again" }).waitFor();
  await page.locator(".result .wrong", { hasText: "learn again" }).waitFor();
  assert.equal((await requestOf(page)).rig.observations.at(-1).minutes, 2);
  await to(page, "now");
  await page.locator(".learned", { hasText: "learn again" }).waitFor();
  await to(page, "measure");
  await page.getByRole("button", { name: "Undo" }).first().click();
  await page.waitForFunction(() => !document.querySelector(".since"));

  await page.locator(".readings summary").first().click();
  await page.getByRole("button", { name: `Take out reading ${n}` }).click();
  await count(page, n - 1);
  assert.deepEqual((await requestOf(page)).rig.observations, demoFit.rig.observations.slice(0, -1));
  await page.getByRole("button", { name: "Undo" }).first().click();
  await count(page, n);
  await page.getByRole("button", { name: "Take out all readings" }).click();
  await count(page, 0);
  assert.equal("observations" in (await requestOf(page)).rig, false);
  await page.getByRole("button", { name: "Undo" }).first().click();
  await count(page, n);
  assert.deepEqual((await requestOf(page)).rig.observations, demoFit.rig.observations);

  // Another alternator: what was learned is left out, and that is said.
  const other = structuredClone(demoFit);
  other.rig.learned = (await told(demoFit)).learned;
  other.rig.alternator.rated_current_A += 10;
  const third = await seeded(context, other, "now");
  await third.page.locator(".learned.stale", { hasText: "learn again" }).waitFor();
  await third.page.getByRole("button", { name: "See them" }).click();
  await third.page.locator("main.measure .learned.stale").waitFor();
  await third.page.getByRole("button", { name: "Learn again" }).click();
  await third.page.locator(".result").waitFor();
  assert.deepEqual(third.wrong, []);

  // A contradiction explains, and offers nothing to use.
  const absurd = structuredClone(demoFit);
  absurd.rig.observations = absurd.rig.observations.map((o) => ({ ...o, ...(o.core_C ? { core_C: 295 } : {}), ...(o.plates_C ? { plates_C: 290 } : {}), ...(o.output_A ? { output_A: 12 } : {}) }));
  const answer = await told(absurd);
  assert.equal(answer.keep, "no", answer.verdict);
  const second = await seeded(context, absurd);
  await second.page.getByRole("button", { name: /^Learn from/ }).click();
  await second.page.locator(".result", { hasText: "Nothing can be used" }).waitFor();
  assert.equal(await second.page.getByRole("button", { name: "Use it" }).count(), 0);
  assert.equal(await second.page.locator(".residuals .outlier").count(), answer.readings.filter((r) => r.outlier === "yes").length);
  assert.ok((await second.page.locator(".residuals .outlier strong").first().innerText()).includes("Does not fit"));
  assert.deepEqual([...wrong, ...second.wrong], []);
});

test("what the starter battery shows is read with the engine off, whatever Now has; every quantity has a short name", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  const long = await page.locator(".chips button").evaluateAll((list) => list.filter((b) => b.textContent.length > 24).map((b) => b.textContent));
  assert.deepEqual(long, []);
  await page.getByRole("button", { name: "While cranking" }).click();
  await enter(page.locator(field("rest_V")), "12.6");
  await enter(page.locator(field("crank_V")), "10.4");
  await enter(page.locator(field("minutes")), "480");
  assert.equal(await nudge(page, "Engine").inputValue(), "0");
  await page.getByRole("button", { name: "Add it" }).click();
  await count(page, 1);
  const [row] = (await requestOf(page)).rig.observations;
  assert.deepEqual([row.rest_V, row.crank_V, row.engine_rpm, row.speed_kmh, row.setting_W, row.minutes], [12.6, 10.4, 0, 0, 0, 480]);
  assert.deepEqual(wrong, []);
});

test("a worn starter battery: what its readings say of the entries is put in by a press, and taken back", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  await page.getByRole("button", { name: "While cranking" }).click();
  await enter(page.locator(field("rest_V")), "12.35");
  await enter(page.locator(field("crank_V")), "9.4");
  await enter(page.locator(field("minutes")), "600");
  await page.getByRole("button", { name: "Add it" }).click();
  await count(page, 1);
  await page.getByRole("button", { name: /^Learn from/ }).click();
  const offered = page.locator("[data-input] button");
  await offered.first().waitFor();
  const asked = await requestOf(page);
  const expected = JSON.parse(host(["fit", "--rig", "-", "--json"], JSON.stringify({ rig: asked.rig, moment: asked.moment }))).proposals;
  assert.ok(expected.length > 0);
  assert.equal(await offered.count(), expected.length);
  for (const { input, value } of expected) {
    await page.locator(`[data-input="${input}"] button`).click();
    await page.locator(`[data-input="${input}"]`, { hasText: "Entered." }).waitFor();
    const now = await requestOf(page);
    assert.equal(input.split(".").reduce((at, key) => at[key], now), value);
  }
  assert.equal(await page.locator(".result.old").count(), 0);
  for (const _ of expected) await page.locator("button.undo").click();
  assert.equal(await offered.count(), expected.length);
  assert.equal(await page.locator(".result.old").count(), 0);
  assert.deepEqual(wrong, []);
});

test("hostile numbers and words", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  await page.getByRole("button", { name: "Stator core" }).click();
  await page.getByRole("button", { name: "Add it" }).click();
  await page.locator(".add [role=alert]").first().waitFor();
  for (const text of ["NaN", "Infinity", "1e309", "1e2", "--5", "-41", "301", "9".repeat(24), "0x20", "<b>1</b>", "１２", "∞", "1,2,3", "5 0 0"]) {
    await enter(page.locator(field("core_C")), text);
    await page.locator(`${field("core_C")}[aria-invalid]`).waitFor();
    await page.getByRole("button", { name: "Add it" }).click();
    await page.waitForTimeout(60);
    assert.equal(await page.locator(".readings li").count(), 0, text);
  }
  // What was read well before a slip is not what is kept under it.
  await enter(page.locator(field("core_C")), "85,5");
  await enter(page.locator(field("core_C")), "8555");
  await enter(page.locator(field("minutes")), "20");
  await page.getByRole("button", { name: "Add it" }).click();
  await page.waitForTimeout(200);
  assert.equal(await page.locator(".readings li").count(), 0, "a wrong box was passed over");
  await enter(page.locator(field("core_C")), "85,5");

  // The module's own judgement, beside the box it is about.
  await page.getByRole("button", { name: "Volts at charger" }).click();
  await enter(page.locator(field("bus_V")), "13.2");
  await enter(page.locator(field("charger_V")), "13.9");
  await page.locator(`${field("charger_V")}-wrong`, { hasText: "swapped" }).waitFor();
  await page.getByRole("button", { name: "Add it" }).click();
  await page.locator(".add .wrong", { hasText: "Not kept yet" }).waitFor();
  assert.equal(await page.locator(".readings li").count(), 0);
  await enter(page.locator(field("charger_V")), "12.9");
  await page.getByRole("button", { name: "Add it" }).click();
  await count(page, 1);
  const [row] = (await requestOf(page)).rig.observations;
  assert.deepEqual([row.core_C, row.bus_V, row.charger_V, row.minutes], [85.5, 13.2, 12.9, 20]);

  // Half a reading outlives a reload.
  await page.getByRole("button", { name: "Inlet air" }).click();
  await enter(page.locator(field("inlet_C")), "44");
  await page.reload();
  await page.locator(field("inlet_C")).waitFor();
  assert.equal(await page.locator(field("inlet_C")).inputValue(), "44");
  await page.evaluate(() => Object.keys(sessionStorage).forEach((k) => sessionStorage.setItem(k, `{"chosen":["__proto__","core_C",7],"core_C":{"a":1},"minutes":[1],"constructor":"x"}`)));
  await page.reload();
  await page.locator(field("core_C")).waitFor();
  assert.equal(await page.locator(field("core_C")).inputValue(), "");

  // A file with readings: its words are only text, and wrong ones are refused.
  await to(page, "rig");
  const file = (request) => ({ name: "a.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(request)) });
  const good = structuredClone(demoFit);
  good.rig.observations[0].at = `<img src=x onerror="document.title='x'">`;
  for (const observations of [[{ minutes: 5 }], [{ ...demoFit.rig.observations[0], core_C: "hot" }], [{ ...demoFit.rig.observations[0], core_C: 1e9 }], { a: 1 }, Array(3001).fill(demoFit.rig.observations[0])]) {
    await page.locator("#file").setInputFiles(file({ ...demoFit, rig: { ...demoFit.rig, observations } }));
    await page.locator(".note", { hasText: "Nothing was changed" }).waitFor();
    assert.equal(await page.locator(".question").count(), 0);
    assert.equal((await stored(page)).rigs.length, 1);
    await anew(page, "rig"); // the next one's message is the same
  }
  assert.equal((await stored(page, 300)).rigs.length, 1);
  const learned = (await told(demoFit)).learned;
  good.rig.learned = learned;
  await page.locator("#file").setInputFiles(file(good));
  await page.getByRole("button", { name: "Add it to mine" }).click();
  await page.locator(".note", { hasText: "Added" }).waitFor();
  const kept = await requestOf(page);
  assert.deepEqual([kept.rig.observations, kept.rig.learned], [good.rig.observations, learned]);
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save this rig as a file" }).click()]);
  const back = JSON.parse(await readFile(await saved.path(), "utf8"));
  assert.deepEqual([back.rig.observations, back.rig.learned], [good.rig.observations, learned]);
  await to(page, "measure");
  await page.locator(".readings li").first().waitFor();
  assert.equal(await page.locator("#page img").count(), 0);
  assert.deepEqual(wrong, []);
});

test("learning that takes long says so, and can be stopped; Now goes on meanwhile", async () => {
  const many = structuredClone(demoFit);
  const rows = many.rig.observations;
  many.rig.observations = Array.from({ length: 1500 }, (_, i) => ({ ...rows[i % rows.length], minutes: 5 + (i % 50) }));
  const context = await browser.newContext({ viewport: { width: 360, height: 640 } });
  // As on a slow phone: the fit begins four seconds late.
  await context.addInitScript(() => {
    const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (m, ...rest) {
      if (m?.job?.ask === "fit") setTimeout(() => post.call(this, m, ...rest), 4000);
      else post.call(this, m, ...rest);
    };
  });
  const { page, wrong } = await seeded(context, many);
  await page.getByRole("button", { name: /^Learn from 1500/ }).click();
  const busy = page.locator(".learn .busy");
  await busy.getByText(/Learning: .* the 1500 readings.* 1 s so far/).waitFor({ timeout: 20_000 });
  await busy.getByText(/ [2-9] s so far/).waitFor({ timeout: 20_000 }); // it moves
  assert.ok((await busy.locator(".past").count()) >= 2);
  assert.deepEqual(await violations(page, ".learn"), []);
  await page.getByRole("button", { name: "Stop" }).click();
  await page.locator(".learn .note", { hasText: "Stopped" }).waitFor();
  assert.equal(await page.locator(".result").count(), 0);
  await page.getByRole("button", { name: /^Learn from 1500/ }).click();
  await to(page, "now");
  await page.locator(".setting .number").waitFor();
  await page.getByRole("button", { name: "More: Air outside" }).click();
  await page.waitForTimeout(500);
  assert.deepEqual(wrong, []);
  await context.close();
});

test("Fahrenheit and miles are only how it is shown", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "measure");
  await page.getByRole("button", { name: "Stator core" }).click();
  await page.locator(".reads select.unit").selectOption("°F");
  await enter(page.locator(field("core_C")), "212");
  await enter(page.locator(field("minutes")), "30");
  await page.getByRole("button", { name: "Add it" }).click();
  await count(page, 1);
  assert.match(await page.locator(".readings .read").innerText(), /212\s°F/);
  assert.equal((await requestOf(page)).rig.observations[0].core_C, 100);
  assert.deepEqual(wrong, []);
});

// Colours do not depend on the width, nor widths on colours.
const looks = [[1280, "light"], [360, "dark"], [320, "light"]].map(([width, colorScheme]) => ({ viewport: { width, height: 640 }, colorScheme }));

test("axe, letters and widths", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const outlying = structuredClone(demoFit);
  outlying.rig.observations[1].plates_C = 290;
  const { page, wrong } = await seeded(context, outlying);
  await page.setViewportSize(looks.at(-1).viewport);
  const look = async (state) => {
    await unfold(page);
    await faultless(page, looks, state, {
      cut: "button, label, h1, h2, h3, th, td, a, .pairnums, .nudge input",
      targets: "main button, main select, main summary, main input",
    });
  };
  await page.getByRole("button", { name: "Volts at charger" }).click();
  await page.getByRole("button", { name: "Output amps" }).click();
  await enter(page.locator(field("bus_V")), "99");
  await page.getByRole("button", { name: "Add it" }).click();
  await look("an entry, with a mistake");
  await page.getByRole("button", { name: /^Learn from/ }).click();
  await page.locator(".result").waitFor();
  await look("learned");
  if (await page.getByRole("button", { name: "Use it" }).count()) {
    await page.getByRole("button", { name: "Use it" }).click();
    await look("used");
  }
  assert.deepEqual(wrong, []);
});

test("a reading and what is learned by keyboard alone", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await seeded(context, demoFit);
  const n = demoFit.rig.observations.length;
  const tabTo = async (wanted, most = 80) => {
    for (let i = 0; i < most; i++) {
      await page.keyboard.press("Tab");
      const name = await page.evaluate(() => {
        const e = document.activeElement;
        return (e.getAttribute("aria-label") ?? (e.labels?.[0] ?? e).textContent).trim();
      });
      if (wanted.test(name)) return;
    }
    assert.fail(`no ${wanted} within ${most} stops`);
  };
  await tabTo(/^Inlet air$/);
  await page.keyboard.press("Space");
  await tabTo(/^Air at the alternator's inlet/);
  await page.keyboard.type("52");
  await tabTo(/^For how long/);
  await page.keyboard.type("25");
  await tabTo(/^Add it$/);
  await page.keyboard.press("Enter");
  await count(page, n + 1);
  assert.equal(await page.evaluate(() => document.activeElement.id), "h-add");
  await tabTo(/^Learn from/);
  await page.keyboard.press("Enter");
  await page.locator(".result").waitFor();
  await page.waitForFunction(() => document.activeElement.matches(".result .verdict"));
  assert.deepEqual(wrong, []);
});
