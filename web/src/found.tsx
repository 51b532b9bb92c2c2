// What a fit found: what it says, the ceiling before and after, how each reading
// fits, what to read next, and what was found of the vehicle.

import type { ComponentChildren } from "preact";
import { capital, fieldOf, label, plainly, spaced, type About } from "./about";
import { sentence } from "./answer";
import { Fold } from "./fold";
import type { Fit } from "./fit_answer";
import { amps, fixed, watts } from "./number";
import { inSentence, PREFIX, shortName } from "./reading_form";
import { Scroll } from "./scroll";
import { Staff } from "./staff";
import { scale, toShown, type Units } from "./units";
import { words } from "./words";

const w = words.measure;
const LEAST_AXIS = 10; // A

interface Props {
  about: About;
  a: Fit;
  units: Units;
  go: (screen: string, field?: string) => void;
  enter: (fields: string[], conditions: Record<string, number | string>) => void;
  holds: (input: string, value: number) => boolean; // whether the rig or the day has that value
  take: (input: string, value: number) => void;
  children: ComponentChildren; // what to do with it
}

/** A sentence of a fit with quantities by the names they have here. */
const named = (about: About, text: string) =>
  sentence(plainly(about, text.replace(/\b[a-z]+(?:_[a-z]+)*_(?:A|V|C|soc)\b/g, (name) => (fieldOf(about, PREFIX + name) ? inSentence(shortName(about, name)) : name)))).replace(/^Row /, `${w.reading} `);

export function Found({ about, a, units, go, enter, holds, take, children }: Props) {
  const kept = a.keep === "yes"; // else nothing but why not
  return (
    <>
      {a.says.filter((s) => s.code !== "next" && s.code !== "proposal").map((s, i) => <p key={i} data-code={s.code}>{named(about, s.text)}</p>)}
      {a.validity.length > 0 ? (
        <ul class="plain">{a.validity.map((v) => <li key={v.code + v.field}><span aria-hidden="true">▲ </span>{named(about, v.message)}</li>)}</ul>
      ) : null}
      {children}
      {kept && a.moments.length > 0 ? <Gains a={a} units={units} /> : null}
      {a.readings.length > 0 ? <Residuals about={about} a={a} units={units} /> : null}
      {a.proposals.length > 0 ? <Proposals about={about} a={a} units={units} holds={holds} take={take} /> : null}
      {a.next.length > 0 ? <Next about={about} a={a} go={go} enter={enter} /> : null}
      {kept && a.parameters.length > 0 ? <Fold summary={w.parameters}>{() => <Parameters a={a} />}</Fold> : null}
      <section class="cautions" aria-labelledby="h-fit-cautions">
        <h3 id="h-fit-cautions">{words.cautionsTitle}</h3>
        <ul>{a.cautions.map((c) => <li key={c}>{sentence(c)}</li>)}</ul>
      </section>
    </>
  );
}

/** The ceiling of each moment as two bars on one axis of amps. */
function Gains({ a, units }: { a: Fit; units: Units }) {
  const top = Math.max(LEAST_AXIS, ...a.moments.flatMap((m) => [m.before_A, m.after_A])) * 1.02;
  const at = (v: number) => `${Math.min(100, (100 * Math.max(v, 0)) / top)}%`;
  const speed = scale(units, "km/h");
  const name = (i: number) => w.moments[i] ?? `${w.moment} ${i + 1}`;
  const under = (m: Fit["moments"][number]) => w.conditionsOf(fixed(m.engine_rpm), `${fixed(toShown(speed, m.speed_kmh))} ${speed.unit}`);
  return (
    <section class="gains" aria-labelledby="h-gains">
      <h3 id="h-gains">{w.momentsTitle} <small>{w.axis}</small></h3>
      <div class="rungs">
        <div class="axis" aria-hidden="true">
          <Staff top={top} />
        </div>
        <ol>
          {a.moments.map((m, i) => (
            <li key={i} class="rung">
              <span class="what">{name(i)} <small>{under(m)}</small></span>
              <span class="bar two" aria-hidden="true">
                <i class="old" style={{ width: at(m.before_A) }} />
                <i class="fresh" style={{ width: at(m.after_A) }} />
              </span>
              <span class="pairnums">
                <span class="unseen">{w.before} </span>{amps(m.before_A)}<span aria-hidden="true"> → </span><span class="unseen"> A, {w.after} </span><b>{amps(m.after_A)} A</b>
              </span>
            </li>
          ))}
        </ol>
      </div>
      <ul class="legend">
        <li><i class="key hatch" /> {w.before}</li>
        <li><i class="key fresh" /> {w.after}</li>
      </ul>
      <Fold summary={w.table}>{() => (
        <Scroll label={w.momentsTitle}>
          <table>
            <thead><tr><th scope="col">{w.moment}</th>{[w.inA, w.setting, w.likeliest].flatMap((of) => [w.before, w.after].map((when) => <th scope="col" key={of(when)}>{of(when)}</th>))}</tr></thead>
            <tbody>
              {a.moments.map((m, i) => (
                <tr key={i}>
                  <th scope="row">{name(i)}, {under(m)}</th>
                  <td>{fixed(m.before_A, 1)}</td><td>{fixed(m.after_A, 1)}</td>
                  <td>{watts(m.before_W)}</td><td>{watts(m.after_W)}</td>
                  <td>{fixed(m.likeliest_before_A, 1)}</td><td>{fixed(m.likeliest_after_A, 1)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}</Fold>
    </section>
  );
}

const FARTHEST = 5; // deviations on the strip to each side
const AT_FIRST = 30; // rows of it

function Residuals({ about, a, units }: { about: About; a: Fit; units: Units }) {
  // What does not fit first, then the newest.
  const rows = [...a.readings].sort((x, y) => Number(y.outlier === "yes") - Number(x.outlier === "yes") || y.row - x.row);
  const at = (v: number) => `${50 + (50 * Math.max(-FARTHEST, Math.min(FARTHEST, v))) / FARTHEST}%`;
  const shownAs = (r: Fit["readings"][number], v: number) => {
    const field = fieldOf(about, PREFIX + r.reading);
    const s = scale(units, r.unit, field);
    const d = r.deviation * Math.abs(s.factor);
    return field ? `${fixed(toShown(s, v), d < 0.05 ? 2 : d < 1 ? 1 : r.unit === "A" ? 1 : 0)} ${s.unit}` : fixed(v, 1);
  };
  const off = (r: Fit["readings"][number]) => w.offText(fixed(Math.abs(r.off), 1), r.off >= 0 ? w.above : w.below);
  return (
    <section class="residuals" aria-labelledby="h-fits">
      <h3 id="h-fits">{w.fits}</h3>
      <p class="quiet">{w.fitsLead}</p>
      <ol>
        {rows.slice(0, AT_FIRST).map((r, i) => (
          <li key={i} class={r.outlier === "yes" ? "outlier" : ""}>
            <span class="what">{r.row + 1} · {shortName(about, r.reading)}</span>
            <span class="figures">{w.readWord} <b>{shownAs(r, r.value)}</b>, {w.expected} {shownAs(r, r.expected)}</span>
            <span class="strip-off" aria-hidden="true">
              <i class="band" style={{ left: at(-2), right: `calc(100% - ${at(2)})` }} />
              <i class="middle" />
              <i class="spot" style={{ left: at(r.off) }} />
            </span>
            <span class="offby">{off(r)}{r.outlier === "yes" ? <strong> ▲ {w.outlier}</strong> : null}</span>
          </li>
        ))}
      </ol>
      <Fold summary={w.table}>{() => (
        <Scroll label={w.fits}>
          <table>
            <thead><tr><th scope="col">{w.reading}</th><th scope="col">{w.readWord}</th><th scope="col">{w.expected}</th><th scope="col">{w.deviation}</th><th scope="col">{w.off}</th></tr></thead>
            <tbody>
              {rows.map((r, i) => (
                <tr key={i}>
                  <th scope="row">{r.row + 1}, {inSentence(shortName(about, r.reading))}{r.outlier === "yes" ? ` ▲` : ""}</th>
                  <td>{shownAs(r, r.value)}</td><td>{shownAs(r, r.expected)}</td>
                  <td>{fixed(r.deviation * Math.abs(scale(units, r.unit, fieldOf(about, PREFIX + r.reading)).factor), 2)}</td>
                  <td>{fixed(r.off, 1)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}</Fold>
    </section>
  );
}

// Which fields a reading that is proposed fills in, or which input it states.
const PROPOSED: Record<string, { fields: string[]; conditions?: Record<string, number | string> } | string> = {
  inlet_air: { fields: ["inlet_C"], conditions: { minutes: 20 } },
  core: { fields: ["core_C"], conditions: { minutes: 30, surface: "painted" } },
  housing: { fields: ["case_C"], conditions: { minutes: 30, surface: "painted" } },
  rectifier_plates: { fields: ["plates_C"], conditions: { minutes: 10, surface: "dull" } },
  output_at_idle: { fields: ["output_A"], conditions: { everything_on: "yes", minutes: 1, speed_kmh: 0 } },
  output_at_speed: { fields: ["output_A"], conditions: { everything_on: "yes", minutes: 1, speed_kmh: 0, engine_rpm: 2000 } },
  volts: { fields: ["bus_V"] },
  charger_input: { fields: ["charger_input_A"] },
  vents: "rig.alternator.fouling",
  pulleys: "rig.alternator.pulley_ratio",
};

function Next({ about, a, go, enter }: Pick<Props, "about" | "a" | "go" | "enter">) {
  const act = (name: string) => {
    const to = PROPOSED[name];
    if (typeof to === "string") return go("rig", to);
    if (!to) return;
    const conditions = { ...to.conditions };
    const idle = name === "output_at_idle" ? (fieldOf(about, "rig.engine.idle_rpm")?.default ?? a.moments[1]?.engine_rpm) : undefined;
    if (idle !== undefined) conditions.engine_rpm = a.moments[1]?.engine_rpm ?? Number(idle);
    enter(to.fields, conditions);
  };
  return (
    <section aria-labelledby="h-next">
      <h3 id="h-next">{w.next}</h3>
      <ul class="unknowns">
        {a.next.map((n) => (
          <li key={n.reading}>
            <b>{w.gain(n.gain_A < 10 ? fixed(n.gain_A, 1) : fixed(n.gain_A))}</b>
            <span>
              <strong>{capital(spaced(n.reading))}.</strong> {sentence(n.how)}
              {PROPOSED[n.reading] ? <button type="button" class="link" aria-label={`${w.enter}: ${spaced(n.reading)}`} onClick={() => act(n.reading)}>{w.enter}</button> : null}
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Inputs that the readings give a value; a person puts them in, or not. */
function Proposals({ about, a, units, holds, take }: Pick<Props, "about" | "a" | "units" | "holds" | "take">) {
  return (
    <section aria-labelledby="h-proposals">
      <h3 id="h-proposals">{w.proposals}</h3>
      <ul class="plain">
        {a.proposals.map(({ input, value, why }) => {
          const field = fieldOf(about, input);
          if (!field) return null;
          const s = scale(units, field.unit, field);
          const shown = `${label(field)}: ${fixed(toShown(s, value))} ${s.unit}`;
          return (
            <li key={input} data-input={input}>
              <strong>{shown}.</strong> {sentence(why)}{" "}
              {holds(input, value) ? <span class="quiet">{w.proposalIn}</span>
                : <button type="button" class="link" aria-label={`${w.proposalTake}: ${shown}`} onClick={() => take(input, value)}>{w.proposalTake}</button>}
            </li>
          );
        })}
      </ul>
    </section>
  );
}

/** Parameters before and after: shares in percent, others in their unit. */
function Parameters({ a }: { a: Fit }) {
  const spread = (unit: string, v: number) => (unit === "1" ? `±${fixed(100 * v, v < 0.02 ? 1 : 0)} %` : `±${fixed(v, 2)} ${unit}`);
  const mean = (unit: string, v: number) => {
    const shift = unit === "1" ? 100 * (Math.exp(v) - 1) : v;
    const text = unit === "1" ? `${fixed(shift, Math.abs(shift) < 2 ? 1 : 0)} %` : `${fixed(shift, 2)} ${unit}`;
    return shift > 0 ? "+" + text : text;
  };
  return (
    <Scroll label={w.parameters}>
      <table class="parameters">
        <thead><tr><th scope="col">{w.parameter}</th><th scope="col">{capital(w.before)}</th><th scope="col">{capital(w.after)}</th></tr></thead>
        <tbody>
          {a.parameters.map((p) => (
            <tr key={p.parameter}>
              <th scope="row">{capital(spaced(p.parameter))}<small>{p.meaning}</small></th>
              <td>{spread(p.unit, p.prior)}</td>
              <td>{p.informed === "yes" ? <>{mean(p.unit, p.prior * p.mean)}<br />{spread(p.unit, p.prior * p.spread)}</> : w.same}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

