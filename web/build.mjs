// Builds the page as a static site that works under any path:
//
//   node build.mjs --module spareamps.wasm --out dist
//
// Names carry the hash of what is in them, so they may be cached for ever;
// index.html and sw.js are the two that may not. sw.js carries the list of all
// files with their SHA-256: what is offline is verified against it.

import { build } from "esbuild";
import { createHash } from "node:crypto";
import { mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const here = dirname(fileURLToPath(import.meta.url));
const { values: given } = parseArgs({
  options: {
    module: { type: "string" },
    out: { type: "string", default: join(here, "dist") },
    label: { type: "string", default: "" }, // goes into the page: makes another build of the same sources
    plain: { type: "boolean", default: false }, // no compressed twins
  },
});
if (!given.module) throw new Error("--module FILE is needed: go run ./wasm/build -o FILE");

// The policy of the page; serve sends the same as a header.
const policy = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "style-src 'self'",
  "img-src 'self'",
  "connect-src 'self'",
  "worker-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "require-trusted-types-for 'script'",
  "trusted-types spareamps",
].join("; ");

const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");
const files = new Map(); // name in the site -> bytes

const module = await readFile(given.module);
const moduleName = `spareamps-${sha256(module).slice(0, 10)}.wasm`;
files.set(moduleName, module);

const bundle = async (entry, define = {}) => {
  const result = await build({
    entryPoints: [join(here, "src", entry)],
    bundle: true,
    minify: true,
    format: "esm",
    target: ["chrome109", "firefox115", "safari16.4"],
    charset: "utf8",
    legalComments: "none",
    jsx: "automatic",
    jsxImportSource: "preact",
    write: false,
    outdir: here,
    loader: { ".css": "css" },
    define: Object.fromEntries(Object.entries({ BUILD: given.label, ...define }).map(([k, v]) => [k, JSON.stringify(v)])),
  });
  return result.outputFiles[0].contents;
};
const hashed = (stem, ending, bytes) => {
  const name = `${stem}-${sha256(bytes).slice(0, 10)}.${ending}`;
  files.set(name, Buffer.from(bytes));
  return name;
};

const worker = hashed("solver", "js", await bundle("worker.ts"));
const style = hashed("style", "css", await bundle("style.css"));
const script = hashed("page", "js", await bundle("main.tsx", { WORKER: worker, MODULE: moduleName }));
for (const name of ["icon.svg", "icon-192.png", "icon-512.png"]) {
  files.set(name, await readFile(join(here, "static", name)));
}
files.set("app.webmanifest", await readFile(join(here, "static", "app.webmanifest")));

// What is read before any script runs.
const { words } = await import("data:text/javascript;base64," + Buffer.from(await bundle("words.ts")).toString("base64"));
const integrity = (name) => "sha384-" + createHash("sha384").update(files.get(name)).digest("base64");
const html = (await readFile(join(here, "index.html"), "utf8"))
  .replace("{policy}", policy)
  .replaceAll("{style}", style).replace("{style integrity}", integrity(style))
  .replaceAll("{script}", script).replace("{script integrity}", integrity(script))
  .replaceAll("{name}", words.name).replace("{motto}", words.motto).replace("{what}", words.welcome.what);
files.set("index.html", Buffer.from(html));

const list = Object.fromEntries([...files].map(([name, bytes]) => [name, sha256(bytes)]));
const version = sha256(JSON.stringify(list)).slice(0, 12);
files.set("sw.js", Buffer.from(await bundle("sw.ts", { VERSION: version, FILES: list, MODULE: moduleName })));
// For whoever serves the site: headers that a file cannot carry.
files.set("site.json", Buffer.from(JSON.stringify({ version, policy, module: moduleName, script: [script, worker], style }, null, 1) + "\n"));

await rm(given.out, { recursive: true, force: true });
await mkdir(given.out, { recursive: true });
let sent = 0;
for (const [name, bytes] of files) {
  await writeFile(join(given.out, name), bytes);
  if (name.endsWith(".js")) sent += gzipSync(bytes, { level: 9 }).length;
  if (given.plain || name.endsWith(".png") || name === "site.json") continue;
  await writeFile(join(given.out, name + ".gz"), gzipSync(bytes, { level: 9 }));
  await writeFile(join(given.out, name + ".br"), brotliCompressSync(bytes, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 10, [constants.BROTLI_PARAM_LGWIN]: 22, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
  }));
}
console.log(`${relative(process.cwd(), given.out) || "."}: version ${version}, ${(sent / 1000).toFixed(1)} kB of script after gzip -9`);
