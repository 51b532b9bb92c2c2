// Keeping, moving and sharing rigs: files, links, QR codes; and the question
// before anything that came in is added.

import { useEffect, useRef, useState } from "preact/hooks";
import { encode } from "uqr";
import type { About } from "./about";
import { install, useOffline } from "./offline";
import { rigName } from "./rig";
import { download, fileName, fileOf, fromFile, hasOwn, linkTo, ownOf, Unfit, withoutOwn, type Incoming } from "./share";
import { currentRig, newId, update, useDoc } from "./store";
import { words } from "./words";

const w = words.exchange;

/** Adds what came in, with or without what belongs to one vehicle; the last of it is then the present rig. */
function accept(incoming: Incoming, own: boolean): void {
  update((d) => {
    const added = incoming.rigs.map((r) => ({ ...(own ? r : withoutOwn(r)), id: newId() }));
    return { ...d, rigs: [...d.rigs, ...added], current: added[added.length - 1]!.id };
  });
}

export function Exchange({ about }: { about: About }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const name = rigName(rig, about);
  const [link, setLink] = useState("");
  const [note, setNote] = useState("");
  const [incoming, setIncoming] = useState<Incoming | null>(null);
  const [own, setOwn] = useState({ file: true, link: false }); // whether what was learned goes along
  const { installable } = useOffline();
  const picker = useRef<HTMLInputElement>(null);
  useEffect(() => setLink(""), [rig, own.link]);
  useEffect(() => setOwn({ file: true, link: false }), [rig.id]);

  const share = async () => {
    try {
      setLink(await linkTo(own.link ? rig : withoutOwn(rig), name));
      setNote("");
    } catch (cause) {
      setNote(cause instanceof Unfit ? cause.message : w.linkTooLong);
    }
  };

  const read = async (file: File | undefined) => {
    if (!file) return;
    setNote(w.reading);
    setIncoming(null);
    try {
      setIncoming(await fromFile(file));
      setNote("");
    } catch (cause) {
      setNote(`${cause instanceof Unfit ? cause.message : w.notJson} ${w.bad}`);
    }
  };

  return (
    <section class="exchange" aria-labelledby="h-exchange">
      <h2 id="h-exchange">{w.title}</h2>
      <p class="quiet">{w.lead}</p>
      <div class="tools">
        <button type="button" onClick={() => download(fileName(name), fileOf(own.file ? rig : withoutOwn(rig)))}>{w.file}</button>
        <button type="button" onClick={() => download("all.spareamps.json", doc)}>{w.all}</button>
        <button type="button" onClick={() => picker.current?.click()}>{w.open}</button>
        <input ref={picker} id="file" class="unseen" type="file" accept=".json,application/json" tabIndex={-1} aria-label={w.open}
          onChange={(e) => { void read(e.currentTarget.files?.[0]); e.currentTarget.value = ""; }} />
        <button type="button" onClick={() => void share()}>{w.link}</button>
        {installable ? <button type="button" onClick={install}>{words.offline.install}</button> : null}
      </div>
      {hasOwn(rig.request) ? (
        <div class="own" role="group" aria-labelledby="h-own">
          <h3 id="h-own">{w.own}</h3>
          <p class="quiet">{w.ownLead}</p>
          <div class="chips">
            <button type="button" aria-pressed={own.file} onClick={() => setOwn({ ...own, file: !own.file })}>{w.ownFile}</button>
            <button type="button" aria-pressed={own.link} onClick={() => setOwn({ ...own, link: !own.link })}>{w.ownLink}</button>
          </div>
        </div>
      ) : null}
      <p role="status" class="note">{note}</p>
      {incoming ? (
        <Question incoming={incoming} title={incoming.rigs.length > 1 ? w.incomingAll(incoming.rigs.length) : w.incomingFile}
          done={(taken) => { setIncoming(null); setNote(taken ? w.added : w.bad); }} />
      ) : null}
      {link ? (
        <div class="link">
          <p class="quiet">{w.linkHint}{hasOwn(rig.request) ? ` ${own.link ? w.linkWith : w.linkWithout}` : ""}</p>
          <div class="entry">
            <input type="text" readOnly value={link} aria-label={w.link} onFocus={(e) => e.currentTarget.select()} />
            <button type="button" onClick={() => void navigator.clipboard?.writeText(link).then(() => setNote(w.copied))}>{w.copyLink}</button>
          </div>
          <QR text={link} />
        </div>
      ) : null}
    </section>
  );
}

/** Asks before something that came in is added. */
export function Question({ incoming, title, done }: { incoming: Incoming; title: string; done: (taken: boolean) => void }) {
  const at = useRef<HTMLDivElement>(null);
  useEffect(() => at.current?.focus(), []);
  const carrying = incoming.rigs.filter((r) => hasOwn(r.request));
  const [first] = carrying;
  const take = (own: boolean) => {
    accept(incoming, own);
    done(true);
  };
  return (
    <div class="question" ref={at} tabIndex={-1} role="group" aria-label={title}>
      <p><strong>{title}:</strong> {incoming.rigs.map((r) => r.name).join(", ")}</p>
      {first ? (
        <p class="carries"><span aria-hidden="true">▲ </span>{carrying.length > 1 || incoming.rigs.length > 1 ? w.carryAll(carrying.length) : w.carries(ownOf(first.request).learned, ownOf(first.request).readings)} {w.carryHint}</p>
      ) : null}
      <div class="tools">
        <button type="button" class="main" onClick={() => take(true)}>{w.takeIt}</button>
        {first ? <button type="button" onClick={() => take(false)}>{w.takeBare}</button> : null}
        <button type="button" onClick={() => done(false)}>{w.leaveIt}</button>
      </div>
    </div>
  );
}

function QR({ text }: { text: string }) {
  let code;
  try {
    code = encode(text, { ecc: "L", border: 3 });
  } catch {
    return <p>{w.qrTooLong}</p>;
  }
  let d = "";
  code.data.forEach((row, y) => row.forEach((dark, x) => { if (dark) d += `M${x} ${y}h1v1h-1z`; }));
  return (
    <svg class="qr" viewBox={`0 0 ${code.size} ${code.size}`} role="img" aria-label={w.qr} shape-rendering="crispEdges">
      <rect class="paper" width={code.size} height={code.size} />
      <path class="ink" d={d} />
    </svg>
  );
}
