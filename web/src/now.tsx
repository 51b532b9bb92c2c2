// Now: the setting to choose, the numbers that change, and why.

import { memo } from "preact/compat";
import { useEffect, useRef, useState } from "preact/hooks";
import { capital, plainly, spaced, type About, type Part, type Request } from "./about";
import { sentence, says, type Ceiling } from "./answer";
import { useReply, type Refused, type Reply } from "./ask";
import { Controls } from "./controls";
import { Curve, curveSpeeds, type CurveData } from "./curve";
import { Fold } from "./fold";
import { GearBox, idleOf } from "./gears";
import { Ladder } from "./ladder";
import { LearnedNote } from "./learned";
import { amps, fixed, watts } from "./number";
import { Scroll } from "./scroll";
import { currentRig, rigOf, useDoc, type Rig } from "./store";
import { scale, toShown, type Units } from "./units";
import { words } from "./words";

/** The request a moment of a rig makes. The day is left out: it is another question. */
export function momentRequest(rig: Rig, moment: Part): Request {
  const { confidence } = rig.request;
  return { ...(confidence === undefined ? {} : { confidence }), rig: rigOf(rig), moment };
}

export function useCeiling(channel: string, rig: Rig, moment: Part | null): Reply<Ceiling> | null {
  const request = moment && momentRequest(rig, moment);
  return useReply<Ceiling>(channel, request && { ask: "ceiling", request }, request && JSON.stringify(request));
}

export function Now({ about, go }: { about: About; go: (screen: string, field?: string) => void }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const [side, setSide] = useState<"now" | "if">("now");
  const second = rig.whatIf !== null && side === "if";
  const moment = second ? rig.whatIf! : rig.request.moment;
  const first = useCeiling("now", rig, rig.request.moment);
  const other = useCeiling("if", rig, rig.whatIf);
  const reply = second ? other : first;
  const a = reply?.answer;

  const w = words.now;
  const settingW = Number(moment.setting_W ?? 0);
  const others = rig.whatIf ? ((second ? first?.answer : other?.answer) ?? null) : null;
  const late = useLate<Reasons | null>(
    a ? { a, other: others, otherName: second ? w.first : w.second, request: reply?.held ? null : momentRequest(rig, moment), settingW } : null,
    `${reply?.id} ${others ? (second ? first?.id : other?.id) : ""}`,
  );
  const goRef = useRef(go);

  return (
    <main class="now" id="screen" data-answer={reply?.id}>
      <h1 class="unseen">{w.title}</h1>
      <div class="front">
        <section class={rig.whatIf ? "answer two" : "answer"} aria-label={w.set}>
          {rig.whatIf ? (
            <div class="pair" role="group" aria-label={w.second}>
              <Side name={w.first} on={!second} reply={first} pick={() => setSide("now")} than={null} />
              <Side name={w.second} on={second} reply={other} pick={() => setSide("if")} than={first?.answer ?? null} />
            </div>
          ) : (
            <Setting about={about} reply={reply} go={go} />
          )}
          <div class="because" aria-live="polite">{a ? <Because a={a} settingW={settingW} /> : reply?.refused && rig.whatIf ? <Problems about={about} refused={reply.refused} go={go} /> : null}</div>
        </section>

        <Controls about={about} doc={doc} second={second} setSide={setSide} />
        <LearnedNote rig={rig} validity={a?.validity} go={go} />
        <GearBox key={"gears" + doc.current} about={about} rig={rig} units={doc.units} />
        {reply?.held ? <Held about={about} problems={reply.held} go={go} /> : null}
      </div>

      {late ? <Why {...late} units={doc.units} about={about} go={goRef.current} /> : null}
    </main>
  );
}

interface Reasons {
  a: Ceiling;
  other: Ceiling | null; // of the other moment
  otherName: string;
  request: Request | null; // of now; null where the answer leaves out parts of the rig
  settingW: number;
}

/**
 * A value as of the last pause, none in the first picture: what hangs on it is
 * drawn when the answer is on the screen and nothing else waits.
 */
function useLate<T>(value: T, key: unknown): T | null {
  const [late, set] = useState<T | null>(null);
  useEffect(() => {
    if (!self.requestIdleCallback) return set(value); // behind the picture all the same
    const soon = requestIdleCallback(() => set(value), { timeout: 250 });
    return () => cancelIdleCallback(soon);
  }, [key]);
  return late;
}

/** Everything below the answer. It follows behind, so that the answer is there first. */
const Why = memo(function Why({ a, other, otherName, request, settingW, units, about, go }: Reasons & { units: Units; about: About; go: (screen: string, field?: string) => void }) {
  return (
    <div class="why">
      <section aria-labelledby="h-ladder">
        <h2 id="h-ladder">{words.ladder.title} <small>{words.ladder.axis}</small></h2>
        <Ladder a={a} other={other} otherName={otherName} settingW={settingW} />
      </section>
      <section aria-labelledby="h-curve">
        <h2 id="h-curve">{words.curve.title}</h2>
        <Speeds a={a} request={request} idle={idleOf(about, request)} settingW={settingW} />
      </section>
      <Stop a={a} units={units} />
      <Hold a={a} settingW={settingW} />
      <Sure a={a} about={about} go={go} />
      <Heat a={a} units={units} />
      {a.validity.length > 0 ? (
        <section aria-labelledby="h-remarks">
          <h2 id="h-remarks">{words.remarks.title}</h2>
          <ul class="plain">{a.validity.map((v) => <li key={v.code + v.field}>{sentence(plainly(about, v.message))}</li>)}</ul>
        </section>
      ) : null}
      <section aria-labelledby="h-cautions" class="cautions">
        <h2 id="h-cautions">{words.cautionsTitle}</h2>
        <ul>{a.cautions.map((c) => <li key={c}>{sentence(c)}</li>)}</ul>
      </section>
      <details>
        <summary>{words.how.title}</summary>
        {words.how.body.map((p) => <p key={p}>{p}</p>)}
        <p class="quiet">{words.how.version(about.version)}</p>
      </details>
    </div>
  );
});

/** The ceiling against engine speed. It is asked for when the answer is on the screen, so as not to hold that up. */
const Speeds = memo(function Speeds({ a, request, idle, settingW }: { a: Ceiling; request: Request | null; idle: number; settingW: number }) {
  const rpm = Number(request?.moment?.engine_rpm ?? idle);
  const speeds = curveSpeeds(idle, Math.max(rpm, 3000));
  const { engine_rpm: _, setting_W: __, ...still } = request?.moment ?? {};
  const curve = useReply<CurveData>(
    "curve",
    request && { ask: "curve", request, path: "moment.engine_rpm", values: speeds, outputs: ["ceiling.output_W", "nominal.output_W"] },
    request && JSON.stringify([request.rig, request.confidence, still, speeds]),
  )?.answer;
  return curve && curve["ceiling.output_W"].length === speeds.length
    ? <Curve speeds={speeds} data={curve} a={a} rpm={rpm} settingW={settingW} />
    : <p class="quiet">{words.now.wait}</p>;
});

/** The setting, large. */
function Setting({ about, reply, go }: { about: About; reply: Reply<Ceiling> | null; go: (screen: string, field?: string) => void }) {
  const w = words.now;
  if (!reply) return <p class="big wait">{w.wait}</p>;
  if (reply.refused) return <Problems about={about} refused={reply.refused} go={go} />;
  const { advice, ceiling } = reply.answer!;
  return advice.output_W > 0 ? (
    <p class="setting">
      <span class="lead">{w.set}</span>
      <strong class="big"><span class="number">{watts(advice.output_W)}</span><span class="unit"> W</span></strong>
      <span class="also"><b>{amps(advice.output_A)} A</b> {w.out} <span class="tail">{w.orLess}</span></span>
    </p>
  ) : (
    <p class="setting">
      <span class="lead">{ceiling.output_W > 0 ? w.offIdle : w.leaveOff}</span>
      <strong class="big"><span class="number">{w.off}</span></strong>
      {ceiling.output_W > 0 ? <span class="also">{w.moving} <b>{watts(ceiling.output_W)} W</b></span> : null}
    </p>
  );
}

/** One of two settings beside each other; picks which moment the nudges move. */
function Side({ name, on, reply, pick, than }: { name: string; on: boolean; reply: Reply<Ceiling> | null; pick: () => void; than: Ceiling | null }) {
  const w = words.now;
  const a = reply?.answer;
  const more = a && than ? a.advice.output_W - than.advice.output_W : 0;
  return (
    <button type="button" class="side" aria-pressed={on} onClick={pick}>
      <span class="lead">{name}</span>
      <strong class="big"><span class="number">{a ? (a.advice.output_W > 0 ? watts(a.advice.output_W) : w.off) : "–"}</span>{a && a.advice.output_W > 0 ? <span class="unit"> W</span> : null}</strong>
      <span class="also">{a && a.advice.output_W > 0 ? `${amps(a.advice.output_A)} A` : ""}{a && than ? ` · ${more === 0 ? w.same : more > 0 ? w.more(watts(more) + " W") : w.fewer(watts(-more) + " W")}` : ""}</span>
    </button>
  );
}

/** What sets it, and what that means for the charger as it is set. */
function Because({ a, settingW }: { a: Ceiling; settingW: number }) {
  const w = words.now;
  const why = says(a, "limit") || says(a, "zero");
  const [adv, now] = [a.advice.output_W, a.ceiling.output_W];
  const to = adv > 0 ? `${watts(adv)} W` : w.offWord;
  const present = `${fixed(settingW)} W`;
  let verdict: [string, string, string] | null = null; // kind, sign, text
  if (settingW > 0) {
    if (settingW > now) {
      const held = a.hold.find((h) => h.output_W >= settingW);
      const stay = held?.minutes != null && held.minutes >= 1 ? " " + w.verdictHold(fixed(Math.floor(held.minutes))) : "";
      verdict = ["over", "▼", w.verdictOver(present, to) + stay];
    } else if (settingW > adv) verdict = ["stop", "▽", w.verdictStop(present, to)];
    else if (settingW === adv) verdict = ["fine", "✓", w.verdictFine(present)];
    else verdict = ["fine", "✓", w.verdictRoom(present, `${watts(adv - settingW)} W`)];
  }
  return (
    <>
      <p>{sentence(why)}</p>
      {says(a, "self_limiting") ? <p>{sentence(says(a, "self_limiting"))}</p> : null}
      {adv <= 0 ? ["confidence", "unknown"].map((code) => says(a, code) && <p key={code}>{sentence(says(a, code))}</p>) : null}
      {verdict ? <p class={"verdict " + verdict[0]}><span aria-hidden="true">{verdict[1]} </span>{verdict[2]}</p> : null}
    </>
  );
}

/** Why there is no answer, and where to mend it. */
export function Problems({ about, refused, go }: { about: About; refused: Refused; go: (screen: string, field?: string) => void }) {
  const w = words.now;
  return (
    <div class="problems">
      <p class="lead"><strong>{w.noAnswer}</strong> {w.needs}:</p>
      <ul>
        {(refused.problems.length > 0 ? refused.problems : [{ field: "", message: refused.message }]).map((p, i) => (
          <li key={i}>
            {sentence(plainly(about, p.message))}{" "}
            {p.field.startsWith("rig") ? <button type="button" class="link" onClick={() => go("rig", p.field)}>{w.go}</button> : null}
          </li>
        ))}
      </ul>
    </div>
  );
}

function Held({ about, problems, go }: { about: About; problems: { field: string; message: string }[]; go: (screen: string, field?: string) => void }) {
  return (
    <div class="problems held">
      <p><strong>{words.now.left}:</strong></p>
      <ul>{problems.map((p, i) => <li key={i}>{sentence(plainly(about, p.message))} <button type="button" class="link" onClick={() => go("rig", p.field)}>{words.now.go}</button></li>)}</ul>
    </div>
  );
}

const degrees = (v: number | null | undefined, units: Units) => {
  const s = scale(units, "°C");
  return v === null || v === undefined ? "–" : `${fixed(toShown(s, v))} ${s.unit}`;
};

function Stop({ a, units }: { a: Ceiling; units: Units }) {
  const w = words.stop;
  const i = a.after_idle;
  const air = degrees(i.inlet_air_C, units);
  return (
    <section aria-labelledby="h-stop">
      <h2 id="h-stop">{w.title}</h2>
      <p>{i.output_W > 0 ? w.body(fixed(i.minutes), watts(i.output_W), amps(i.input_A), air) : w.none(fixed(i.minutes), air)} {w.sets(spaced(i.limit))}</p>
    </section>
  );
}

function Hold({ a, settingW }: { a: Ceiling; settingW: number }) {
  const w = words.hold;
  const rows = a.hold.filter((h) => h.minutes === null || h.minutes >= 1);
  if (a.ceiling.output_W <= 0 || a.hold.length === 0) return null;
  return (
    <section aria-labelledby="h-hold">
      <h2 id="h-hold">{w.title}</h2>
      {rows.length === 0 ? <p>{w.none}</p> : (
        <>
          <p class="quiet">{settingW > 0 ? w.from : w.fromOff}</p>
          <table>
            <thead><tr><th scope="col">{w.setting}</th><th scope="col">{w.minutes}</th><th scope="col">{w.then}</th></tr></thead>
            <tbody>
              {rows.map((h) => (
                <tr key={h.output_W}>
                  <th scope="row">{watts(h.output_W)} W</th>
                  <td>{h.minutes === null ? w.hour : `${fixed(Math.floor(h.minutes))} min`}</td>
                  <td class="text">{h.limit ? spaced(h.limit) : "–"}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </>
      )}
    </section>
  );
}

/** What an unknown is called in a sentence. */
export const unknownMeaning = (about: About, name: string) => about.unknowns.find((u) => u.unknown === name)?.meaning ?? spaced(name);

function Sure({ a, about, go }: { a: Ceiling; about: About; go: (screen: string, field?: string) => void }) {
  const w = words.sure;
  const costly = a.unknowns.filter((u) => u.cost_A >= 0.05);
  const top = a.costliest_unknown;
  return (
    <section aria-labelledby="h-sure">
      <h2 id="h-sure">{w.title}</h2>
      <p>{w.body(`${fixed(100 * a.ceiling.confidence)} %`)} {a.nominal.output_W > 0 ? w.likely(watts(a.nominal.output_W), amps(a.nominal.input_A)) : null}</p>
      {top.cost_A >= 0.5 ? (
        <div class="buy">
          <h3>{w.costliest}</h3>
          <p>{w.costs(unknownMeaning(about, top.unknown), amps(top.cost_A))} <strong>{sentence(top.measure)}</strong></p>
        </div>
      ) : <p>{w.nothing}</p>}
      <div class="tools"><button type="button" onClick={() => go("rig", "confidence")}>{w.change}</button></div>
      {costly.length > 0 ? (
        <Fold summary={w.all}>{() => <Unknowns a={a} about={about} />}</Fold>
      ) : null}
    </section>
  );
}

export function Unknowns({ a, about }: { a: Ceiling; about: About }) {
  return (
    <ul class="unknowns">
      {a.unknowns.filter((u) => u.cost_A >= 0.05).map((u) => (
        <li key={u.unknown}>
          <b>{amps(u.cost_A)} A</b>
          <span>{capital(unknownMeaning(about, u.unknown))}. <span class="quiet">{sentence(u.measure)}</span></span>
        </li>
      ))}
    </ul>
  );
}

function Heat({ a, units }: { a: Ceiling; units: Units }) {
  const w = words.heat;
  const m = a.alternator;
  return (
    <section aria-labelledby="h-heat">
      <h2 id="h-heat">{w.title}</h2>
      <p class="quiet">{w.intro}</p>
      <Scroll label={w.title}>
        <table>
          <thead><tr><th scope="col">{w.part}</th><th scope="col">{w.likely}</th><th scope="col">{w.edge}</th><th scope="col">{w.held}</th></tr></thead>
          <tbody>
            {Object.entries(w.names).map(([key, name]) => (
              <tr key={key}>
                <th scope="row">{name}</th>
                <td>{degrees(a.temperatures_C[key], units)}</td>
                <td>{degrees(a.careful_C[key], units)}</td>
                <td>{degrees(a.design_C[key], units)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      {m.available_A > 0 ? (
        <p class="quiet">
          {w.machine(amps(m.current_A), amps(m.available_A), fixed(m.speed_rpm), amps(m.other_A))} {w.belt(fixed(m.shaft_W), fixed(100 * m.efficiency))}{" "}
          {a.wiring ? w.lead(fixed(a.wiring.drop_V, 2), fixed(a.wiring.charger_V, 1), degrees(a.wiring.conductor_C, units)) : null}
        </p>
      ) : null}
    </section>
  );
}
