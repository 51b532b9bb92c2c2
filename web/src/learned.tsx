// What is said of an answer that rests on readings, and the way to drop that.

import { valueAt, withValue } from "./about";
import { LEARNED, markOf, OBSERVATIONS } from "./fit_answer";
import { updateRig, type Rig } from "./store";
import { words } from "./words";

/** Whether readings were changed after what is in use was learned of them. */
export const readSince = (rig: Rig) =>
  rig.learnedOf !== undefined && valueAt(rig.request, LEARNED) !== undefined && rig.learnedOf !== markOf(valueAt(rig.request, OBSERVATIONS));

export function LearnedNote({ rig, validity, go }: { rig: Rig; validity: { code: string }[] | undefined; go?: (screen: string) => void }) {
  const w = words.measure;
  if (valueAt(rig.request, LEARNED) === undefined) return null;
  const stale = validity?.some((v) => v.code === "learned_stale");
  const drop = () => updateRig((r) => ({ ...r, request: withValue(r.request, LEARNED, undefined), learnedOf: undefined }));
  return (
    <div class={stale ? "learned stale" : "learned"}>
      <p><span aria-hidden="true">{stale ? "▲ " : "◆ "}</span>{stale ? w.stale : readSince(rig) ? `${w.rests} ${w.since}` : w.rests}</p>
      <div class="tools">
        {go ? <button type="button" class="link" onClick={() => go("measure")}>{w.look}</button> : null}
        <button type="button" class="link" onClick={drop}>{w.forget}</button>
      </div>
    </div>
  );
}
