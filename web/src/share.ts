// Rigs in links and files. What comes in is not trusted: its size is bounded
// before it is read, its outline is checked here, everything else by the module
// against its table, and nothing is changed before a person says so.

import { valueAt, type Part, type Request } from "./about";
import { ask } from "./ask";
import { LEARNED, OBSERVATIONS } from "./fit_answer";
import { cleanName, isObject, readDoc, readGears, readRequest, STATE_VERSION, type Rig } from "./store";
import { words } from "./words";

const LINK = /^#r(\d+)\.(.*)$/s;
const LINK_VERSION = 1;
const MAX_LINK_CHARS = 64 << 10;
const MAX_BYTES = 1 << 20; // of what a link holds, and of a rig as it is judged
const MAX_FILE_BYTES = 6 << 20; // more than a browser stores for a page

/** Why something that came in is refused; the message is for a person. */
export class Unfit extends Error {}

type Came = Omit<Rig, "id" | "untracked">;

export interface Incoming {
  rigs: Came[];
}

/** What of a rig belongs to one vehicle: what was learned on it, and the readings. */
export function ownOf(request: Request): { learned: boolean; readings: number } {
  const rows = valueAt(request, OBSERVATIONS);
  return { learned: valueAt(request, LEARNED) !== undefined, readings: Array.isArray(rows) ? rows.length : 0 };
}

export const hasOwn = (request: Request) => ownOf(request).learned || ownOf(request).readings > 0;

/** A rig without what belongs to one vehicle. */
export function withoutOwn<R extends { request: Request; learnedOf?: string }>(rig: R): R {
  const { learned: _, observations: __, ...plain } = rig.request.rig;
  return { ...rig, request: { ...rig.request, rig: plain }, learnedOf: undefined };
}

/** What the page knows of a rig beside its request. */
const besides = (rig: Rig): Part => (rig.gears ? { gears: rig.gears, ...(rig.gear?.now === undefined ? {} : { gear: { now: rig.gear.now } }) } : {});

/** A rig as a file: a request as the program `spareamps` reads it, which passes over "page". */
export function fileOf(rig: Rig): object {
  const page = besides(rig);
  return Object.keys(page).length > 0 ? { ...rig.request, page } : rig.request;
}

/** The address of this page with a rig behind the #. */
export async function linkTo(rig: Rig, name: string): Promise<string> {
  const text = JSON.stringify({ name, request: rig.request, ...besides(rig) });
  let fragment;
  try {
    fragment = `#r${LINK_VERSION}.${toBase64(await through(new TextEncoder().encode(text), new CompressionStream("deflate-raw"), MAX_BYTES))}`;
  } catch {
    throw new Unfit(words.exchange.linkTooLong);
  }
  if (fragment.length > MAX_LINK_CHARS) throw new Unfit(words.exchange.linkTooLong);
  return location.origin + location.pathname + fragment;
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
  return checked([{ name: it.name, request: it.request, ...gearsOf(it) }]);
}

/** Gears that came with one rig; wrong ones are refused. */
function gearsOf(it: Record<string, unknown>): Pick<Came, "gears" | "gear"> {
  if (it.gears === undefined) return {};
  const read = readGears(it);
  if (!read.gears) throw new Unfit(words.exchange.badGears);
  return read;
}

/** A file: a request as the program `spareamps` reads it, or all rigs of a page. */
export async function fromFile(file: File): Promise<Incoming> {
  const w = words.exchange;
  if (file.size > MAX_FILE_BYTES) throw new Unfit(w.tooLarge);
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
    return checked(doc.rigs);
  }
  // A request, or the object under "rig" alone.
  const { page, ...request } = "rig" in it ? it : "alternator" in it ? { rig: it, page: undefined } : {};
  if (page !== undefined && !isObject(page)) throw new Unfit(w.notRig);
  return checked([{ name: file.name.replace(/(\.spareamps)?\.json$/i, ""), request, ...gearsOf(page ?? {}) }]);
}

type Unchecked = { name: unknown; request: unknown } & Partial<Pick<Rig, "whatIf" | "learnedOf" | "gears" | "gear">>;

async function checked(list: Unchecked[]): Promise<Incoming> {
  const w = words.exchange;
  const rigs: Came[] = [];
  for (const { name, request, whatIf, learnedOf, gears, gear } of list) {
    const read = readRequest(request);
    if (!read || (name !== undefined && typeof name !== "string")) throw new Unfit(w.notRig);
    // A rig without a moment is judged at one that is always allowed.
    const judged = { ...read, moment: { engine_rpm: 1000, ambient_C: 20, ...read.moment } };
    await judge(judged);
    if (whatIf) await judge({ rig: judged.rig, moment: whatIf });
    rigs.push({
      name: cleanName(typeof name === "string" ? name : "") || words.unnamedRig, request: judged, whatIf: whatIf ?? null,
      ...(learnedOf === undefined ? {} : { learnedOf }), ...(gears ? { gears, gear } : {}),
    });
  }
  return { rigs };
}

async function judge(request: Request): Promise<void> {
  const reply = await ask<true>("incoming", { ask: "check", request });
  const refused = reply?.refused;
  if (reply && !refused) return;
  const problems = refused?.problems.slice(0, 5).map((p) => (p.field ? `${p.field}: ` : "") + p.message) ?? [];
  throw new Unfit(`${words.exchange.refused} ${problems.join("; ") || refused?.message || ""}`);
}

/** Offers bytes as a file to keep. */
export function download(name: string, value: unknown): void {
  let text = JSON.stringify(value, null, 2);
  if (text.length > MAX_BYTES) text = JSON.stringify(value); // the many readings of a logger
  const url = URL.createObjectURL(new Blob([text + "\n"], { type: "application/json" }));
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** A name for a file from the name of a rig. */
export const fileName = (name: string) => (name.normalize("NFKD").replace(/[^\w]+/g, "-").replace(/^-+|-+$/g, "").toLowerCase().slice(0, 50) || "rig") + ".spareamps.json";

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
