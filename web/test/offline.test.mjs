// With no signal: after one visit, in a new tab, under a sub-path, over an update.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtemp, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { demo, host, launch, launchIn, plainHost, readyOffline, serve, stopAll, watched, violations } from "./browser.mjs";

let browser;
before(async () => (browser = await launch()));
after(stopAll);

const answer = (page) => page.locator(".setting .number").textContent();

test("after the first visit it answers with the server gone, on reload and in a new tab", async () => {
  const server = await serve();
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url);
  const first = await answer(page);
  await readyOffline(page);
  await server.stop();

  await page.reload();
  await page.locator(".setting .number").waitFor();
  assert.equal(await answer(page), first);
  await page.getByRole("button", { name: "More: Air outside" }).click();
  await page.locator(".curve svg").waitFor();

  const second = await watched(context, server.url);
  await second.page.goto(server.url + "#rig");
  await second.page.locator(".strip b").first().waitFor();
  await readyOffline(second.page);
  assert.deepEqual([...wrong, ...second.wrong], []);
  await context.close();
});

test("below a path of a plain host, as exported", async () => {
  const dir = await mkdtemp(join(tmpdir(), "spareamps-site-"));
  host(["export", join(dir, "site"), "--quiet"]);
  const server = await plainHost(join(dir, "site"), "/some/where/");
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url);
  await readyOffline(page);
  await server.stop();
  await page.reload();
  await page.locator(".setting .number").waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
});

test("a file that is not the one built is never called ready", async () => {
  const dir = await mkdtemp(join(tmpdir(), "spareamps-site-"));
  host(["export", join(dir, "site"), "--quiet"]);
  await writeFile(join(dir, "site", "icon.svg"), "<svg xmlns='http://www.w3.org/2000/svg'/>");
  const server = await plainHost(join(dir, "site"));
  const context = await browser.newContext();
  const { page } = await watched(context, server.url);
  await demo(page, server.url);
  await page.waitForTimeout(1500);
  assert.equal(await page.locator(".status", { hasText: "Ready offline" }).count(), 0);
  await context.close();
  await server.stop();
});

test("an update is offered, not while typing, and keeps what was entered", async () => {
  const dir = await mkdtemp(join(tmpdir(), "spareamps-site-"));
  for (const label of ["older", "newer"]) {
    execFileSync("node", ["build.mjs", "--plain", "--label", label, "--module", process.env.SPAREAMPS_MODULE, "--out", join(dir, label)]);
  }
  const server = await plainHost(join(dir, "older"));
  const context = await browser.newContext();
  const { page, wrong } = await watched(context, server.url);
  await demo(page, server.url);
  await readyOffline(page);
  assert.equal(await page.evaluate(() => document.documentElement.dataset.build), "older");
  await page.locator("#nudge-moment-ambient_C").fill("41,5");

  server.swap(join(dir, "newer"));
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update());
  await page.waitForFunction(async () => (await navigator.serviceWorker.getRegistration()).waiting !== null);
  await page.waitForTimeout(300);
  const offer = page.getByRole("button", { name: "Use it now" });
  assert.equal(await offer.count(), 0, "offered in mid-edit");
  assert.equal(await page.locator("#nudge-moment-ambient_C").inputValue(), "41,5", "what was being typed");

  await page.locator("#nudge-moment-ambient_C").press("Enter");
  await page.locator("#nudge-moment-ambient_C").blur();
  await offer.click();
  await page.waitForFunction(() => document.documentElement.dataset.build === "newer");
  await page.locator(".setting .number").waitFor();
  assert.equal(await page.locator("#nudge-moment-ambient_C").inputValue(), "41.5");
  await readyOffline(page);
  await server.stop();
  await page.reload();
  await page.locator(".setting .number").waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.dataset.build), "newer");
  assert.deepEqual(wrong, []);
  await context.close();
});

test("site data purged: the file saved before brings the rig back", async () => {
  const server = await serve();
  const context = await browser.newContext({ acceptDownloads: true });
  const { page } = await watched(context, server.url);
  await demo(page, server.url, "rig");
  await page.locator("#in-rig-alternator-rated_current_A").fill("95");
  await page.locator("#in-rig-alternator-rated_current_A").press("Enter");
  await page.locator("#rig-name").fill("Gauging crew 2");
  await page.locator("#rig-name").press("Tab");
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save all rigs as a file" }).click()]);
  const file = join(await mkdtemp(join(tmpdir(), "spareamps-file-")), "all.json");
  await saved.saveAs(file);
  const [one] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save this rig as a file" }).click()]);
  assert.equal(one.suggestedFilename(), "gauging-crew-2.spareamps.json");
  const request = join(tmpdir(), `spareamps-${process.pid}.json`);
  await one.saveAs(request);

  await page.evaluate(() => localStorage.clear());
  await page.goto("about:blank");
  await page.goto(server.url);
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.locator("nav.screens a", { hasText: "Rig" }).click();
  await page.locator("#file").setInputFiles(file);
  await page.getByRole("button", { name: "Add it to mine" }).click();
  assert.equal(await page.locator("#rig-name").inputValue(), "Gauging crew 2");
  assert.equal(await page.locator("#in-rig-alternator-rated_current_A").inputValue(), "95");
  const strip = await page.locator(".strip b").first().textContent();
  assert.match(host(["ceiling", "--rig", request]).split("\n")[0], new RegExp(`to ${strip} or less`));
  await context.close();
  await server.stop();
});

test("the browser would keep it as an app, and the page offers that", async () => {
  const server = await serve();
  const context = await launchIn(await mkdtemp(join(tmpdir(), "spareamps-profile-")), 0); // a private window keeps no apps
  const { page, wrong } = await watched(context, server.url);
  await page.setViewportSize({ width: 360, height: 640 });
  await page.addInitScript(() => addEventListener("beforeinstallprompt", (e) => (e.prompt = async () => (window.prompted = (window.prompted ?? 0) + 1))));
  await demo(page, server.url);
  await readyOffline(page);
  const session = await context.newCDPSession(page);
  const { installabilityErrors } = await session.send("Page.getInstallabilityErrors");
  assert.deepEqual(installabilityErrors, []);
  const manifest = await session.send("Page.getAppManifest");
  assert.deepEqual([manifest.errors, manifest.url], [[], new URL("app.webmanifest", server.url).href]);
  for (const icon of JSON.parse(manifest.data).icons) assert.equal((await fetch(new URL(icon.src, manifest.url))).status, 200, icon.src);

  const to = (screen) => page.locator("nav.screens a", { hasText: new RegExp("^" + screen + "$", "i") }).click();
  const offer = page.locator(".message", { hasText: "kept on the home screen" });
  assert.equal(await offer.count(), 0, "nothing moves under a finger");
  await to("rig");
  await offer.waitFor();
  for (const colorScheme of ["dark", "light"]) {
    await page.emulateMedia({ colorScheme });
    assert.deepEqual(await violations(page), [], colorScheme);
  }
  assert.deepEqual(await offer.locator("button").evaluateAll((list) => list.filter((b) => b.offsetHeight < 44).map((b) => b.textContent)), []);
  // Declined it stays away; under "Keep, move, share" it can still be had.
  await offer.getByRole("button", { name: "Not now" }).click();
  await to("now");
  await to("rig");
  assert.equal(await offer.count(), 0);
  // After a reload the browser says it early, before there is a solver.
  await page.reload();
  await readyOffline(page);
  await to("rig");
  assert.equal(await offer.count(), 0, "declined for good");
  await page.evaluate(() => localStorage.removeItem("spareamps.install"));
  await to("now");
  await to("rig");
  await offer.getByRole("button", { name: "Keep as an app" }).click();
  await page.waitForFunction(() => window.prompted === 1);
  assert.equal(await page.getByRole("button", { name: "Keep as an app" }).count(), 0);
  assert.deepEqual(wrong, []);
  await context.close();
  await server.stop();
});
