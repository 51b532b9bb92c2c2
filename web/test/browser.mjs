// Chromium as the tests start it.

import assert from "node:assert/strict";
import { chromium } from "playwright-core";
import { execFileSync, spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";

const places = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

export const executable = places.find((p) => p && existsSync(p));

const started = []; // servers and browsers

/** Ends what a test left running. */
export const stopAll = () => Promise.all(started.map((stop) => stop()));

const options = () => {
  if (!executable) throw new Error("no chromium: install Debian's package chromium, or name one in CHROMIUM");
  return {
    executablePath: executable,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  };
};

export async function launch() {
  const browser = await chromium.launch(options());
  started.push(() => browser.close());
  return browser;
}

/** A browser that keeps what it stores in a folder and can be driven through a port as well. */
export async function launchIn(dir, port) {
  const { args, ...rest } = options();
  const context = await chromium.launchPersistentContext(dir, { ...rest, args: [...args, `--remote-debugging-port=${port}`] });
  started.push(() => context.close());
  return context;
}

const visited = new Map(); // contexts by their options

/** A context for tests that need no first visit: the browser has the files of the page; what was entered in another test is gone in a new page. */
export async function visitor(browser, options) {
  const key = JSON.stringify(options);
  if (!visited.has(key)) {
    const context = await browser.newContext(options);
    await context.addInitScript(() => {
      if (!/^http/.test(location.protocol) || sessionStorage.seeded || sessionStorage.opened) return;
      sessionStorage.opened = "yes";
      localStorage.clear();
    });
    visited.set(key, context);
  }
  const context = visited.get(key);
  await Promise.all(context.pages().map((page) => page.close()));
  return context;
}

/** Past the cautions of first use, to the demo rig. */
export async function demo(page, url, screen = "now") {
  await page.goto(url);
  await page.getByRole("button", { name: "Look at the demo rig" }).click();
  await page.locator(".setting .number, .problems").first().waitFor();
  if (screen !== "now") {
    await page.locator("nav.screens a", { hasText: new RegExp("^" + screen + "$", "i") }).click();
    await page.locator("main." + screen).waitFor();
  }
}

/** The page as `spareamps serve` serves it; stop() ends it. */
export async function serve() {
  const child = spawn(program(), ["serve", "--addr", "127.0.0.1:0"], { stdio: ["ignore", "pipe", "pipe"] });
  let talk = "";
  child.stderr.on("data", (text) => (talk += text));
  const url = await new Promise((resolve, reject) => {
    let out = "";
    child.stdout.on("data", (text) => {
      out += text;
      if (out.includes("\n")) resolve(out.trim());
    });
    child.on("exit", (code) => reject(new Error(`serve ended with ${code}: ${talk}`)));
  });
  const ended = new Promise((resolve) => child.on("exit", resolve));
  const stop = () => (child.kill("SIGINT"), ended);
  started.push(stop);
  return { url, stop };
}

export function program() {
  if (!process.env.SPAREAMPS_PROGRAM) throw new Error("SPAREAMPS_PROGRAM names the built program spareamps");
  return process.env.SPAREAMPS_PROGRAM;
}

/** What the program prints. */
export function host(args, input = "") {
  return execFileSync(program(), args, { input, encoding: "utf8", stdio: ["pipe", "pipe", "pipe"] });
}

/** A folder on a host that knows nothing of us, below some path; it can be swapped for another. */
export async function plainHost(dir, below = "/") {
  const kinds = { html: "text/html", js: "text/javascript", css: "text/css", svg: "image/svg+xml", png: "image/png", webmanifest: "application/manifest+json" };
  const at = { dir };
  const server = createServer(async (request, response) => {
    const path = new URL(request.url, "http://x").pathname;
    const name = path === below ? "index.html" : path.slice(below.length);
    if (path === below + "index.html") { // as many hosts do
      response.writeHead(308, { location: below });
      return response.end();
    }
    try {
      if (!path.startsWith(below) || name.includes("/")) throw new Error("outside");
      const bytes = await readFile(join(at.dir, name));
      // No type for .wasm: hosts that do not know it are common.
      response.writeHead(200, { "content-type": kinds[name.split(".").pop()] ?? "application/octet-stream" });
      response.end(bytes);
    } catch {
      response.writeHead(404);
      response.end("no such file");
    }
  });
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  const stop = () => new Promise((resolve) => (server.closeAllConnections(), server.close(resolve)));
  started.push(stop);
  return {
    url: `http://127.0.0.1:${server.address().port}${below}`,
    swap: (other) => (at.dir = other),
    stop,
  };
}

/** Waits until the page says that it opens with no signal. */
export const readyOffline = (page) => page.locator(".status", { hasText: "Ready offline" }).waitFor({ timeout: 20_000 });

/** A page that reports what it should not say or ask for. */
export async function watched(context, own) {
  const page = await context.newPage();
  const wrong = [];
  page.on("pageerror", (e) => wrong.push(e.message));
  page.on("console", (m) => m.type() === "error" && !/net::ERR_|Failed to load resource/.test(m.text()) && wrong.push(m.text()));
  page.on("request", (r) => /^https?:/.test(r.url()) && !r.url().startsWith(own) && wrong.push("asked for " + r.url()));
  return { page, wrong };
}

/** Waits until what has changed is drawn: charts find their width in one frame, reasons follow when nothing else waits. */
export const drawn = (page) => page.evaluate(() => new Promise((done) => {
  const frames = (n, then) => (n === 0 ? then() : requestAnimationFrame(() => frames(n - 1, then)));
  frames(2, () => requestIdleCallback(() => frames(1, done), { timeout: 500 }));
}));

/** Opens every fold, and those that come with what is in them. */
export async function unfold(page) {
  while (await page.evaluate(() => [...document.querySelectorAll("details:not([open])")].map((d) => (d.open = true)).length > 0)) await drawn(page);
}

/** Shows the page as it stands in every size and colour given; check(about) looks at each. */
export async function everyLook(page, looks, check) {
  for (const { viewport, colorScheme } of looks) {
    await page.setViewportSize(viewport);
    await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
    await drawn(page);
    assert.deepEqual(await page.evaluate(() => [innerWidth, innerHeight, matchMedia("(prefers-color-scheme: dark)").matches]), [viewport.width, viewport.height, colorScheme === "dark"]);
    await check(`${viewport.width} x ${viewport.height}, ${colorScheme}`);
  }
}

/** A document of the page with one rig. */
export const docOf = (request, name = "a") => ({ version: 1, rigs: [{ id: "a", name, request: { moment: {}, ...request }, whatIf: null }], current: "a", units: {}, welcomed: true });

/** A page that begins at a screen with a document. */
export async function begun(context, url, doc, screen) {
  const { page, wrong } = await watched(context, url);
  await page.addInitScript((doc) => {
    if (!/^http/.test(location.protocol) || sessionStorage.seeded) return;
    sessionStorage.seeded = "yes";
    localStorage.setItem("spareamps", JSON.stringify(doc));
  }, doc);
  await page.goto(`${url}#${screen}`);
  await page.locator("main." + screen).waitFor().catch(async (cause) => assert.fail(`${cause.message}\n${page.url()}\n${wrong}\n${await page.locator("body").innerText()}`));
  return { page, wrong };
}

/** What the page has stored. It waits 40 ms with it, for more to come. */
export const stored = (page, afterMs = 60) => page.evaluate((ms) => new Promise((done) => setTimeout(() => done(localStorage.spareamps), ms)), afterMs);

/** Shows another document on a screen, taken over from another tab while a screen without an answer stood there: nothing of the last one is left. */
export async function show(page, doc, screen) {
  await turn(page, "measure");
  await page.evaluate((text) => {
    localStorage.spareamps = text;
    dispatchEvent(new StorageEvent("storage", { key: "spareamps", newValue: text }));
  }, JSON.stringify(doc));
  await turn(page, screen);
}

/** Turns to a screen by its address. */
export async function turn(page, screen) {
  await page.evaluate((screen) => (location.hash = screen), screen);
  await page.locator("main." + screen).waitFor();
}

/** Leaves a screen and comes back to it: nothing that was said there stands there any more. */
export async function anew(page, screen) {
  await turn(page, screen === "measure" ? "rig" : "measure");
  await turn(page, screen);
}

/** Chooses a file with these contents; it lies in a folder, since handing megabytes to the browser takes it seconds. */
export async function choose(page, input, name, contents) {
  const file = join(await mkdtemp(join(tmpdir(), "spareamps-chosen-")), name);
  await writeFile(file, contents);
  await page.locator(input).setInputFiles(file);
}

const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What axe finds wrong with the page, or with a part of it, a line each. */
export async function violations(page, part = null) {
  if (!(await page.evaluate(() => "axe" in globalThis))) await page.evaluate(axe);
  const found = await page.evaluate((part) => globalThis.axe.run(part ? document.querySelector(part) : document, { resultTypes: ["violations"] }), part);
  return found.violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.html + " " + n.failureSummary).join(" | ")}`);
}

/** Holds the page as it stands, in every size and colour given, to axe, to its width, to letters of 16 px, to whole words in what cut selects and to 44 px in what targets selects. */
export async function faultless(page, looks, state, { cut, targets }) {
  await everyLook(page, looks, async (look) => {
    assert.deepEqual(await violations(page), [], `${state}, ${look}`);
    const bad = await page.evaluate(({ cut, targets }) => {
      const bad = [];
      const root = document.documentElement;
      if (root.scrollWidth > root.clientWidth) bad.push(`runs over: ${root.scrollWidth} > ${root.clientWidth}`);
      for (const e of document.querySelectorAll("#page *")) {
        if (!e.checkVisibility({ visibilityProperty: true }) || e.closest(".unseen")) continue;
        const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim() !== "") || e.matches("input, select");
        if (own && parseFloat(getComputedStyle(e).fontSize) < 16) bad.push(`small letters: ${e.outerHTML.slice(0, 80)}`);
        // What is wider than its box is cut, unless it may scroll or is shortened on purpose.
        if (e.matches(cut) && !e.matches(".rigname") && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") bad.push(`cut: ${e.scrollWidth} > ${e.clientWidth} ${e.outerHTML.slice(0, 80)}`);
        if (e.matches(targets)) {
          const r = e.getBoundingClientRect();
          if (r.height < 44 || r.width < 44) bad.push(`small target ${r.width}x${r.height}: ${e.outerHTML.slice(0, 80)}`);
        }
      }
      return bad;
    }, { cut, targets });
    assert.deepEqual(bad, [], `${state}, ${look}`);
  });
}
