// Learning from the readings: asked for by a press, worked out in a thread of
// its own, used only if a person says so.

import { useRef, useState } from "preact/hooks";
import { valueAt, withValue, type About, type Json, type Part, type Request } from "./about";
import type { Reply } from "./ask";
import { Busy, useAlone } from "./busy";
import { Found } from "./found";
import { LEARNED, markOf, OBSERVATIONS, type Fit } from "./fit_answer";
import { readSince } from "./learned";
import { Problems } from "./now";
import { state, undo, updateRig, type Doc, type Rig } from "./store";
import type { Units } from "./units";
import { words } from "./words";

interface Result {
  key: string; // what it was learned of
  reply: Reply<Fit>;
  taken?: "used" | "left";
}

const results = new Map<string, Result>(); // by rig: they outlive a look at another screen

/** The request a fit answers; what is in use already is none of its business. */
export function fitRequest(rig: Rig): Request {
  const { confidence, moment } = rig.request;
  const { learned: _, ...plain } = rig.request.rig;
  return { ...(confidence === undefined ? {} : { confidence }), rig: plain, moment };
}

/** What a result hangs on: all of the rig but what the result itself proposes to put in. */
const keyOf = (rig: Rig, a: Fit | undefined) => JSON.stringify((a?.proposals ?? []).reduce((q, p) => withValue(q, p.input, undefined), fitRequest(rig)).rig);

interface Props {
  about: About;
  rig: Rig;
  rows: Part[];
  units: Units;
  go: (screen: string, field?: string) => void;
  enter: (fields: string[], conditions: Record<string, number | string>) => void;
}

export function Learn({ about, rig, rows, units, go, enter }: Props) {
  const w = words.measure;
  const [, draw] = useState(0);
  const { seconds, run, stop } = useAlone();
  const [note, setNote] = useState("");
  const after = useRef<Doc | null>(null); // the document as it was left by using a result
  const title = useRef<HTMLHeadingElement>(null);

  const result = results.get(rig.id);
  const key = keyOf(rig, result?.reply.answer);
  const inUse = valueAt(rig.request, LEARNED) !== undefined;

  const learn = async () => {
    setNote("");
    const got = await run<Fit>({ ask: "fit", request: fitRequest(rig) });
    if (!got) return;
    results.set(rig.id, { key: keyOf(rig, got.answer), reply: got });
    draw((n) => n + 1);
    setTimeout(() => title.current?.focus());
  };
  const use = () => {
    updateRig((r) => ({ ...r, request: withValue(r.request, LEARNED, result!.reply.answer!.learned as Json), learnedOf: markOf(valueAt(r.request, OBSERVATIONS)) }));
    after.current = state();
    results.set(rig.id, { ...result!, taken: "used" });
    setNote(w.used);
  };
  const take = (input: string, value: number) => updateRig((r) => ({ ...r, request: withValue(r.request, input, value) }));
  const leave = () => {
    results.delete(rig.id);
    setNote(w.left);
  };

  const answer = result?.reply.answer;
  const changed = result !== undefined && result.key !== key;
  const canUse = answer?.keep === "yes" && answer.learned && !changed;
  const isUsed = canUse && inUse && JSON.stringify(valueAt(rig.request, LEARNED)) === JSON.stringify(answer.learned);

  return (
    <section class="learn" aria-labelledby="h-learn">
      <h2 id="h-learn">{w.learn}</h2>
      {rows.length === 0 ? <p>{w.none}</p> : (
        <>
          <p class="quiet">{w.learnLead}</p>
          {readSince(rig) ? <p class="since"><span aria-hidden="true">▲ </span>{w.since}</p> : null}
          <div class="tools">
            <button type="button" class={canUse && !isUsed ? "" : "main"} onClick={() => void learn()}>{result || inUse ? w.again : w.button(rows.length)}</button>
          </div>
        </>
      )}
      {seconds !== null ? <Busy seconds={seconds} doing={w.busy(rows.length)} stop={() => { stop(); setNote(w.cancelled); }} /> : null}
      <p role="status" class="note">{seconds !== null ? "" : note}</p>
      {note === w.used && after.current === state() ? (
        <div class="tools"><button type="button" onClick={() => { undo(); setNote(""); }}>{words.undo}</button></div>
      ) : null}
      {result?.reply.refused ? <Problems about={about} refused={result.reply.refused} go={go} /> : null}
      {answer ? (
        <div class={changed ? "result old" : "result"}>
          <h3 class="verdict" ref={title} tabIndex={-1}>{w.verdicts[answer.verdict] ?? answer.verdict}</h3>
          {changed ? <p class="wrong">{w.changed}</p> : null}
          <Found about={about} a={answer} units={units} go={go} enter={enter} holds={(input, value) => valueAt(rig.request, input) === value} take={take}>
            {canUse && !isUsed ? (
              <div class="useit">
                <p class="quiet">{w.useHint}</p>
                <div class="tools">
                  <button type="button" class="main" onClick={use}>{w.use}</button>
                  <button type="button" onClick={leave}>{w.leave}</button>
                </div>
              </div>
            ) : answer.keep === "no" ? <p><strong>{w.notKept}</strong></p> : null}
          </Found>
        </div>
      ) : null}
    </section>
  );
}
