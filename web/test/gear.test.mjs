// Engine speed by gear: the module's formula, remembered, following the speed.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, test } from "node:test";
import { load } from "../../wasm/spareamps.mjs";
import { demo, host, launch, serve, stopAll, stored, violations, visitor, watched } from "./browser.mjs";

let browser, server, solver;
before(async () => {
  solver = await load(await WebAssembly.compile(await readFile(process.env.SPAREAMPS_MODULE)));
  server = await serve();
  browser = await launch();
});
after(stopAll);

const TYRE_M = 0.73;
const RATIOS = [38.9, 21.4, 12.9];
const IDLE_RPM = 850; // of the demo
const rpmAt = (kmh, gear) => Math.max(IDLE_RPM, Math.round(solver.quantity("engine_rpm", kmh, RATIOS[gear], TYRE_M)));

const engine = (page) => page.locator("#nudge-moment-engine_rpm");
const button = (page, n) => page.locator(".gears button", { hasText: `Gear ${n}` });
const until = (page, id, value) => page.waitForFunction(([id, v]) => document.getElementById(id).value === v, [id, String(value)]);
const enter = async (page, id, text) => {
  await page.locator("#" + id).fill(text);
  await page.locator("#" + id).press("Enter");
};

async function withGears(page) {
  await demo(page, server.url);
  assert.equal(await page.locator(".gears").count(), 0, "nothing to pick before there are gears");
  await page.locator("summary", { hasText: "Engine speed by gear" }).click();
  await enter(page, "in-rig-engine-tyre_diameter_m", "0,73");
  for (const [i, ratio] of RATIOS.entries()) await enter(page, `in-gear-${i + 1}`, String(ratio).replace(".", ","));
  await button(page, 3).waitFor();
  await page.waitForFunction(() => !document.querySelector(".gears button").disabled);
}

test("a gear sets the engine speed by the module's formula, and keeps to the road speed", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await withGears(page);
  for (const i of [0, 1, 2]) assert.equal(await button(page, i + 1).innerText().then((t) => t.replace(/\s+/g, " ")), `Gear ${i + 1} ${rpmAt(15, i)} rpm`);

  await button(page, 2).click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(15, 1));
  const asked = JSON.parse(await stored(page)).rigs[0].request.moment;
  assert.equal(asked.engine_rpm, rpmAt(15, 1));
  await page.getByRole("button", { name: "More: Speed" }).click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(20, 1));
  assert.equal(await button(page, 2).getAttribute("aria-pressed"), "true");

  // Standing in gear the engine idles, and the gear is not lost.
  await enter(page, "nudge-moment-speed_kmh", "0");
  await until(page, "nudge-moment-engine_rpm", IDLE_RPM);
  await enter(page, "nudge-moment-speed_kmh", "30");
  await until(page, "nudge-moment-engine_rpm", rpmAt(30, 1));

  // An engine cannot turn as fast as this gear would need.
  await enter(page, "nudge-moment-speed_kmh", "45");
  await until(page, "nudge-moment-engine_rpm", rpmAt(45, 1));
  assert.ok(await button(page, 1).isDisabled());
  assert.match(await button(page, 1).innerText(), /too fast/);

  // By hand the engine is out of gear, and the speed no longer moves it.
  await enter(page, "nudge-moment-engine_rpm", "1500");
  await enter(page, "nudge-moment-speed_kmh", "20");
  await until(page, "nudge-moment-speed_kmh", 20);
  assert.equal(await engine(page).inputValue(), "1500");
  assert.equal(await page.locator(".gears [aria-pressed=true]").count(), 0);
  assert.deepEqual(wrong, []);
});

test("gears are remembered, each moment has its own, an emptied one is gone", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await withGears(page);
  await button(page, 3).click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(15, 2));
  await stored(page);
  await page.reload();
  await button(page, 3).waitFor();
  await page.waitForFunction(() => document.querySelector(".gears [aria-pressed=true]"));
  assert.equal(await button(page, 3).getAttribute("aria-pressed"), "true");

  await page.getByRole("button", { name: /compare/i }).click();
  await page.locator(".side").first().waitFor();
  await button(page, 1).click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(15, 0));
  await page.locator(".side").first().click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(15, 2));
  assert.equal(await button(page, 3).getAttribute("aria-pressed"), "true");

  await page.locator("summary", { hasText: "Engine speed by gear" }).click();
  await enter(page, "in-gear-2", "301");
  await page.locator(".wrong", { hasText: "Between 1 and 300" }).waitFor();
  assert.deepEqual(await violations(page), []);
  await enter(page, "in-gear-2", "");
  await page.waitForFunction(() => document.querySelectorAll(".gears button").length === 2);
  const small = await page.evaluate(() => [...document.querySelectorAll(".gears button, .gearbox input")].map((e) => e.getBoundingClientRect()).filter((r) => r.height < 44 || r.width < 44).length);
  assert.equal(small, 0, "targets");
  const kept = JSON.parse(await stored(page)).rigs[0].gears;
  assert.deepEqual(kept, [38.9, 12.9]);
  assert.deepEqual(wrong, []);
});

test("gears travel with a rig: in its file, in a link, in the file of all", async () => {
  const context = await visitor(browser, { viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await withGears(page);
  await button(page, 2).click();
  await until(page, "nudge-moment-engine_rpm", rpmAt(15, 1));
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  const saved = async (name) => {
    const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name }).click()]);
    return file.path();
  };
  const [one, all] = [await saved("Save this rig as a file"), await saved("Save all rigs as a file")];
  await page.getByRole("button", { name: "Share as a link" }).click();
  const link = await page.locator(".link input").inputValue();

  // The program reads the file as it stands.
  assert.equal(JSON.parse(host(["ceiling", "--print-request", "-q", "--rig", one])).moment.engine_rpm, rpmAt(15, 1));

  const arrives = async (n) => {
    await page.getByRole("button", { name: "Add it to mine" }).click();
    await page.waitForFunction((n) => JSON.parse(localStorage.spareamps).rigs.length === n, n);
    const rig = await page.evaluate(() => JSON.parse(localStorage.spareamps).rigs.at(-1));
    assert.deepEqual([rig.gears, rig.gear.now], [RATIOS, 1]);
    await page.locator("nav.screens a", { hasText: "Now" }).click();
    await page.waitForFunction(() => document.querySelector(".gears [aria-pressed=true]")?.textContent.includes("Gear 2"));
    await page.locator("nav.screens a", { hasText: "Rig" }).click();
  };
  for (const [i, file] of [one, all].entries()) {
    await page.locator("#file").setInputFiles(file);
    await arrives(i + 2);
  }
  await page.goto("about:blank");
  await page.goto(link);
  await arrives(4);
  assert.deepEqual(wrong, []);
});
