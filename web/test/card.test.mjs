// The dash card: the page prints what the program prints, on one page.

import assert from "node:assert/strict";
import { mkdtemp, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { inflateSync } from "node:zlib";
import { begun, demo, docOf, drawn, everyLook, host, launch, serve, show, stopAll, violations, visitor, watched } from "./browser.mjs";

let browser, server, dir;
before(async () => ((server = await serve()), (browser = await launch()), (dir = await mkdtemp(join(tmpdir(), "spareamps-card-")))));
after(stopAll);

/** What stands on a card, element by element. */
const read = (page) => page.locator(".sheet").evaluate((sheet) => {
  const flat = (s) => s.replace(/[\s\u00a0]+/g, " ").replaceAll("\u2212", "-").trim();
  const all = (selector) => [...sheet.querySelectorAll(selector)].map((e) => flat(e.textContent));
  return {
    head: all(".head > *"), facts: all(".rig, .for, .caption, .sure"), cautions: all(".cautions li"),
    table: [...sheet.querySelectorAll("tr")].map((tr) => [...tr.cells].map((c) => flat(c.textContent))),
  };
});

/** The number of pages of a PDF of Chromium, and the size of each in points. */
function pagesOf(pdf) {
  let text = pdf.toString("latin1");
  // Objects may be squeezed.
  for (const m of text.matchAll(/stream\r?\n/g)) {
    try {
      text += inflateSync(pdf.subarray(m.index + m[0].length)).toString("latin1");
    } catch {
      // not squeezed that way
    }
  }
  const pages = text.match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
  return { pages, boxes: [...text.matchAll(/\/MediaBox\s*\[([^\]]*)\]/g)].map((m) => m[1].trim().split(/\s+/).map(Number)) };
}

/** One page of this paper, with letters of 9 pt and more, and nothing that runs out of it. */
async function printsOnOnePage(page, [wideMm, highMm], about) {
  const { pages, boxes } = pagesOf(await page.pdf({ preferCSSPageSize: true }));
  assert.equal(pages, 1, `pages; ${about}`);
  const [, , wide, high] = boxes.at(-1);
  assert.ok(Math.abs(wide - (wideMm / 25.4) * 72) < 2 && Math.abs(high - (highMm / 25.4) * 72) < 2, `${wide} x ${high} pt for ${wideMm} x ${highMm} mm; ${about}`);
  await page.emulateMedia({ media: "print" });
  const found = await page.locator(".sheet").evaluate((sheet) => {
    const box = sheet.getBoundingClientRect();
    const small = [], out = [];
    for (const e of [sheet, ...sheet.querySelectorAll("*")]) {
      const size = parseFloat(getComputedStyle(e).fontSize) * 0.75;
      if (e.textContent.trim() && size < 8.99) small.push(`${e.tagName} ${size} pt`);
      const range = document.createRange();
      range.selectNodeContents(e);
      const r = range.getBoundingClientRect();
      const into = /^T[DH]$/.test(e.tagName) ? e.getBoundingClientRect() : box;
      if (r.width > 0 && (r.right > into.right + 1 || r.left < into.left - 1)) out.push(e.textContent);
    }
    return { small, out, highMm: (box.height / 96) * 25.4, others: [...document.body.querySelectorAll("button, input, nav, h1")].filter((e) => e.checkVisibility() && !sheet.contains(e)).map((e) => e.textContent) };
  });
  await page.emulateMedia({ media: null });
  assert.deepEqual([found.small, found.out, found.others], [[], [], []], about);
  assert.ok(found.highMm <= highMm, `${found.highMm} mm high on ${highMm}; ${about}`);
  return found.highMm;
}

const ready = (page) => page.locator("main.card[data-ready]").waitFor();

/** The card of another rig, with what is chosen for it. */
async function change(page, doc, choice) {
  await page.evaluate((choice) => (choice ? localStorage.setItem("spareamps.card", choice) : localStorage.removeItem("spareamps.card")), choice && JSON.stringify(choice));
  await show(page, doc, "card");
  await ready(page);
}

const rigs = [
  ["labels only", { rig: { alternator: { rated_current_A: 90 } }, moment: {} }],
  ["a day's readings left out", { rig: { alternator: { rated_current_A: 150, idle_current_A: 70, idle_speed_rpm: 1500, pulley_ratio: 2.7 }, cable: { awg: "2", length_m: 4.5, insulation_C: 105 }, charger: { max_output_W: 900, step_W: 50 }, house_battery: { chemistry: "agm", capacity_Ah: 210 } },
    moment: { speed_kmh: 0, inlet_C: 71, setting_W: 200, house_battery_C: 30, minutes_since_start: 5, idle_loads_W: 420, house_loads_W: 80, house_soc: 0.35 } }],
  ["frost", { confidence: 0.8, rig: { engine: { idle_rpm: 720 }, alternator: { rated_current_A: 65 }, cable: { area_mm2: 10, length_m: 5, insulation_C: 90, fuse_A: 150 }, charger: { max_output_W: 400, step_W: 20 }, house_battery: { chemistry: "lifepo4", capacity_Ah: 100 } },
    moment: { speed_kmh: 40, altitude_m: 1800, vehicle_loads_W: 330 } }, { rpm: [800, 1500, 4200], airC: [-20, -5, 5, 52], speedKmh: 12.5, paper: "a6" }],
];

test("the page's card is the program's, word for word", async () => {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, locale: "en-GB" });
  const { page, wrong } = await watched(context, server.url);
  const plain = await context.newPage();
  await demo(page, server.url, "card");
  const day = await page.locator(".sheet time").textContent();
  assert.match(day, /^\d{4}-\d\d-\d\d$/);
  const compare = async (args, about) => {
    await plain.setContent(host(["card", "--html", "-", "-q", "--date", day, ...args]));
    assert.deepEqual(await read(page), await read(plain), about);
  };
  await ready(page);
  await compare(["--name", "Canal pickup, demo"], "demo");
  for (const [name, request, choice] of rigs) {
    await change(page, docOf(request, name), choice);
    const file = join(dir, "rig.json");
    await writeFile(file, JSON.stringify(request));
    const chosen = choice ? ["--engine-rpm", choice.rpm.join(","), "--ambient-C=" + choice.airC.join(","), "--speed-kmh", String(choice.speedKmh)] : [];
    await compare(["--rig", file, "--name", name, ...chosen], JSON.stringify(request));
    await printsOnOnePage(page, choice ? [105, 148] : [148, 210], name);
  }
  // Below freezing a LiFePO4 battery takes nothing, and the card says off.
  const { table } = await read(page);
  assert.deepEqual(table.slice(1).map((row) => row.slice(1, 3)), Array(3).fill(["off", "off"]));
  assert.deepEqual(wrong, []);
  await context.close();
});

test("rows, columns, road speed and page are chosen, remembered and judged", async () => {
  const context = await browser.newContext({ viewport: { width: 360, height: 640 }, locale: "de-DE" });
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "card");
  const type = async (id, text) => {
    await page.locator(id).fill(text);
    await page.locator(id).press("Enter");
  };
  await ready(page);
  await type("#card-rpm", "2000 1000; 1000, 1500");
  await type("#card-air", "-5 45");
  await type("#card-speed", "22,5");
  await page.locator("#card-paper").selectOption("a6");
  await page.locator(".sheet .for", { hasText: "22,5" }).waitFor();
  const { table } = await read(page);
  assert.deepEqual([table[0], table.slice(1).map((row) => row[0])], [["rpm, °C", "-5", "45"], ["1000", "1500", "2000"]]);
  for (const bad of ["1,5 x", "1 2 3 4 5 6 7 8", "9000", "1500.5"]) {
    await type("#card-rpm", bad);
    await page.locator("#card-rpm-wrong").waitFor();
    assert.equal((await read(page)).table.length, 4, bad);
    await page.locator("#card-rpm").press("Escape");
  }
  await page.reload();
  await ready(page);
  assert.equal(await page.locator("#card-rpm").inputValue(), "1000, 1500, 2000");
  await printsOnOnePage(page, [105, 148], "chosen");
  await type("#card-rpm", "");
  await page.waitForFunction(() => document.querySelectorAll(".sheet tbody tr").length === 7);
  await page.evaluate(() => (window.print = () => (window.printed = true)));
  await page.getByRole("button", { name: "Print the card" }).click();
  assert.equal(await page.evaluate(() => window.printed), true);
  // Garbage in the store is no card's end.
  await page.evaluate(() => localStorage.setItem("spareamps.card", '{"rpm":["x"],"airC":[1e9],"speedKmh":-1,"paper":"poster"}'));
  await page.reload();
  await ready(page);
  assert.equal((await read(page)).table.length, 8);
  assert.deepEqual(wrong, []);
  await context.close();
});

const looks = (widths, ...colours) => widths.flatMap((width) => colours.map((colorScheme) => ({ viewport: { width, height: 640 }, colorScheme })));

test("a full list of speeds or airs is seen whole while it is typed", async () => {
  const context = await visitor(browser, {});
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url, "card");
  const cut = (id) => page.locator(id).evaluate((e) => (e.scrollWidth > e.clientWidth || e.scrollHeight > e.clientHeight ? `${e.scrollWidth}x${e.scrollHeight} in ${e.clientWidth}x${e.clientHeight}: ${e.value}` : ""));
  await everyLook(page, looks([320, 360, 1280], "light"), async (look) => {
    for (const [id, text] of [["#card-rpm", ""], ["#card-rpm", "1000, 1200, 1400, 1800, 2200, 2800, 3400"], ["#card-air", ""], ["#card-air", "-40, -30, -20, -10, -5, 50"]]) {
      await page.locator(id).fill(text);
      await page.locator(id).press("Enter");
      await drawn(page);
      assert.equal(await cut(id), "", look);
      assert.ok(!(await page.locator(id).inputValue()).includes("\n"));
    }
  });
  assert.deepEqual(wrong, []);
});

test("the fullest card fits one page, in every unit, of the page and of the program", async (t) => {
  const request = { rig: { alternator: { rated_current_A: 320.5, idle_current_A: 220, pulley_ratio: 2.65 }, cable: { awg: "4/0", length_m: 2.25, fuse_A: 350.5, insulation_C: 105 },
    charger: { max_output_W: 1200.5, step_W: 10 }, house_battery: { chemistry: "flooded", capacity_Ah: 1200.5 } },
    moment: { vehicle_loads_W: 10.5, idle_loads_W: 10.5, house_loads_W: 100.5, altitude_m: 4500, house_soc: 0.455 } };
  const choice = { rpm: [850, 900, 1000, 2000, 3000, 4000, 5000], airC: [-20, -15, -10, 0, 10, 55], speedKmh: 112.55, paper: "a6" };
  const name = "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW";
  const context = await browser.newContext({ viewport: { width: 360, height: 640 }, colorScheme: "dark" });
  const { page } = await begun(context, server.url, docOf(request, name), "card");
  const highs = [];
  for (const paper of ["a5", "a6"]) {
    for (const units of [{}, { temperature: "°F", speed: "mph", length: "ft" }]) {
      await change(page, { ...docOf(request, name), units }, { ...choice, paper });
      const size = paper === "a5" ? [148, 210] : [105, 148];
      highs.push(Math.round(await printsOnOnePage(page, size, paper + JSON.stringify(units))) + " mm");
    }
  }
  const file = join(dir, "full.json");
  await writeFile(file, JSON.stringify(request));
  for (const [paper, size] of [["A5", [148, 210]], ["A6", [105, 148]]]) {
    const out = join(dir, paper + ".html");
    host(["card", "--rig", file, "--name", name, "--paper", paper, "--engine-rpm", choice.rpm.join(","), "--ambient-C=" + choice.airC.join(","), "--speed-kmh", "112.55", "--html", out, "-q"]);
    await page.goto("file://" + out);
    highs.push(Math.round(await printsOnOnePage(page, size, "program, " + paper)) + " mm");
  }
  t.diagnostic(`heights of the fullest card: ${highs.join(", ")}`);
  await context.close();
});

test("axe finds nothing, light and dark", async () => {
  const context = await visitor(browser, {});
  const { page } = await watched(context, server.url);
  await demo(page, server.url, "card");
  await ready(page);
  await everyLook(page, looks([360], "light", "dark"), async (look) => {
    assert.deepEqual(await violations(page), [], look);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360, "runs over the width");
  });
});

test("a rig without an answer gets no card, but what is missing", async () => {
  const context = await visitor(browser, {});
  const { page } = await begun(context, server.url, docOf({ rig: {} }, "empty"), "card");
  await page.locator(".problems").waitFor();
  assert.equal(await page.locator(".sheet").count(), 0);
  assert.ok(await page.getByRole("button", { name: "Print the card" }).isDisabled());
});
