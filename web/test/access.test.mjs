// axe finds nothing on any screen, light or dark; nothing is cut or runs over;
// letters are large and targets too; the main job goes by keyboard alone.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { demo, faultless, launch, serve, stopAll, stored, unfold, visitor, watched } from "./browser.mjs";

let browser, server;
before(async () => ((server = await serve()), (browser = await launch())));
after(stopAll);

const to = (page, screen) => page.locator("nav.screens a", { hasText: new RegExp("^" + screen + "$", "i") }).click();

/** Every state of the page that looks different, by name. */
async function* states(page) {
  await page.goto(server.url);
  await page.locator(".welcome").waitFor();
  yield "welcome";
  await demo(page, server.url);
  await page.locator(".curve svg").waitFor();
  await unfold(page);
  yield "now";
  for (let i = 0; i < 30; i++) await page.getByRole("button", { name: "More: Set now" }).click();
  await page.locator(".verdict").waitFor();
  yield "now, too much set";
  await page.getByRole("button", { name: /compare/i }).click();
  await page.waitForFunction(() => [...document.querySelectorAll(".side .number")].filter((e) => /\d|Off/.test(e.textContent)).length === 2);
  yield "now, what if";
  for (const [screen, filled] of Object.entries({ day: ".facts", card: ".sheet", measure: ".add", rig: ".strip b" })) {
    await to(page, screen);
    await page.locator(`main.${screen} ${filled}`).first().waitFor();
    await unfold(page);
    yield screen;
  }
  await page.locator("#in-rig-alternator-rated_current_A").fill("9999");
  await page.locator("#in-rig-alternator-rated_current_A").press("Enter");
  await page.getByRole("button", { name: "Share as a link" }).click();
  await page.locator(".qr").waitFor();
  yield "rig, a mistake and a link";
  await page.getByRole("button", { name: "+ New rig" }).click();
  await page.locator(".strip", { hasText: "Still needed" }).waitFor();
  yield "rig, new";
  await to(page, "now");
  await page.locator(".problems").waitFor();
  yield "now, no answer";
}

// Driven at the width that comes last, the narrowest.
const phone = { width: 360, height: 640 };
const looks = [
  { viewport: phone, colorScheme: "light" },
  { viewport: phone, colorScheme: "dark" },
  { viewport: { width: 1280, height: 800 }, colorScheme: "light" },
  { viewport: { width: 640, height: 400 }, colorScheme: "dark" }, // 1280 x 800 at 200 %
  { viewport: { width: 320, height: 568 }, colorScheme: "light" },
];

test("every state at every width and colour", async () => {
  const context = await browser.newContext({ viewport: looks.at(-1).viewport, reducedMotion: "reduce" });
  const { page, wrong } = await watched(context, server.url);
  for await (const state of states(page)) {
    await faultless(page, looks, state, {
      cut: "button, label, h1, h2, th, td, a, .nums, .number, .nudge input",
      targets: ":root:has(main.now) :is(button, select, summary, a, input:not([type=file]):not([type=range]))",
    });
  }
  assert.deepEqual(wrong, []);
  await context.close();
});

test("from first visit to a setting for one's own vehicle by keyboard alone, in under two minutes", async () => {
  const began = Date.now();
  const context = await browser.newContext({ viewport: { width: 360, height: 640 } });
  const { page, wrong } = await watched(context, server.url);
  await page.goto(server.url);
  await page.locator(".welcome").waitFor();
  const focused = () => page.evaluate(() => {
    const e = document.activeElement;
    const outline = getComputedStyle(e);
    return { name: e.getAttribute("aria-label") ?? (e.labels?.[0] ?? e).textContent.trim(), id: e.id, ring: parseFloat(outline.outlineWidth) > 0 && outline.outlineStyle !== "none" };
  });
  const tabTo = async (wanted, most = 60) => {
    for (let i = 0; i < most; i++) {
      await page.keyboard.press("Tab");
      const at = await focused();
      if (typeof wanted === "string" ? at.id === wanted : wanted.test(at.name)) {
        assert.ok(at.ring, `no focus ring on ${at.name}`);
        return;
      }
    }
    assert.fail(`no ${wanted} within ${most} stops`);
  };
  await tabTo(/^Describe my rig$/);
  await page.keyboard.press("Enter");
  await page.locator("main.rig").waitFor();
  await tabTo("in-rig-alternator-rated_current_A");
  await page.keyboard.type("120");
  await tabTo("in-rig-alternator-idle_current_A");
  await page.keyboard.type("60");
  await tabTo("in-rig-alternator-pulley_ratio");
  await page.keyboard.type("2.6");
  await page.keyboard.press("Tab");
  await page.locator(".strip b").first().waitFor();
  await tabTo(/^\+ Add: The charger/, 80);
  await page.keyboard.press("Enter");
  await tabTo("in-rig-charger-max_output_W", 80);
  await page.keyboard.type("500");
  await page.keyboard.press("Enter");
  await tabTo(/^Now$/, 200);
  await page.keyboard.press("Enter");
  await page.locator(".setting .number").waitFor();
  await tabTo("nudge-moment-vehicle_loads_W");
  await page.keyboard.type("300");
  await page.keyboard.press("Enter");
  await page.locator(".setting .number", { hasText: /^\d+$/ }).waitFor();
  const first = Number(await page.locator(".setting .number").textContent());
  assert.ok(first > 0 && first <= 500, `set ${first} W`);
  for (let i = 0; i < 40; i++) await page.keyboard.press("Shift+Tab");
  await tabTo("nudge-moment-ambient_C", 200);
  for (let i = 0; i < 25; i++) await page.keyboard.press("ArrowUp");
  await page.waitForTimeout(300);
  const hotter = await page.locator(".setting .number").textContent();
  assert.ok(hotter === "Off" || Number(hotter) < first, `${hotter} W when hotter, ${first} W before`);
  await tabTo(/^Less: Engine$/);
  await page.keyboard.press("Space");
  assert.ok(Date.now() - began < 120_000);
  assert.deepEqual(wrong, []);
  await context.close();
});

test("undo takes nudges back, and survives no reload by design; what was entered does", async () => {
  const context = await visitor(browser, { viewport: { width: 1280, height: 800 } });
  const { page } = await watched(context, server.url);
  await demo(page, server.url);
  const box = page.locator("#nudge-moment-ambient_C");
  // Close upon each other they are one step back.
  await page.getByRole("button", { name: "More: Air outside" }).evaluate((b) => (b.click(), b.click(), b.click()));
  await page.waitForFunction(() => document.querySelector("#nudge-moment-ambient_C").value === "39");
  await page.getByRole("button", { name: "Undo" }).click();
  await page.waitForFunction(() => document.querySelector("#nudge-moment-ambient_C").value === "36");
  await page.getByRole("button", { name: "Less: Air outside" }).click();
  await page.reload();
  await box.waitFor();
  assert.equal(await box.inputValue(), "35");
});

test("units are remembered, and answers do not depend on them", async () => {
  const context = await visitor(browser, { viewport: { width: 1280, height: 800 } });
  const { page } = await watched(context, server.url);
  await demo(page, server.url);
  const before = await page.locator(".setting").innerText();
  await page.evaluate(() => {
    const doc = JSON.parse(localStorage.spareamps);
    doc.units = { temperature: "°F", speed: "mph", length: "ft", area: "AWG" };
    localStorage.spareamps = JSON.stringify(doc);
  });
  await page.reload();
  await page.locator(".setting").waitFor();
  assert.equal(await page.locator(".setting").innerText(), before);
  assert.equal(await page.locator("#nudge-moment-ambient_C").inputValue(), "96.8");
  await page.getByRole("button", { name: "More: Air outside" }).click();
  assert.equal(await page.locator("#nudge-moment-ambient_C").inputValue(), "98");
  await to(page, "rig");
  assert.equal(await page.locator("#in-rig-cable-length_m").inputValue(), "19.685");
  await page.locator("#in-rig-cable-length_m").fill("20");
  await page.locator("#in-rig-cable-length_m").press("Enter");
  assert.equal(await page.locator("#in-rig-cable-length_m").inputValue(), "20");
  await page.locator("#in-rig-cable-awg").selectOption("4");
  const { cable } = JSON.parse(await stored(page)).rigs[0].request.rig;
  assert.equal(cable.awg, "4");
  assert.equal("area_mm2" in cable, false);
  assert.ok(Math.abs(cable.length_m - 6.096) < 1e-9, `${cable.length_m} m`);
});
