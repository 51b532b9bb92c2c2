// Measure: what was read on the vehicle, one reading at a time, and what is to
// be learned of it.

import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { valueAt, type About, type Json, type Part } from "./about";
import { ask, useReply } from "./ask";
import { fieldId } from "./field";
import { OBSERVATIONS } from "./fit_answer";
import { Learn } from "./learn";
import { LearnedNote } from "./learned";
import { LogFile } from "./log";
import { momentRequest, useCeiling } from "./now";
import { ReadingForm, rowOf, type Draft } from "./reading_form";
import { Readings } from "./readings";
import { currentRig, updateRig, useDoc, type Rig } from "./store";
import { words } from "./words";
import type { Problem } from "../../wasm/spareamps.mjs";

/** The readings of a rig, oldest first, as they are stored. */
export const readingsOf = (rig: Rig): Part[] => {
  const rows = valueAt(rig.request, OBSERVATIONS);
  return Array.isArray(rows) ? (rows as Part[]) : [];
};

export function setReadings(change: (rows: Part[]) => Part[], merge = ""): void {
  updateRig((r) => {
    const rows = change(readingsOf(r));
    const { observations: _, ...rest } = r.request.rig;
    return { ...r, request: { ...r.request, rig: rows.length > 0 ? { ...rest, observations: rows as Json[] } : rest } };
  }, merge);
}

/** What the module finds wrong with readings, by row and name of field. */
export type Wrong = Map<string, Problem>;

const wrongOf = (problems: Problem[] | undefined): Wrong =>
  new Map((problems ?? []).flatMap((p) => {
    const at = /^rig\.observations\[(\d+)\]\.(\w+)$/.exec(p.field);
    return at ? [[`${at[1]}.${at[2]}`, p] as const] : [];
  }));

/** A request to judge readings by; the moment is one that is always allowed. */
const judged = (rig: Rig, rows: Part[]) => {
  const q = momentRequest(rig, { engine_rpm: 1000, ambient_C: 20 });
  return { ...q, rig: { ...q.rig, observations: rows as Json[] } };
};

export function MeasureScreen({ about, go, focus }: { about: About; go: (screen: string, field?: string) => void; focus?: string }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const rows = readingsOf(rig);
  const w = words.measure;
  const [draft, setDraft] = useDraft(rig.id, about);
  const [note, setNote] = useState("");
  const [kept, setKept] = useState("");
  const [missing, setMissing] = useState(false); // say what is missing only once it was to be added
  const [open, setOpen] = useState<{ row: number; name: string } | null>(null);
  const now = useCeiling("now", rig, rig.request.moment);

  const row = rowOf(draft, rig.request.moment, about);
  const all = row ? [...rows, row] : rows;
  const key = all.length > 0 ? JSON.stringify([judged(rig, all)]) : null;
  const checked = useReply<true>("readings", key === null ? null : { ask: "check", request: judged(rig, all) }, key);
  const wrong = wrongOf(checked?.refused?.problems);

  const show = (field: string) => {
    const at = /^rig\.observations\[(\d+)\]\.?(\w*)$/.exec(field);
    if (at) setOpen({ row: Number(at[1]), name: at[2]! });
  };
  useEffect(() => {
    if (focus) show(focus);
  }, [focus]);
  useLayoutEffect(() => {
    if (!open) return;
    const at = document.getElementById(fieldId(`${OBSERVATIONS}-${open.row}-${open.name}`)) ?? document.getElementById(`reading-${open.row}`);
    at?.scrollIntoView({ block: "center" });
    at?.focus();
    setOpen(null);
  }, [open]);

  const busy = useRef(false);
  const add = async () => {
    // A box that says "not a number" still holds what was right before.
    if (document.querySelector(".add [data-typed]")) return setNote(w.needs);
    if (!row) return setNote(w.first);
    if (busy.current) return;
    busy.current = true;
    const reply = await ask<true>("add", { ask: "check", request: judged(rig, all) });
    busy.current = false;
    if (!reply || [...wrongOf(reply.refused?.problems).keys()].some((k) => k.startsWith(`${rows.length}.`))) {
      setMissing(true);
      return setNote(w.needs);
    }
    setReadings((old) => [...old, { at: stamp(), ...row }]);
    setDraft({});
    setMissing(false);
    setNote("");
    setKept(w.added(rows.length + 1));
    document.getElementById("h-add")?.focus();
  };

  return (
    <main class="measure" id="screen">
      <h1>{w.title}</h1>
      <p class="quiet">{w.lead}</p>
      <LearnedNote rig={rig} validity={now?.answer?.validity} />
      <div class="columns">
        <div>
          <ReadingForm key={rig.id} about={about} moment={rig.request.moment} request={rig.request} units={doc.units} draft={draft}
            onChange={(d) => { setDraft(d); setNote(""); setKept(""); }} problem={(name) => wrong.get(`${rows.length}.${name}`)} missing={missing} add={add} kept={kept} note={note} />
          <LogFile key={rig.id + " log"} about={about} rig={rig} rows={rows} units={doc.units} />
          <Readings key={rig.id + " list"} about={about} rows={rows} units={doc.units} problem={(i, name) => wrong.get(`${i}.${name}`)} wrong={wrong} open={open?.row} />
        </div>
        <Learn key={rig.id + " learn"} about={about} rig={rig} rows={rows} units={doc.units}
          go={(screen, field) => (field?.startsWith(OBSERVATIONS + "[") ? show(field) : go(screen, field))}
          enter={(fields, conditions) => {
            setDraft({ chosen: fields, ...conditions });
            document.getElementById("h-add")?.scrollIntoView();
            document.getElementById(fieldId("rig.observations[]." + fields[0]))?.focus();
          }} />
      </div>
    </main>
  );
}

/** The phone's clock, as a person writes it. */
function stamp(): string {
  const d = new Date();
  const two = (n: number) => String(n).padStart(2, "0");
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())} ${two(d.getHours())}:${two(d.getMinutes())}`;
}

// What is half entered outlives a look at another app, but not this tab.
const DRAFT = "spareamps.reading.";

function useDraft(id: string, about: About): [Draft, (d: Draft) => void] {
  const read = () => {
    try {
      return cleanDraft(JSON.parse(sessionStorage.getItem(DRAFT + id) ?? "{}"), about);
    } catch {
      return {};
    }
  };
  const [draft, set] = useState<Draft>(read);
  const first = useRef(id);
  useLayoutEffect(() => {
    if (first.current !== id) set(read());
    first.current = id;
  }, [id]);
  return [draft, (d) => {
    set(d);
    try {
      sessionStorage.setItem(DRAFT + id, JSON.stringify(d));
    } catch {
      // closed to us: it is kept while this screen is
    }
  }];
}

/** Of what was stored, what are fields of a reading. */
function cleanDraft(v: unknown, about: About): Draft {
  const draft: Draft = {};
  const names = about.inputs.fields.filter((f) => f.path.startsWith("rig.observations[].")).map((f) => f.path.slice("rig.observations[].".length));
  for (const [key, value] of Object.entries((v ?? {}) as Record<string, unknown>)) {
    if (key === "chosen" && Array.isArray(value)) draft.chosen = value.filter((n): n is string => names.includes(n as string));
    else if (names.includes(key) && (typeof value === "number" || typeof value === "string")) draft[key] = value;
  }
  return draft;
}
