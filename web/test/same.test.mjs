// The page prints what the program prints, to the last digit, for many rigs and
// moments.

import assert from "node:assert/strict";
import { mkdtemp, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { begun, docOf, host, launch, serve, show, stopAll, watched } from "./browser.mjs";

let browser, server;
before(async () => ((server = await serve()), (browser = await launch())));
after(stopAll);

// A fixed series, so that a failure can be had again.
let seed = 20260724;
const chance = () => ((seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0), seed / 2 ** 32);
const between = (a, b, digits = 0) => Number((a + (b - a) * chance()).toFixed(digits));
const maybe = (part, share = 0.6) => (chance() < share ? part : {});

function drawn() {
  const rated = between(50, 220);
  const rig = {
    alternator: { rated_current_A: rated, ...maybe({ idle_current_A: Math.round(rated * between(0.35, 0.55, 2)) }), ...maybe({ pulley_ratio: between(2.1, 3.2, 2) }), ...maybe({ fouling: between(0, 0.4, 2) }) },
    ...maybe({ cable: { area_mm2: between(6, 70), length_m: between(1, 9, 1), fuse_A: between(30, 150), insulation_C: 105 } }, 0.8),
    ...maybe({ charger: { max_output_W: between(200, 1200), step_W: [10, 20, 50][Math.floor(chance() * 3)], ...maybe({ max_input_A: between(30, 100) }) } }, 0.8),
    ...maybe({ house_battery: { chemistry: ["lifepo4", "agm", "flooded"][Math.floor(chance() * 3)], capacity_Ah: between(60, 400) } }, 0.8),
  };
  const moment = {
    engine_rpm: between(800, 2800), speed_kmh: between(0, 60), ambient_C: between(-5, 46), ...maybe({ altitude_m: between(0, 2400) }),
    ...maybe({ vehicle_loads_W: between(150, 700) }), ...maybe({ setting_W: between(50, 600) }, 0.4), ...maybe({ house_soc: between(0.2, 0.95, 2) }, 0.4),
  };
  return { rig, moment };
}

test("twenty rigs and moments", async () => {
  const dir = await mkdtemp(join(tmpdir(), "spareamps-same-"));
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, locale: "en-GB" });
  const requests = Array.from({ length: 20 }, drawn);
  const { page, wrong } = await begun(context, server.url, docOf(requests[0]), "now");
  for (const [i, request] of requests.entries()) {
    const file = join(dir, `${i}.json`);
    await writeFile(file, JSON.stringify(request));
    const text = host(["ceiling", "--rig", file]);
    await show(page, docOf(request), "now");
    // Some as they are found when the page is opened, which shows what it remembers before the module has started.
    if (i % 5 === 0) await page.reload();
    await page.locator(".why").waitFor();

    const about = `request ${JSON.stringify(request)}`;
    // First lines: the setting and what sets it, word for word.
    const lines = text.split("\n");
    const setting = /^Set the charger to (\d+) W or less: ([\d.]+) A out/.exec(lines[0]);
    const shown = await page.locator(".setting").innerText();
    if (setting) {
      assert.equal(await page.locator(".setting .number").innerText(), setting[1], about);
      assert.equal(await page.locator(".setting .also b").innerText(), `${setting[2]} A`, about);
    } else {
      assert.match(lines[0], /off/, about);
      assert.match(shown, /Off/, about);
    }
    // The program wraps its text at the terminal's width.
    const flat = text.replace(/\s+/g, " ");
    const because = (await page.locator(".because p").first().innerText()).trim();
    assert.ok(flat.includes(because), `${because} is not in ${flat.slice(0, 400)}; ${about}`);

    // The ladder: every bar's two figures.
    const rungs = await page.locator(".rung").evaluateAll((list) => list.map((li) => {
      const figures = [...li.querySelectorAll(".nums > span")].map((s) => [...s.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data).join("").trim());
      return [li.dataset.limit.replaceAll("_", " "), ...figures];
    }));
    const printed = lines.map((l) => /^[► ] ([a-z ]+?) +[█░│► ]*? +([\d.]+) +([\d.]+|never)$/.exec(l)).filter(Boolean).map((m) => [m[1], m[2], m[3]]);
    assert.ok(printed.length >= 3, text);
    assert.deepEqual(rungs.filter((r) => r[0] !== "after idle"), printed, about);

    // The heat at the ceiling.
    const heat = await page.locator("section[aria-labelledby=h-heat] tbody tr").evaluateAll((rows) => rows.map((tr) => [...tr.cells].slice(1).map((c) => c.textContent.replace(" °C", "").replace("–", "-").replace("−", "-"))));
    const told = lines.map((l) => /^ {2}(?:stator winding, mean|rotor winding, mean|rectifier junction|stator core|air at the inlet) +(-?\d+|-) +(-?\d+|-) +(\d+|-)$/.exec(l)).filter(Boolean).map((m) => m.slice(1, 4));
    assert.deepEqual(heat, told, about);
  }
  assert.deepEqual(wrong, []);
  await context.close();
});

test("comma or point, and the phone's own decimal sign", async () => {
  const context = await browser.newContext({ locale: "de-DE" });
  const { page } = await watched(context, server.url);
  await page.goto(server.url);
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.locator(".rung").first().waitFor();
  assert.match(await page.locator(".rung[data-limit=stator_winding]").innerText(), /40,3/);
  for (const typed of ["36,5", "36.5", " 36,5 "]) {
    await page.locator("#nudge-moment-ambient_C").fill(typed);
    await page.locator("#nudge-moment-ambient_C").press("Enter");
    await page.waitForFunction(() => JSON.parse(localStorage.spareamps).rigs[0].request.moment.ambient_C === 36.5);
    await page.locator("#nudge-moment-ambient_C").fill("30");
    await page.locator("#nudge-moment-ambient_C").press("Enter");
    await page.waitForFunction(() => JSON.parse(localStorage.spareamps).rigs[0].request.moment.ambient_C === 30);
  }
  await context.close();
});
