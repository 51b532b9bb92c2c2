// One input of the module's table as a row of a form: label, box or menu, unit,
// where it is read, its range, and what not knowing it costs.

import { useState } from "preact/hooks";
import { hint, label, type Field, type Json } from "./about";
import { shown, typed } from "./number";
import { update } from "./store";
import { fromShown, menus, scale, toShown, type Units } from "./units";
import { words } from "./words";

interface Props {
  field: Field;
  value: Json | undefined;
  units: Units;
  onChange: (v: number | string | undefined) => void;
  costA?: string; // amps that not knowing it costs
  id?: string;
  needed?: boolean; // there is no answer without it
  problem?: string; // what the solver says is wrong with it
  children?: preact.ComponentChildren; // a helper to work it out
}

export const fieldId = (path: string) => "in-" + path.replace(/[^\w]+/g, "-");

export function InputRow({ field, value, units, onChange, costA, needed, problem, children, id = fieldId(field.path) }: Props) {
  const w = words.rig;
  const s = scale(units, field.unit, field);
  const [text, setText] = useState<string | null>(null); // while typed, or wrong
  const [wrong, setWrong] = useState("");
  const name = label(field);
  const usual = field.default ?? field.assumed;
  const given = value !== undefined;
  const range = () => w.range(shown(toShown(s, Number(field.min))), shown(toShown(s, Number(field.max))), s.unit);

  const commit = (t: string) => {
    if (t.trim() === "") {
      setWrong("");
      setText(null);
      return onChange(undefined);
    }
    if (field.kind !== "number" && field.kind !== "whole") {
      setText(null);
      return onChange(t);
    }
    const v = fromShown(s, typed(t));
    if (!Number.isFinite(v)) return setWrong(w.notNumber);
    if (v < Number(field.min) || v > Number(field.max)) return setWrong(range());
    if (field.kind === "whole" && v % 1 !== 0) return setWrong(w.notNumber);
    setWrong("");
    setText(null);
    if (v !== value) onChange(v);
  };

  const said = [`${id}-where`];
  const bad = wrong || problem || "";
  if (bad) said.unshift(`${id}-wrong`);

  return (
    <div class={given ? "row" : "row open"} data-path={field.path}>
      <label for={id}>
        {name}
        {(field.need === "required" || needed) && !given ? <span class="tag need">{w.needed}</span> : null}
        {costA && !given ? <span class="tag cost">{w.costs(costA)}</span> : null}
      </label>
      <div class="entry">
        {field.kind === "choice" ? (
          <select id={id} value={given ? String(value) : ""} aria-describedby={said.join(" ")}
            onChange={(e) => onChange(e.currentTarget.value === "" ? undefined : e.currentTarget.value)}>
            <option value="">{usual !== undefined ? `${w.usual}: ${choiceText(String(usual))}` : w.notStated}</option>
            {field.choices!.map((c) => <option key={c} value={c}>{choiceText(c)}</option>)}
          </select>
        ) : (
          <input id={id} type={(field.kind === "clock" ? "time" : field.kind === "date" ? "date" : "text") as "text"}
            inputMode={field.kind === "whole" ? "numeric" : field.kind === "number" ? (Number(field.min) < 0 ? "text" : "decimal") : undefined}
            autocomplete="off" enterkeyhint="next" maxLength={field.kind === "text" ? Number(field.max) : 24}
            aria-describedby={said.join(" ")} aria-invalid={bad ? true : undefined} data-typed={wrong ? "wrong" : undefined} aria-required={field.need === "required"}
            placeholder={usual === undefined ? "" : `${field.default !== undefined ? w.usual : w.assumed} ${typeof usual === "number" ? shown(toShown(s, usual)) : usual}`}
            value={text ?? (typeof value === "number" ? shown(toShown(s, value)) : given ? String(value) : "")}
            onInput={(e) => setText(e.currentTarget.value)}
            onBlur={(e) => text !== null && commit(e.currentTarget.value)}
            onKeyDown={(e) => {
              if (e.key === "Enter") commit(e.currentTarget.value);
              if (e.key === "Escape") { setText(null); setWrong(""); }
            }} />
        )}
        <UnitOf scale={s} units={units} name={name} />
      </div>
      {bad ? <p class="wrong" id={`${id}-wrong`} role="alert">{bad}</p> : null}
      <p class="where" id={`${id}-where`}>{hint(field) ? hint(field) + ". " : ""}<b>{w.where}</b> {field.where}.</p>
      {children}
    </div>
  );
}

/** The unit of a box; where there are two, a menu that is remembered. */
function UnitOf({ scale: s, units, name }: { scale: ReturnType<typeof scale>; units: Units; name: string }) {
  if (!s.menu) return s.unit ? <span class="unit">{s.unit}</span> : null;
  const menu = s.menu;
  return (
    <select class="unit" aria-label={words.rig.unit(name)} value={units[menu]}
      onChange={(e) => update((d) => ({ ...d, units: { ...d.units, [menu]: e.currentTarget.value } }))}>
      {menus[menu].map((u) => <option key={u} value={u}>{u}</option>)}
    </select>
  );
}

/** The unit menu alone, for a row that is no number. */
export const AreaMenu = ({ units, name }: { units: Units; name: string }) => (
  <UnitOf scale={{ unit: "AWG", factor: 1, offset: 0, menu: "area" }} units={units} name={name} />
);

const choiceText = (c: string) => words.choices[c] ?? c.replaceAll("_", " ");
