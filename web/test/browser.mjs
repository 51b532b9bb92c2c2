// Chromium as the tests start it.

import { chromium } from "playwright-core";
import { existsSync } from "node:fs";

const places = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

export const executable = places.find((p) => p && existsSync(p));

export function launch() {
  if (!executable) throw new Error("no chromium: install Debian's package chromium, or name one in CHROMIUM");
  return chromium.launch({
    executablePath: executable,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
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
