// Rigs in links and files. What comes in is not trusted: its size is bounded
// before it is read, its outline is checked here, everything else by the module
// against its table, and nothing is changed before a person says so.

import type { Request } from "./about";
import { ask } from "./ask";
import { cleanName, isObject, readDoc, readRequest, STATE_VERSION, type Doc, type Rig } from "./store";
import { words } from "./words";

const LINK = /^#r(\d+)\.(.*)$/s;
const LINK_VERSION = 1;
const MAX_LINK_CHARS = 64 << 10;
export const MAX_BYTES = 1 << 20;

/** Why something that came in is refused; the message is for a person. */
export class Unfit extends Error {}

export interface Incoming {
  rigs: { name: string; request: Request }[];
}

/** The address of this page with a rig behind the #. */
export async function linkTo(rig: Rig, name: string): Promise<string> {
  const text = JSON.stringify({ name, request: rig.request });
  const squeezed = await through(new TextEncoder().encode(text), new CompressionStream("deflate-raw"), MAX_BYTES);
  return `${location.origin}${location.pathname}#r${LINK_VERSION}.${toBase64(squeezed)}`;
}

export const isLink = (fragment: string) => LINK.test(fragment);

export async function fromLink(fragment: string): Promise<Incoming> {
  const w = words.exchange;
  const found = LINK.exec(fragment);
  if (!found || fragment.length > MAX_LINK_CHARS) throw new Unfit(w.cut);
  const version = Number(found[1]);
  if (version > LINK_VERSION) throw new Unfit(w.newer);
  if (version < LINK_VERSION) throw new Unfit(w.older);
  let text: string;
  try {
    const bytes = fromBase64(found[2]!);
    text = new TextDecoder("utf-8", { fatal: true }).decode(await through(bytes, new DecompressionStream("deflate-raw"), MAX_BYTES));
  } catch {
    throw new Unfit(w.cut);
  }
  let it: unknown;
  try {
    it = JSON.parse(text);
  } catch {
    throw new Unfit(w.cut);
  }
  if (!isObject(it)) throw new Unfit(w.notRig);
  return checked([{ name: it.name, request: it.request }]);
}

/** A file: a request as the program `spareamps` reads it, or all rigs of a page. */
export async function fromFile(file: File): Promise<Incoming> {
  const w = words.exchange;
  if (file.size > MAX_BYTES) throw new Unfit(w.tooLarge);
  let it: unknown;
  try {
    it = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer()));
  } catch {
    throw new Unfit(w.notJson);
  }
  if (!isObject(it)) throw new Unfit(w.notRig);
  if ("rigs" in it || "version" in it) {
    if (typeof it.version === "number" && it.version > STATE_VERSION) throw new Unfit(w.newer);
    if (typeof it.version === "number" && it.version < STATE_VERSION) throw new Unfit(w.older);
    const doc = readDoc(it);
    if (!doc) throw new Unfit(w.notRig);
    return checked(doc.rigs.map((r) => ({ name: r.name, request: r.request })));
  }
  // A request, or the object under "rig" alone.
  const request = "rig" in it ? it : "alternator" in it ? { rig: it } : null;
  return checked([{ name: file.name.replace(/(\.spareamps)?\.json$/i, ""), request }]);
}

async function checked(list: { name: unknown; request: unknown }[]): Promise<Incoming> {
  const w = words.exchange;
  const rigs: Incoming["rigs"] = [];
  for (const { name, request } of list) {
    const read = readRequest(request);
    if (!read || (name !== undefined && typeof name !== "string")) throw new Unfit(w.notRig);
    // A rig without a moment is judged at one that is always allowed.
    const judged = { ...read, moment: { engine_rpm: 1000, ambient_C: 20, ...read.moment } };
    const reply = await ask<true>("check" + rigs.length, { ask: "check", request: judged });
    const refused = reply?.refused;
    if (!reply || refused) {
      const problems = refused?.problems.slice(0, 5).map((p) => (p.field ? `${p.field}: ` : "") + p.message) ?? [];
      throw new Unfit(`${w.refused} ${problems.join("; ") || refused?.message || ""}`);
    }
    rigs.push({ name: cleanName(typeof name === "string" ? name : "") || words.unnamedRig, request: judged });
  }
  return { rigs };
}

/** Offers bytes as a file to keep. */
export function download(name: string, value: unknown): void {
  const url = URL.createObjectURL(new Blob([JSON.stringify(value, null, 2) + "\n"], { type: "application/json" }));
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** A name for a file from the name of a rig. */
export const fileName = (name: string) => (name.normalize("NFKD").replace(/[^\w]+/g, "-").replace(/^-+|-+$/g, "").toLowerCase().slice(0, 50) || "rig") + ".spareamps.json";

export const allRigs = (doc: Doc) => doc;

/** Bytes through a stream, as long as no more than `most` come out. */
async function through(bytes: Uint8Array<ArrayBuffer>, stream: CompressionStream | DecompressionStream, most: number): Promise<Uint8Array<ArrayBuffer>> {
  const out = new Blob([bytes]).stream().pipeThrough(stream as ReadableWritablePair<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>);
  const reader = out.getReader();
  const parts: Uint8Array<ArrayBuffer>[] = [];
  let size = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    size += value.length;
    if (size > most) {
      await reader.cancel();
      throw new RangeError("too large");
    }
    parts.push(value);
  }
  return new Uint8Array(await new Blob(parts).arrayBuffer());
}

function toBase64(bytes: Uint8Array): string {
  let s = "";
  for (const b of bytes) s += String.fromCharCode(b);
  return btoa(s).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  const s = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(s, (c) => c.charCodeAt(0));
}
