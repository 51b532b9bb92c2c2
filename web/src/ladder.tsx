// The ladder of limits: one bar for each limit on a common axis of amps into
// the charger, the shortest first. Solid is the limit's own ceiling at the asked
// confidence, hatched reaches to that of the likeliest vehicle.

import { capital, spaced } from "./about";
import { drawOf, type Ceiling } from "./answer";
import { Fold } from "./fold";
import { amps, fixed } from "./number";
import { Scroll } from "./scroll";
import { Staff } from "./staff";
import { words } from "./words";

const LEAST_AXIS = 60; // A: of limits far away the axis shows at least this much

export function Ladder({ a, other, otherName, settingW }: { a: Ceiling; other: Ceiling | null; otherName: string; settingW: number }) {
  const w = words.ladder;
  const rungs = a.limits.filter((l) => l.input_A !== null).map((l) => ({ ...l, name: capital(spaced(l.limit)), safe: l.input_A! }));
  if (a.advice.because === "after_idle") {
    // What sets the advice then is no limit of now: its bar stands before theirs.
    rungs.unshift({ limit: "after_idle", name: w.idling(fixed(a.after_idle.minutes), spaced(a.after_idle.limit)), safe: a.after_idle.input_A, input_A: a.after_idle.input_A, nominal_A: a.after_idle.input_A, meaning: w.idlingMeaning });
  }
  const free = a.limits.filter((l) => l.input_A === null);
  if (rungs.length === 0) return null;

  const most = Math.max(...rungs.map((r) => Math.max(r.safe, r.nominal_A ?? 0)));
  const near = Math.max(a.nominal.input_A, LEAST_AXIS / 2);
  const present = settingW > 0 ? drawOf(a, settingW) : null;
  const choose = a.advice.draw_A;
  const top = Math.max(Math.min(most, 2 * near), ...rungs.slice(0, 2).map((r) => r.safe), present ?? 0, 1) * 1.02;
  const at = (v: number) => `${Math.min(100, (100 * v) / top)}%`;
  const share = `${fixed(100 * a.ceiling.confidence)} %`;

  return (
    <figure class="ladder">
      <p class="quiet">{w.lead}</p>
      <div class="rungs">
        <div class="axis"><Staff top={top} /><span class="nums" aria-hidden="true"><span>{w.safe}</span><span>{w.likely}</span></span></div>
        <ol>
          {rungs.map((r, i) => {
            const likely = r.nominal_A;
            const was = r.limit === "after_idle" ? other?.after_idle.input_A : other?.limits.find((l) => l.limit === r.limit)?.input_A;
            return (
              <li key={r.limit} data-limit={r.limit} class={i === 0 ? "rung binds" : "rung"}>
                <span class="what">{i === 0 ? <span class="pointer" aria-hidden="true">▶ </span> : null}{r.name}</span>
                <span class="bar" aria-hidden="true">
                  <i class="likely" style={{ width: likely === null ? "100%" : at(Math.max(likely, r.safe)) }} />
                  <i class="safe" style={{ width: at(r.safe) }} />
                  {r.safe > top ? <i class="beyond">▸</i> : null}
                  {was !== null && was !== undefined ? <i class="was" style={{ width: at(was) }} /> : null}
                  <i class="mark choose" style={{ left: at(choose) }} />
                  {present !== null ? <i class="mark present" style={{ left: at(present) }} /> : null}
                </span>
                <span class="nums">
                  <span><span class="unseen">{w.safe} </span>{fixed(r.safe, 1)}<span class="unseen"> A</span></span>
                  <span>{r.limit === "after_idle" ? null : <><span class="unseen">{w.likely} </span>{likely === null ? w.never : fixed(likely, 1)}</>}</span>
                </span>
              </li>
            );
          })}
        </ol>
      </div>
      <ul class="legend">
        <li><i class="key solid" /> {w.solid(share)}</li>
        <li><i class="key hatch" /> {w.hatched}</li>
        <li><i class="key choose" /> {w.choose(amps(choose))}</li>
        {present !== null ? <li><i class="key present" /> {w.setHere(amps(present))}</li> : null}
        {other ? <li><i class="key was" /> {otherName}</li> : null}
      </ul>
      {free.length > 0 ? <p class="quiet">{w.without} {free.map((l) => spaced(l.limit)).join(", ")}.</p> : null}
      <Fold summary={w.table}>{() => (
        <Scroll label={w.title}>
          <table>
            <thead><tr><th scope="col">{w.limit}</th><th scope="col">{w.safe}, A</th><th scope="col">{w.likely}, A</th><th scope="col">{w.meaning}</th></tr></thead>
            <tbody>
              {[...rungs, ...free.map((l) => ({ ...l, name: capital(spaced(l.limit)) }))].map((l) => (
                <tr key={l.limit}>
                  <th scope="row">{l.name}</th>
                  <td>{l.input_A === null ? w.never : fixed(l.input_A, 1)}</td>
                  <td>{l.limit === "after_idle" ? "–" : l.nominal_A === null ? w.never : fixed(l.nominal_A, 1)}</td>
                  <td class="text">{capital(l.meaning)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}</Fold>
    </figure>
  );
}
