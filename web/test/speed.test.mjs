// How fast a nudge is answered at a sixth of this machine's speed, how much
// script is sent, how soon the page is of use.

import assert from "node:assert/strict";
import { mkdtemp, readdir, readFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { gzipSync } from "node:zlib";
import { demo, host, launch, readyOffline, serve, stopAll, watched } from "./browser.mjs";

let browser, server;
before(async () => ((server = await serve()), (browser = await launch())));
after(stopAll);

const quantile = (list, q) => list.toSorted((a, b) => a - b)[Math.min(list.length - 1, Math.floor(q * list.length))];

// Times are told beside their budgets, not judged: they are this machine's.
const told = (t, what, ms, budget) => t.diagnostic(`${what}: ${ms.toFixed(1)} ms, budget ${budget} ms ${ms <= budget ? "met" : "missed"}`);

test("a nudge at a sixth of the speed, budgets 100 ms to paint and 16 to answer", async (t) => {
  const context = await browser.newContext({ viewport: { width: 360, height: 640 } });
  const { page } = await watched(context, server.url);
  await demo(page, server.url);
  await page.locator(".curve svg").waitFor();
  await readyOffline(page);
  const session = await context.newCDPSession(page);
  const warm = (n) => page.evaluate(async (n) => {
    const times = [];
    const main = document.querySelector("main.now");
    const [more, less] = [...document.querySelectorAll(".nudge")][0].querySelectorAll("button");
    for (let i = 0; i < n; i++) {
      const before = main.dataset.answer;
      const from = performance.now();
      (i % 14 < 7 ? less : more).click();
      await new Promise((done) => {
        const watch = new MutationObserver(() => {
          if (main.dataset.answer === before) return;
          watch.disconnect();
          // Painted: a frame begins, and the task behind it runs after it.
          requestAnimationFrame(() => {
            const line = new MessageChannel();
            line.port1.onmessage = done;
            line.port2.postMessage(null);
          });
        });
        watch.observe(main, { attributes: true, attributeFilter: ["data-answer"] });
      });
      times.push(performance.now() - from);
      await new Promise((done) => setTimeout(done, 130));
    }
    return { times, answers: performance.getEntriesByName("answer").slice(-n).map((e) => e.duration) };
  }, n);
  await warm(20);
  await page.evaluate(() => performance.clearMeasures());
  const plain = await warm(30);
  await session.send("Emulation.setCPUThrottlingRate", { rate: 6 });
  await page.evaluate(() => performance.clearMeasures());
  const slow = await warm(60);
  const [painted, unthrottled] = [quantile(slow.times, 0.95), quantile(plain.times, 0.95)];
  const answer = quantile(plain.answers, 0.5);
  t.diagnostic(`nudge to paint: p50 ${quantile(slow.times, 0.5).toFixed(1)}, p95 ${painted.toFixed(1)} ms at 6x; ${unthrottled.toFixed(1)} ms at 1x`);
  t.diagnostic(`answer in the solver's thread: p50 ${answer.toFixed(1)}, p95 ${quantile(plain.answers, 0.95).toFixed(1)} ms at 1x; p50 ${quantile(slow.answers, 0.5).toFixed(1)} ms while the page is throttled`);
  await session.send("Emulation.setCPUThrottlingRate", { rate: 1 });
  told(t, "nudge to paint, p95", painted, 100);
  told(t, "six times the answer, p50", 6 * answer, 16);
  assert.equal(slow.times.length, 60);
  await context.close();
});

test("script is at most 100 kB gzip beside the module", async (t) => {
  const dir = await mkdtemp(join(tmpdir(), "spareamps-site-"));
  host(["export", join(dir, "site"), "--quiet"]);
  let [script, rest] = [0, 0];
  for (const name of await readdir(join(dir, "site"))) {
    const size = gzipSync(await readFile(join(dir, "site", name)), { level: 9 }).length;
    if (name.endsWith(".js")) script += size;
    else if (!name.endsWith(".wasm")) rest += size;
  }
  t.diagnostic(`script ${(script / 1000).toFixed(1)} kB, other files ${(rest / 1000).toFixed(1)} kB, gzip -9`);
  assert.ok(script <= 100_000, `${script} bytes`);
});

test("first visit on a slow phone, and opening it again offline", async (t) => {
  const context = await browser.newContext({ viewport: { width: 360, height: 640 } });
  const { page } = await watched(context, server.url);
  const session = await context.newCDPSession(page);
  // Lighthouse's slow phone: 150 ms, 1.6 Mbit/s down, 0.75 up, a quarter of the speed.
  await session.send("Network.enable");
  await session.send("Network.emulateNetworkConditions", { offline: false, latency: 150, downloadThroughput: (1.6e6 / 8) * 0.9, uploadThroughput: (0.75e6 / 8) * 0.9 });
  await session.send("Emulation.setCPUThrottlingRate", { rate: 4 });
  let from = Date.now();
  await page.goto(server.url, { waitUntil: "commit" });
  await page.locator(".welcome h1").waitFor();
  const usable = Date.now() - from;
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.locator(".setting .number").waitFor();
  const answered = Date.now() - from;
  await readyOffline(page);
  await session.send("Network.emulateNetworkConditions", { offline: true, latency: 0, downloadThroughput: 0, uploadThroughput: 0 });
  // By the page's own clock, which begins with the reload: asking a throttled
  // page from here whether the answer is there takes longer than the answer.
  await page.addInitScript(() => {
    globalThis.answered = new Promise((resolve) => {
      new MutationObserver((_, watch) => {
        if (!document.querySelector(".setting .number")) return;
        watch.disconnect();
        requestAnimationFrame(() => {
          const line = new MessageChannel();
          line.port1.onmessage = () => resolve(performance.now());
          line.port2.postMessage(null);
        });
      }).observe(document, { childList: true, subtree: true });
    });
  });
  const [again, seen] = [[], []];
  for (let i = 0; i < 5; i++) {
    from = Date.now();
    await page.reload({ waitUntil: "commit" });
    await page.locator(".setting .number").waitFor();
    seen.push(Date.now() - from);
    again.push(await page.evaluate(() => globalThis.answered));
    await page.locator(".curve svg").waitFor(); // the module has started too
  }
  t.diagnostic(`first visit: words in ${usable} ms, first answer in ${answered} ms; offline again in ${quantile(again, 0.5).toFixed(0)} ms, ${quantile(seen, 0.5)} ms as seen from the test (4x throttle)`);
  await session.send("Emulation.setCPUThrottlingRate", { rate: 1 });
  told(t, "usable on a slow phone", usable, 3000);
  told(t, "opened again offline", quantile(again, 0.5), 1000);
  await context.close();
});
