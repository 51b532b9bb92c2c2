// Pictures of every screen, to be looked at:
//
//   node test/look.mjs http://127.0.0.1:8080/ DIR
//
// With "serve" for an address it starts the program named in SPAREAMPS_PROGRAM.

import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { demo, launch, serve } from "./browser.mjs";

const [given, dir] = process.argv.slice(2);
const server = given === "serve" ? await serve() : { url: given, stop: () => {} };
const { url } = server;
await mkdir(dir, { recursive: true });
const browser = await launch();
for (const [size, viewport] of Object.entries({ phone: { width: 360, height: 640 }, wide: { width: 1280, height: 800 } })) {
  for (const colorScheme of ["light", "dark"]) {
    const context = await browser.newContext({ viewport, colorScheme, deviceScaleFactor: size === "phone" ? 2 : 1 });
    const page = await context.newPage();
    page.on("console", (m) => ["error", "warning"].includes(m.type()) && console.log(size, colorScheme, m.text()));
    page.on("pageerror", (e) => console.log(size, colorScheme, e.message));
    const shot = async (name, fullPage = false) => {
      await page.waitForTimeout(400);
      await page.screenshot({ path: join(dir, `${name}-${size}-${colorScheme}.png`), fullPage });
    };
    await page.goto(url);
    await page.locator(".welcome").waitFor();
    await shot("welcome");
    await demo(page, url);
    await page.locator(".curve svg").waitFor();
    await shot("now");
    await shot("now-all", true);
    await page.getByRole("button", { name: /compare/i }).click();
    for (let i = 0; i < 6; i++) await page.getByRole("button", { name: "Less: Air outside" }).click();
    for (let i = 0; i < 20; i++) await page.getByRole("button", { name: "More: Set now" }).click();
    await shot("compare");
    for (const screen of ["day", "rig", "measure", "card"]) {
      await page.locator("nav.screens a", { hasText: new RegExp("^" + screen, "i") }).click();
      await page.locator("main." + screen).waitFor();
      await shot(screen);
      if (screen === "rig") await shot("rig-all", true);
    }
    await context.close();
  }
}
await browser.close();
await server.stop();
