// What the page remembers: one versioned document, saved at every change in
// this browser and nowhere else. Undo goes back through documents.

import { useEffect, useState } from "preact/hooks";
import type { About, Part, Request } from "./about";
import { usual, type Units } from "./units";

export const STATE_VERSION = 1;

export interface Rig {
  id: string;
  name: string;
  request: Request;
  whatIf: Part | null; // a second moment
  learnedOf?: string; // mark of the readings that rig.learned was learned of
  untracked?: Part | null; // the day as it was before a recorded track took the place of its legs
  gears?: number[]; // overall ratio of each
  gear?: { now?: number; if?: number }; // that a moment is in, as an index of gears
}

export interface Doc {
  version: typeof STATE_VERSION;
  rigs: Rig[];
  current: string;
  units: Units;
  welcomed: boolean; // the cautions of first use were read
}

const KEY = "spareamps";
const BROKEN = "spareamps.unreadable"; // what could not be read is kept, not overwritten
export const MOST_GEARS = 16;
const MOST_UNDO = 60;
const MERGE_MS = 1200; // nudges of one thing within this are one step of undo

let doc: Doc;
let undone: Doc[] = [];
let merging = "";
let mergedAt = 0;
let saved: Doc | null = null;
let readOnly = false;
let unsaved = false;
const listeners = new Set<() => void>();

/** Whether the stored document was written by a newer page, and is left alone. */
export const isReadOnly = () => readOnly;

/** Whether the last change could not be stored. */
export const isUnsaved = () => unsaved;

/** Reads what is stored, or begins anew with the demo rig. */
export function open(about: About): void {
  doc = saved = fresh(about); // nothing to save before a change
  let text: string | null = null;
  try {
    text = localStorage.getItem(KEY);
  } catch {
    return; // storage is closed to us: the page works, and forgets
  }
  if (text === null) return;
  try {
    const stored: unknown = JSON.parse(text);
    if (isObject(stored) && typeof stored.version === "number" && stored.version > STATE_VERSION) {
      readOnly = true;
      return;
    }
    const read = readDoc(stored);
    if (!read) throw new Error("not a document of this page");
    doc = saved = read;
  } catch {
    try {
      localStorage.setItem(BROKEN, text);
    } catch {
      // nothing more can be done
    }
  }
}

/** Whether this browser has been here before. */
export function hasStored(): boolean {
  try {
    return localStorage.getItem(KEY) !== null;
  } catch {
    return false;
  }
}

export function fresh(about: About): Doc {
  const demo: Rig = { id: newId(), name: "", request: structuredClone(about.demo), whatIf: null };
  return { version: STATE_VERSION, rigs: [demo], current: demo.id, units: usual, welcomed: false };
}

export const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(6)), (b) => b.toString(16).padStart(2, "0")).join("");

export const isObject = (v: unknown): v is Record<string, unknown> => typeof v === "object" && v !== null && !Array.isArray(v);

/** A stored or imported document, if it is one; what is in its requests the module judges. */
export function readDoc(v: unknown): Doc | null {
  if (!isObject(v) || v.version !== STATE_VERSION || !Array.isArray(v.rigs) || v.rigs.length === 0 || v.rigs.length > 200) return null;
  const rigs: Rig[] = [];
  for (const r of v.rigs as unknown[]) {
    if (!isObject(r) || typeof r.id !== "string" || typeof r.name !== "string") return null;
    const request = readRequest(r.request);
    if (!request || (r.whatIf !== null && r.whatIf !== undefined && !isObject(r.whatIf))) return null;
    rigs.push({ id: r.id.slice(0, 40), name: cleanName(r.name), request, whatIf: (r.whatIf as Part | null | undefined) ?? null, ...(isObject(r.untracked) ? { untracked: r.untracked as Part } : {}), ...(typeof r.learnedOf === "string" ? { learnedOf: r.learnedOf.slice(0, 16) } : {}), ...readGears(r) });
  }
  const u = isObject(v.units) ? v.units : {};
  const units: Units = {
    temperature: u.temperature === "°F" ? "°F" : "°C",
    speed: u.speed === "mph" ? "mph" : "km/h",
    length: u.length === "ft" ? "ft" : "m",
    area: u.area === "AWG" ? "AWG" : "mm²",
  };
  const current = rigs.find((r) => r.id === v.current) ?? rigs[0]!;
  return { version: STATE_VERSION, rigs, current: current.id, units, welcomed: v.welcomed === true };
}

/** The gears of something stored or imported; none where they are not right. */
export function readGears(r: Record<string, unknown>): Pick<Rig, "gears" | "gear"> {
  const ratio = (v: unknown) => typeof v === "number" && v >= 1 && v <= 300;
  if (!Array.isArray(r.gears) || r.gears.length === 0 || r.gears.length > MOST_GEARS || !r.gears.every(ratio)) return {};
  const [gears, at] = [r.gears as number[], isObject(r.gear) ? r.gear : {}];
  const gear = (v: unknown) => (typeof v === "number" && gears[v] !== undefined ? v : undefined);
  return { gears, gear: { now: gear(at.now), if: gear(at.if) } };
}

/** A request of the right outline. */
export function readRequest(v: unknown): Request | null {
  if (!isObject(v) || !isObject(v.rig)) return null;
  if (v.moment !== undefined && !isObject(v.moment)) return null;
  if (v.day !== undefined && !isObject(v.day)) return null;
  return { ...v, moment: v.moment ?? {} } as unknown as Request;
}

/** A name of a rig: one line of at most 60 characters without controls. */
export function cleanName(name: string): string {
  return Array.from(name.replace(/[\p{Cc}\p{Cf}\p{Co}\p{Cn}]/gu, " ").replace(/\s+/g, " ").trim()).slice(0, 60).join("");
}

export const state = (): Doc => doc;
export const currentRig = (d: Doc = doc): Rig => d.rigs.find((r) => r.id === d.current) ?? d.rigs[0]!;

/** A rig as answers need it: without the readings, of which only a fit learns. */
export function rigOf(rig: Rig): Part {
  const { observations: _, ...rest } = rig.request.rig;
  return rest;
}

/**
 * Changes the document. Changes with the same merge word shortly after each
 * other are one step of undo.
 */
export function update(change: (d: Doc) => Doc, merge = ""): void {
  const next = change(doc);
  if (next === doc) return;
  if (next.rigs === doc.rigs && next.current === doc.current) {
    doc = next; // units, and what was read: nothing to take back
    return changed();
  }
  const now = performance.now();
  if (merge === "" || merge !== merging || now - mergedAt > MERGE_MS) {
    undone.push(doc);
    if (undone.length > MOST_UNDO) undone = undone.slice(-MOST_UNDO);
  }
  merging = merge;
  mergedAt = now;
  doc = next;
  changed();
}

/** Changes the present rig. */
export function updateRig(change: (r: Rig) => Rig, merge = ""): void {
  update((d) => ({ ...d, rigs: d.rigs.map((r) => (r.id === currentRig(d).id ? change(r) : r)) }), merge);
}

export const canUndo = () => undone.length > 0;

export function undo(): void {
  const before = undone.pop();
  if (!before) return;
  merging = "";
  // Units and what was read are no part of what a person takes back.
  doc = { ...before, units: doc.units, welcomed: doc.welcomed };
  changed();
}

let saving = 0;
function changed(): void {
  for (const tell of listeners) tell();
  // Behind the picture, so that a nudge is seen first.
  saving ||= self.setTimeout(save, 40);
}

/** Writes what has changed; also called when the page is hidden. */
export function save(): void {
  saving = 0;
  if (readOnly || !doc || saved === doc) return; // closed before the module came: nothing was opened
  const before = unsaved;
  try {
    localStorage.setItem(KEY, JSON.stringify(doc));
    saved = doc;
    unsaved = false;
  } catch {
    unsaved = true; // full or closed: a file is the way to keep it
  }
  if (unsaved !== before) for (const tell of listeners) tell();
}

export function subscribe(tell: () => void): () => void {
  listeners.add(tell);
  return () => void listeners.delete(tell);
}

/** Listens for saves in other tabs and for the end of this one. */
export function watch(): void {
  addEventListener("pagehide", save);
  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && save());
  window.addEventListener("storage", (e) => {
    if (e.key !== KEY || e.newValue === null || saved !== doc) return;
    try {
      const read = readDoc(JSON.parse(e.newValue));
      if (!read) return;
      doc = saved = read;
      undone = [];
      for (const tell of listeners) tell();
    } catch {
      // another version's: left alone
    }
  });
}

/** The document, drawn anew whenever it changes. */
export function useDoc(): Doc {
  const [at, set] = useState(doc);
  useEffect(() => {
    set(doc);
    return subscribe(() => set(doc));
  }, []);
  return at;
}
