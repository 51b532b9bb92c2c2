// What is to be done at the charger, and when; as a file for the calendar.

import { useState } from "preact/hooks";
import { capital, spaced } from "./about";
import { percent, planMinutes, type DayPlan, type Handover } from "./day_answer";
import { calendar, type Reminder } from "./ics";
import { fixed } from "./number";
import { words } from "./words";

const w = words.day.handovers;
const c = words.day.calendar;

const what = (h: Handover) => (h.to === "charge" ? w.charge(fixed(h.setting_W)) : h.to === "feed" ? w.feed : w.off);

/** What comes of a hand-over that is missed; "" where it is how the day begins. */
function forgotten(plan: DayPlan, h: Handover, first: boolean): string {
  const all: string[] = [];
  if (h.forgotten_no_start_at) all.push(w.noStart(h.forgotten_no_start_at));
  if (h.forgotten_empty_at) all.push(w.empty(h.forgotten_empty_at));
  else if (h.forgotten_reserve_at) all.push(w.reserve(h.forgotten_reserve_at));
  if (h.forgotten_too_much_at) all.push(w.tooMuch(spaced(h.forgotten_limit ?? ""), h.forgotten_too_much_at));
  if (h.forgotten_soc_then !== null && h.forgotten_soc_then < plan.goal.soc_then - 0.005) all.push(w.only(percent(h.forgotten_soc_then)));
  return all.length > 0 ? all.join(", ") : first ? "" : w.harmless;
}

/** Days one after the other with the same hand-overs, once. */
function alike(list: Handover[]): { from: number; to: number; rows: Handover[] }[] {
  const days: { from: number; to: number; rows: Handover[]; plan: string }[] = [];
  for (const h of list) {
    const last = days[days.length - 1];
    if (last && last.from === h.day) last.rows.push(h);
    else days.push({ from: h.day, to: h.day, rows: [h], plan: "" });
  }
  const out: typeof days = [];
  for (const d of days) {
    d.plan = d.rows.map((h) => h.at + h.to + h.setting_W).join();
    const last = out[out.length - 1];
    if (last && last.plan === d.plan && last.to === d.from - 1) last.to = d.to;
    else out.push(d);
  }
  return out;
}

export function Handovers({ plan, start, date, rig, name }: { plan: DayPlan; start: number; date: string; rig: string; name: string }) {
  const groups = alike(plan.handovers);
  const several = plan.nights.length > 1;
  return (
    <section class="handovers" aria-labelledby="h-handovers">
      <h2 id="h-handovers">{w.title}</h2>
      {plan.handovers.length === 0 ? <p>{w.none}</p> : (
        <>
          <p class="quiet">{w.lead}</p>
          {groups.map((g, k) => (
            <div key={g.from}>
              {several ? <h3>{w.dayOf(g.from, g.to)}</h3> : null}
              <ol>
                {g.rows.map((h, i) => {
                  const missed = forgotten(plan, h, k === 0 && i === 0);
                  return (
                    <li key={h.at + h.to} class={h.to} data-at={h.at}>
                      <time>{h.at}</time>
                      <span class="sign" aria-hidden="true">{h.to === "charge" ? "▶" : h.to === "feed" ? "◁" : "○"}</span>
                      <div>
                        <b>{what(h)}</b> <span class="quiet">{capital(h.why)}.</span>
                        <p class={missed === "" || missed === w.harmless ? "missed quiet" : "missed"}>{missed === "" ? w.begins : <>{w.forgotten} {missed}.</>}</p>
                      </div>
                    </li>
                  );
                })}
              </ol>
            </div>
          ))}
          <Calendar plan={plan} start={start} date={date} rig={rig} name={name} />
        </>
      )}
    </section>
  );
}

const today = () => {
  const d = new Date();
  return new Date(d.getTime() - d.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
};

/** The hand-overs as events from a date on. */
export function reminders(plan: DayPlan, start: number, date: string): Reminder[] {
  const midnight = Date.parse(date + "T00:00:00Z");
  return plan.handovers.map((h, i) => {
    const missed = forgotten(plan, h, i === 0);
    return {
      at: new Date(midnight + planMinutes(start, h.day, h.at) * 60_000),
      title: c.event(what(h)),
      text: [capital(h.why) + ".", missed === "" ? w.begins : `${w.forgotten} ${missed}.`, c.caution].join("\n"),
    };
  });
}

function Calendar({ plan, start, date, rig, name }: { plan: DayPlan; start: number; date: string; rig: string; name: string }) {
  const [chosen, setChosen] = useState("");
  const [before, setBefore] = useState(2);
  const [note, setNote] = useState("");
  // A day gone by reminds of nothing.
  const now = today();
  const from = chosen || (date >= now ? date : now);
  const save = () => {
    const text = calendar(c.name(name), `${rig}-${from}`, reminders(plan, start, from), new Date(), before);
    const url = URL.createObjectURL(new Blob([text], { type: "text/calendar;charset=utf-8" }));
    const a = document.createElement("a");
    a.href = url;
    a.download = `charger-${from}.ics`;
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
    setNote(c.saved(plan.handovers.length));
  };
  return (
    <div class="calendar">
      <div class="pairs">
        <label>{c.date}<input type="date" id="calendar-date" value={from} min="1950-01-01" max="2099-12-31" onChange={(e) => setChosen(e.currentTarget.value)} /></label>
        <label>{c.before}
          <select id="calendar-before" value={before} onChange={(e) => setBefore(Number(e.currentTarget.value))}>
            {Object.entries(c.beforeChoices).map(([v, text]) => <option key={v} value={v}>{text}</option>)}
          </select>
        </label>
      </div>
      <div class="tools"><button type="button" class="main" onClick={save}>{c.save}</button></div>
      <p class="quiet">{c.hint}</p>
      <p role="status" class="note">{note}</p>
    </div>
  );
}
