// Day: the gentlest setting that fills the house battery, when to change it
// over, and the day it is for.

import { memo } from "preact/compat";
import { useEffect, useRef, useState } from "preact/hooks";
import { capital, fieldOf, label, plainly, spaced, type About, type Part, type Request } from "./about";
import { sentence } from "./answer";
import { useReply, type Refused } from "./ask";
import { degrees, percent, said, seriesStep, startOf, type DayPlan } from "./day_answer";
import { Handovers } from "./day_handovers";
import { Plan } from "./day_plan";
import { Strips } from "./day_strips";
import { fixed, watts } from "./number";
import { rigName } from "./rig";
import { Scroll } from "./scroll";
import { currentRig, rigOf, updateRig, useDoc, type Rig } from "./store";
import type { Units } from "./units";
import { words } from "./words";

const w = words.day;

/** The request for the plan of a rig's day; null where none is planned. */
export function dayRequest(rig: Rig): Request | null {
  const { confidence, day } = rig.request;
  if (!day) return null;
  const days = typeof day.days === "number" ? day.days : 1;
  return { ...(confidence === undefined ? {} : { confidence }), rig: rigOf(rig), day: { ...day, series_min: seriesStep(days) } } as unknown as Request;
}

type Go = (screen: string, field?: string) => void;

export function DayScreen({ about, go }: { about: About; go: Go }) {
  const doc = useDoc();
  const rig = currentRig(doc);
  const request = dayRequest(rig);
  const reply = useReply<DayPlan>("day", request && { ask: "day", request }, request && JSON.stringify(request));
  const [jump, setJump] = useState<{ path: string } | null>(null);
  const held = useRef<{ rig: string; plan: DayPlan; day: Part } | null>(null);
  if (reply?.answer) held.current = { rig: rig.id, plan: reply.answer, day: request!.day! };
  if (!request || (held.current && held.current.rig !== rig.id)) held.current = null;
  const last = held.current;
  const front = useRef<HTMLDivElement>(null);

  if (!request) return <Begin about={about} />;
  const day = rig.request.day!;
  const problems = reply?.refused?.problems ?? [];
  const mend = (field: string) => {
    if (field.startsWith("day.")) setJump({ path: field });
    else go("rig", field);
  };
  return (
    <main class="day" id="screen" data-answer={reply?.id}>
      <h1 class="unseen">{w.title}</h1>
      <div class="front" ref={front}>
        <section class="answer" aria-label={w.title}>
          {reply?.refused ? <Missing about={about} refused={reply.refused} older={last !== null} mend={mend} /> : null}
          {last ? <Top plan={last.plan} days={Number(last.day.days ?? 1)} /> : reply ? null : <p class="big wait">{words.now.wait}</p>}
        </section>
        <div class="tools">
          <button type="button" onClick={() => document.getElementById("h-plan")?.scrollIntoView()}>{w.edit}</button>
        </div>
        {last ? <Handovers plan={last.plan} start={startOf(last.day)} date={String(day.date ?? "")} rig={rig.id} name={rigName(rig, about)} /> : null}
      </div>
      <div class="why">
        {last ? <Strips plan={last.plan} start={startOf(last.day)} units={doc.units} /> : null}
        <Plan key={rig.id} about={about} rig={rig} units={doc.units} problems={problems} jump={jump} />
        {last ? <Rest about={about} plan={last.plan} units={doc.units} /> : null}
      </div>
      <Strip plan={reply?.answer ?? null} refused={reply?.refused} about={about} front={front} />
    </main>
  );
}

function Begin({ about }: { about: About }) {
  const set = (day: Part) => updateRig((r) => ({ ...r, request: { ...r.request, day } }));
  return (
    <main class="day" id="screen">
      <h1>{w.none.title}</h1>
      <p>{w.none.lead}</p>
      <div class="tools">
        <button type="button" class="main" onClick={() => set({})}>{w.none.empty}</button>
        <button type="button" onClick={() => set(structuredClone(about.demo.day ?? {}))}>{w.none.demo}</button>
      </div>
    </main>
  );
}

/** A problem of the module in the page's words: which row, which field. */
export function inWords(about: About, message: string): string {
  const rows = message.replace(/\bday\.(\w+)\[(\d+)\](?:\.(\w+))?/g, (_, list: string, i: string, key?: string) => {
    const field = key && fieldOf(about, `day.${list}[].${key}`);
    const n = Number(i) + 1;
    const row = list === "legs" ? w.plan.leg(n) : list === "loads" ? w.plan.load(n) : `${capital(spaced(list))}, ${words.rig.row(n).toLowerCase()}`;
    return field ? `${row}: \u201c${label(field)}\u201d` : row.charAt(0).toLowerCase() + row.slice(1);
  });
  return sentence(plainly(about, rows));
}

const TOLD = 6;

function Missing({ about, refused, older, mend }: { about: About; refused: Refused; older: boolean; mend: (field: string) => void }) {
  const list = refused.problems.length > 0 ? refused.problems : [{ field: "", message: refused.message }];
  return (
    <div class="problems">
      <p class="lead"><strong>{words.now.noAnswer}</strong> {words.now.needs}:</p>
      <ul>
        {list.slice(0, TOLD).map((p, i) => (
          <li key={i}>{inWords(about, p.message)} {p.field ? <button type="button" class="link" onClick={() => mend(p.field)}>{w.fill}</button> : null}</li>
        ))}
        {list.length > TOLD ? <li>+ {list.length - TOLD}</li> : null}
      </ul>
      {older ? <p>{w.older}</p> : null}
    </div>
  );
}

/** The setting, large; how the day ends; what would help. */
function Top({ plan, days }: { plan: DayPlan; days: number }) {
  const { setting, goal, nights } = plan;
  const first = plan.stretches[0]?.setting_W ?? setting.output_W;
  const several = plan.stretches.some((s) => s.setting_W !== first);
  const low = nights.reduce((a, n) => (n.house_low_soc < a.house_low_soc ? n : a), nights[0]!);
  const bad = nights.find((n) => n.starts === "no");
  const morning = bad ?? nights[nights.length - 1]!;
  const on = (text: string, day: number | string | null) => (days > 1 && day !== null ? `${text}, ${w.onDay(day)}` : text);
  const met = said(plan, "full") !== "";
  // The module's own figures: "98 % at 18:02 on day 2; ...".
  const ending = said(plan, "full") || said(plan, "missing");
  const [, soc = percent(goal.soc_then), at = goal.due_at, dayOf = null] = /^(\d+ %) at (\d\d:\d\d)(?: on day (\d+))?/.exec(ending) ?? [];
  const warn = ["failed_start", "empty", "no_start_before", "rescue"].map((code) => said(plan, code)).filter((s) => s !== "");
  const tail = said(plan, "full").split("; ")[1] ?? "";
  const shown = several ? first : setting.output_W;
  return (
    <>
      {setting.output_W > 0 ? (
        <p class="setting">
          <span class="lead">{several ? w.beginWith : setting.why === "given" ? w.allDayTry : w.allDay}</span>
          <strong class="big"><span class="number">{watts(shown)}</span><span class="unit"> W</span></strong>
          {shown === setting.output_W ? <span class="also"><b>{outAmps(setting.output_A)} A</b> {words.now.out}</span> : null}
        </p>
      ) : (
        <p class="setting">
          <span class="lead">{w.leaveOff}</span>
          <strong class="big"><span class="number">{words.now.off}</span></strong>
        </p>
      )}
      <div class="because" aria-live="polite">
        {said(plan, "self_limiting") ? <p>{sentence(said(plan, "self_limiting"))}</p> : null}
        {several || setting.output_W <= 0 || said(plan, "setting").startsWith("tried") ? <p>{sentence(said(plan, "setting"))}</p> : null}
        {warn.map((s) => <p key={s} class="verdict over"><span aria-hidden="true">▲ </span>{sentence(s)}</p>)}
      </div>
      <dl class="facts" aria-label={w.facts}>
        <div class={met ? "" : "bad"}>
          <dt>{w.house}</dt>
          <dd><b>{met ? "" : <span aria-hidden="true">▲ </span>}{on(w.fullAt(soc, at), dayOf)}</b>
            {met ? (tail ? <span> {sentence(tail)}</span> : null) : <span> {w.short(fixed(goal.missing_Wh), percent(goal.want_soc))}</span>}</dd>
        </div>
        <div class={low.reserve_at ? "bad" : ""}>
          <dt>{nights.length > 1 ? w.nights : w.tonight}</dt>
          <dd><b>{on(w.lowest(percent(low.house_low_soc), low.house_low_at), low.day)}</b>
            {low.reserve_at ? <span> {sentence(said(plan, "night").split("; ")[1] ?? "")}</span> : null}</dd>
        </div>
        <div class={bad ? "bad" : ""}>
          <dt>{w.tomorrow}</dt>
          <dd><b>{bad ? <span aria-hidden="true">▲ </span> : null}{on((bad ? w.startsNot : w.starts)(morning.morning_at), nights.length > 1 ? morning.day : null)}</b>
            <span> {w.cranks(fixed(morning.cranking_V, 1), fixed(morning.needed_V, 1))}</span></dd>
        </div>
      </dl>
      {plan.remedies.length > 0 ? (
        <section class="remedies" aria-labelledby="h-remedies">
          <h2 id="h-remedies">{w.remedies}</h2>
          <ul class="plain">
            {plan.remedies.map((r) => (
              <li key={r.code + r.text}><b>{r.reached === "yes" ? w.enough : w.to(percent(r.soc_then))}</b> <span>{sentence(`${r.text}, +${fixed(r.gain_Wh)} Wh`)}</span></li>
            ))}
          </ul>
        </section>
      ) : null}
    </>
  );
}

/** Amps of a plan as the program prints them: a tenth below ten. */
const outAmps = (v: number) => fixed(v, v < 9.95 ? 1 : 0);

/** Below the pictures: charging, night, ledger, remarks, cautions. */
const Rest = memo(function Rest({ about, plan, units }: { about: About; plan: DayPlan; units: Units }) {
  const c = w.charging;
  const n = w.night;
  const several = plan.nights.length > 1;
  const night = plan.nights[0]!;
  const kinds = ["source", "use", "loss", "stored"] as const;
  const many = plan.stretches.some((s) => s.day > 1);
  return (
    <>
      {plan.stretches.length > 0 ? (
        <section aria-labelledby="h-charging">
          <h2 id="h-charging">{c.title}</h2>
          <Scroll label={c.title}>
            <table>
              <thead><tr><th scope="col">{c.time}</th><th scope="col">{c.set}, W</th><th scope="col">{c.allowed}, W</th><th scope="col">{c.charged}</th><th scope="col" class="text">{c.limit}</th></tr></thead>
              <tbody>
                {plan.stretches.map((s) => (
                  <tr key={s.day + s.from}>
                    <th scope="row">{many ? `${capital(w.onDay(s.day))}, ` : ""}{s.from}–{s.to}</th>
                    <td>{fixed(s.setting_W)}</td><td>{fixed(s.allowed_W)}</td><td>{fixed(s.charged_Wh)}</td>
                    <td class="text">{spaced(s.limit)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
          <p class="quiet">
            {c.hottest(plan.hottest_C.at, degrees(plan.hottest_C.stator_winding, units), degrees(plan.hottest_C.rectifier_junction, units), degrees(plan.hottest_C.rotor, units))}{" "}
            {c.careful(degrees(plan.careful_C.stator_winding, units), degrees(plan.careful_C.rectifier_junction, units), degrees(plan.careful_C.rotor, units))}{" "}
            {c.sure(percent(plan.setting.confidence))}
          </p>
        </section>
      ) : null}
      <section aria-labelledby="h-night">
        <h2 id="h-night">{several ? n.titles : n.title}</h2>
        {several ? (
          <Scroll label={n.titles}>
            <table>
              <thead><tr><th scope="col">{n.after}</th><th scope="col">{n.lowest}</th><th scope="col">{n.starter}</th><th scope="col">{n.needs}</th><th scope="col">{n.starts}</th></tr></thead>
              <tbody>
                {plan.nights.map((x) => (
                  <tr key={x.day}>
                    <th scope="row">{x.day}</th><td>{percent(x.house_low_soc)}, {x.house_low_at}</td><td>{percent(x.starter_soc)}</td>
                    <td>{x.starter_least_soc === null ? n.more : percent(x.starter_least_soc)}</td><td>{x.starts === "yes" ? n.yes : `▲ ${n.no}`}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
        ) : (
          <p>{n.takes(fixed(night.house_Wh))} {n.morning(night.morning_at, degrees(night.morning_C, units), percent(night.starter_soc), night.starter_least_soc === null ? n.more : percent(night.starter_least_soc))}</p>
        )}
        <p>{n.cut(fixed(plan.cut_off.rest_V, 1), fixed(plan.cut_off.loaded_V, 1), fixed(plan.cut_off.load_A, 1), degrees(plan.cut_off.coolest_C, units))}</p>
        {plan.feed.posts_V !== null ? <p>{n.feed(fixed(plan.feed.posts_V, 1), plan.feed.verdict, fixed(plan.feed.from_V, 1), fixed(plan.feed.to_V, 1))}</p> : null}
      </section>
      <section aria-labelledby="h-ledger" class="ledger">
        <h2 id="h-ledger">{several ? w.ledger.titleDays : w.ledger.title} <small>{w.ledger.lead}</small></h2>
        <table>
          <thead><tr><th scope="col">{w.ledger.what}</th><th scope="col">{w.ledger.wh}</th></tr></thead>
          {kinds.map((kind) => {
            const rows = plan.ledger.filter((e) => e.kind === kind);
            return rows.length === 0 ? null : (
              <tbody key={kind}>
                <tr class="sum"><th scope="row">{w.ledger.kinds[kind]}</th><td>{fixed(rows.reduce((sum, e) => sum + e.Wh, 0))}</td></tr>
                {rows.map((e, i) => <tr key={i}><th scope="row">{capital(e.name)}</th><td>{fixed(e.Wh)}</td></tr>)}
              </tbody>
            );
          })}
        </table>
        {plan.fuel_L >= 0.005 ? <p>{w.ledger.fuel(fixed(plan.fuel_L, 2))}</p> : null}
      </section>
      {plan.validity.length > 0 ? (
        <section aria-labelledby="h-remarks">
          <h2 id="h-remarks">{words.remarks.title}</h2>
          <ul class="plain">{plan.validity.map((v) => <li key={v.code + v.field}>{inWords(about, v.message)}</li>)}</ul>
        </section>
      ) : null}
      <section aria-labelledby="h-cautions" class="cautions">
        <h2 id="h-cautions">{words.cautionsTitle}</h2>
        <ul>{plan.cautions.map((x) => <li key={x}>{sentence(x)}</li>)}</ul>
      </section>
      <details>
        <summary>{words.how.title}</summary>
        <p>{w.how}</p>
        {words.how.body.slice(0, 2).map((p) => <p key={p}>{p}</p>)}
        <p class="quiet">{words.how.version(about.version)}</p>
      </details>
    </>
  );
});

/** The answer in one line, while the large one is out of sight. */
function Strip({ plan, refused, about, front }: { plan: DayPlan | null; refused?: Refused; about: About; front: { current: HTMLElement | null } }) {
  const [away, setAway] = useState(false);
  useEffect(() => {
    const top = front.current?.querySelector(".answer");
    if (!top) return;
    const watch = new IntersectionObserver((list) => setAway(!list[list.length - 1]!.isIntersecting), { rootMargin: "-60px 0px 0px" });
    watch.observe(top);
    return () => watch.disconnect();
  }, []);
  if (!away) return null;
  return (
    <button type="button" class="strip" onClick={() => scrollTo(0, 0)}>
      {plan ? (
        <>
          <b>{plan.setting.output_W > 0 ? `${watts(plan.setting.output_W)} W` : words.now.off}</b>
          <span>{said(plan, "full") === "" ? "▲ " : ""}{(said(plan, "full") || said(plan, "missing")).split(/[;,]/)[0]}</span>
        </>
      ) : refused ? <span>▲ {words.now.needs}: {inWords(about, refused.problems[0]?.message ?? refused.message)}</span> : <span>{words.now.wait}</span>}
    </button>
  );
}

