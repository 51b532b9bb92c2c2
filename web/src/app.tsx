// The frame: which screen, the bar of screens, what the page says of itself.

import { useEffect, useLayoutEffect, useState } from "preact/hooks";
import type { About } from "./about";
import { earlyAbout } from "./ask";
import { CardScreen } from "./card";
import { DayScreen } from "./day";
import { Question } from "./exchange";
import { MeasureScreen } from "./measure";
import { Now } from "./now";
import { declineInstall, install, offersInstall, takeNewer, useOffline } from "./offline";
import { addRig, newRig, RigScreen, rigName } from "./rig";
import { fromLink, isLink, Unfit, type Incoming } from "./share";
import { canUndo, currentRig, hasStored, isReadOnly, isUnsaved, state, subscribe, undo, update, useDoc } from "./store";
import { words } from "./words";

type Screen = keyof typeof words.screens;
const SCREENS = Object.keys(words.screens) as Screen[];
const screenOf = (fragment: string): Screen => SCREENS.find((s) => fragment === "#" + s) ?? "now";

/** The whole page: first use at once, the rest when the solver is there. */
export function Root({ started }: { started: Promise<About> }) {
  const [about, setAbout] = useState<About | null>(earlyAbout);
  const [failed, setFailed] = useState("");
  const [choice, setChoice] = useState<"own" | "demo" | "">("");
  const [first] = useState(() => !hasStored() && !isLink(location.hash));
  useEffect(() => {
    started.then(setAbout, (cause: Error) => setFailed(cause.message));
  }, []);
  if (failed) {
    return (
      <main class="welcome">
        <h1>{words.failed}</h1>
        <p>{words.failedWhy}</p>
        <p class="quiet">{failed}</p>
        <button type="button" onClick={() => location.reload()}>{words.reload}</button>
      </main>
    );
  }
  if (first && !(about && choice)) return <Welcome chosen={choice !== ""} own={() => setChoice("own")} demo={() => setChoice("demo")} />;
  if (!about) return <main class="waiting"><h1>{words.name}</h1><p>{words.starting}</p></main>;
  return <App about={about} choice={choice} />;
}

export function App({ about, choice }: { about: About; choice: "own" | "demo" | "" }) {
  const doc = useDoc();
  const [at, setAt] = useState<{ screen: Screen; field?: string }>({ screen: screenOf(location.hash) });
  const [incoming, setIncoming] = useState<Incoming | null>(null);
  const [note, setNote] = useState("");

  const go = (screen: string, field?: string) => {
    if (/^rig\.(observations|learned)\b/.test(field ?? "")) screen = "measure";
    setAt({ screen: screen as Screen, field });
    history.pushState(null, "", "#" + screen);
    if (!field) scrollTo(0, 0);
  };

  const chosen = (which: "own" | "demo") => {
    accepted();
    if (which === "own") addRig(newRig(about));
    go(which === "own" ? "rig" : "now");
  };
  useLayoutEffect(() => {
    if (choice && !state().welcomed) chosen(choice);
  }, []);

  useEffect(() => {
    const follow = () => {
      const fragment = location.hash;
      if (!isLink(fragment)) return setAt({ screen: screenOf(fragment) });
      // Out of the address bar, so that a reload does not ask again.
      history.replaceState(null, "", location.pathname);
      fromLink(fragment).then(setIncoming, (cause) => setNote(`${cause instanceof Unfit ? cause.message : words.exchange.cut} ${words.exchange.bad}`));
    };
    follow();
    addEventListener("hashchange", follow);
    addEventListener("popstate", follow);
    return () => {
      removeEventListener("hashchange", follow);
      removeEventListener("popstate", follow);
    };
  }, []);

  useEffect(() => {
    const keys = (e: KeyboardEvent) => {
      if ((e.ctrlKey || e.metaKey) && e.key === "z" && !e.shiftKey && !editing()) {
        e.preventDefault();
        undo();
      }
    };
    addEventListener("keydown", keys);
    return () => removeEventListener("keydown", keys);
  }, []);

  const messages = (
    <>
      {isReadOnly() ? <p class="message" role="alert">{words.newerState}</p> : null}
      <Unsaved />
      {note ? <p class="message" role="alert">{note} <button type="button" onClick={() => setNote("")}>{words.close}</button></p> : null}
      {incoming ? (
        <Question incoming={incoming} title={words.exchange.incoming} done={(taken) => {
          setIncoming(null);
          if (taken) {
            update((d) => ({ ...d, welcomed: d.welcomed }));
            go("now");
          }
        }} />
      ) : null}
    </>
  );

  if (!doc.welcomed && !incoming && !choice) {
    return (
      <>
        {messages}
        <Welcome chosen={false} own={() => chosen("own")} demo={() => chosen("demo")} />
      </>
    );
  }
  return (
    <>
      <header class="top">
        <button type="button" class="rigname" onClick={() => go("rig")}>{rigName(currentRig(doc), about)}</button>
        <Status />
        <button type="button" class="undo" disabled={!canUndo()} aria-label={words.undo} title={words.undoHint} onClick={undo}>↶<span class="wide"> {words.undo}</span></button>
      </header>
      {messages}
      <Newer />
      <Install key={at.screen} />
      {at.screen === "now" ? <Now about={about} go={go} /> : null}
      {at.screen === "day" ? <DayScreen about={about} go={go} /> : null}
      {at.screen === "rig" ? <RigScreen about={about} go={go} focus={at.field} /> : null}
      {at.screen === "measure" ? <MeasureScreen about={about} go={go} focus={at.field} /> : null}
      {at.screen === "card" ? <CardScreen about={about} /> : null}
      <nav class="screens" aria-label={words.name}>
        {SCREENS.map((s) => (
          <a key={s} href={"#" + s} aria-current={at.screen === s ? "page" : undefined} onClick={(e) => { e.preventDefault(); go(s); }}>{words.screens[s]}</a>
        ))}
      </nav>
    </>
  );
}

const accepted = () => update((d) => ({ ...d, welcomed: true }));

/** Whether somebody is in the middle of typing. */
function editing(): boolean {
  const e = document.activeElement;
  return e instanceof HTMLTextAreaElement || (e instanceof HTMLInputElement && e.type !== "range" && e.type !== "file");
}

function Status() {
  const o = useOffline();
  const w = words.offline;
  const [sign, text, hint] = !o.online && o.ready ? ["●", w.noSignal, w.readyHint]
    : o.ready ? ["●", w.ready, w.readyHint]
    : o.impossible ? ["○", w.impossible, w.impossibleHint]
    : ["◌", w.loading, ""];
  return <span class="status" role="status" title={hint}><span aria-hidden="true">{sign} </span>{text}</span>;
}

/** Says so when this browser stores no more. */
function Unsaved() {
  const [at, set] = useState(isUnsaved);
  useEffect(() => subscribe(() => set(isUnsaved())), []);
  return at ? <p class="message" role="alert">{words.unsaved}</p> : null;
}

/** Offers the newer page; never while something is being typed. */
function Newer() {
  const o = useOffline();
  const [, look] = useState(0);
  const w = words.offline;
  useEffect(() => {
    const again = () => look((n) => n + 1);
    addEventListener("focusin", again);
    addEventListener("focusout", again);
    return () => {
      removeEventListener("focusin", again);
      removeEventListener("focusout", again);
    };
  }, []);
  if (!o.newer || editing()) return null;
  return <p class="message" role="status">{w.newer} <button type="button" onClick={takeNewer}>{w.take}</button></p>;
}

/** Offers to keep the page as an app: with a screen as it comes, so that nothing moves under a finger. */
function Install() {
  const [open, setOpen] = useState(offersInstall);
  const { installable } = useOffline();
  const w = words.offline;
  if (!open || !installable) return null;
  return (
    <div class="message offer" role="status">
      <span>{w.offer}</span>
      <button type="button" onClick={install}>{w.install}</button>
      <button type="button" onClick={() => { declineInstall(); setOpen(false); }}>{w.notNow}</button>
    </div>
  );
}

function Welcome({ chosen, own, demo }: { chosen: boolean; own: () => void; demo: () => void }) {
  const w = words.welcome;
  return (
    <main class="welcome" id="screen">
      <p class="brand">{words.name}</p>
      <h1>{words.motto}</h1>
      <p>{w.what}</p>
      <h2>{w.cautions}</h2>
      <ul>{words.cautions.map((c) => <li key={c}>{c}</li>)}</ul>
      <div class="tools">
        {chosen ? <p role="status">{words.now.wait}</p> : (
          <>
            <button type="button" class="main" onClick={own}>{w.own}</button>
            <button type="button" onClick={demo}>{w.demo}</button>
          </>
        )}
      </div>
    </main>
  );
}
