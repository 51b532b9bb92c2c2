// The module's own tables, as `about` gives them: the page has no second list
// of inputs. What a field is called on the screen is the first clause of its
// meaning; the rest of the meaning is the hint below it.

export interface Field {
  path: string;
  unit: string;
  kind: "number" | "whole" | "choice" | "clock" | "date" | "text";
  need: "required" | "optional" | "defaulted";
  choices?: string[];
  min?: number | string; // a text for clocks and dates
  max?: number | string;
  default?: number | string;
  assumed?: number | string; // taken where an optional value is not given, with a spread
  demo?: unknown;
  meaning: string;
  where: string;
  source: string;
}

export interface Group {
  path: string;
  optional: boolean;
  max_rows?: number; // for a list
  meaning: string;
}

export interface Unknown {
  unknown: string;
  meaning: string;
  input: string;
  measure: string;
}

export interface About {
  version: string;
  abi: string;
  inputs: { groups: Group[]; fields: Field[] };
  demo: Request;
  limits: { limit: string; meaning: string }[];
  unknowns: Unknown[];
}

/** A request, or any part of one, as JSON by the table of inputs. */
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type Part = { [key: string]: Json };
export interface Request {
  confidence?: number;
  rig: Part;
  moment: Part;
  day?: Part;
}

export function fieldOf(about: About, path: string): Field | undefined {
  return about.inputs.fields.find((f) => f.path === path);
}

/** The object or list a field stands in: "rig.cable" of "rig.cable.fuse_A". */
export const groupPath = (path: string) => path.slice(0, Math.max(0, path.lastIndexOf(".")));

export const lastName = (path: string) => path.slice(path.lastIndexOf(".") + 1);

/** What a field or group is called. */
export function label(row: { meaning: string }): string {
  return capital(named(row.meaning.split(/[;:]/, 1)[0]!.trim()));
}

/** The rest of its meaning. */
export function hint(row: { meaning: string }): string {
  const cut = row.meaning.search(/[;:]/);
  return cut < 0 ? "" : capital(named(row.meaning.slice(cut + 1).trim()));
}

/** Names of other inputs as words, without their unit: "overall_ratio", "tyre_diameter_m". */
const named = (s: string) => s.replace(/\b[a-z]+(?:_[A-Za-z0-9]+)+\b/g, (name) => spaced(name.replace(/_(m|W|V|A|C|h|min|kmh|soc)$/, "")));

export const capital = (s: string) => s.charAt(0).toUpperCase() + s.slice(1);

/** A message of the module with what things are called here in place of their paths. */
export function plainly(about: About, message: string): string {
  return message.replace(/\b(?:rig|moment|day)\.[\w.[\]]*\w/g, (path) => {
    const rows = [...about.inputs.fields, ...about.inputs.groups];
    const row = rows.find((r) => r.path === path.replace(/\[\d+\]/g, "[]"));
    return row ? `\u201c${label(row)}\u201d` : spaced(lastName(path));
  });
}

/** "stator_winding" as words. */
export const spaced = (name: string) => name.replaceAll("_", " ");

/** The value at a path of a request; rows of lists are numbers: "rig.alternator.points.2.speed_rpm". */
export function valueAt(request: unknown, path: string): Json | undefined {
  let at: unknown = request;
  for (const key of path.split(".")) {
    if (typeof at !== "object" || at === null || !Object.hasOwn(at, key)) return undefined;
    at = (at as Record<string, unknown>)[key];
  }
  return at as Json | undefined;
}

/** A copy of a request with another value at a path; undefined takes it out. */
export function withValue<T>(request: T, path: string, value: Json | undefined): T {
  const set = (at: unknown, keys: string[]): unknown => {
    const [key, ...rest] = keys;
    if (key === undefined) return value;
    if (Array.isArray(at)) {
      const rows = at.slice();
      const row = set(rows[Number(key)], rest);
      if (row === undefined) rows.splice(Number(key), 1);
      else rows[Number(key)] = row;
      return rows;
    }
    const copy: Record<string, unknown> = { ...(at as object | undefined) };
    const inner = set(Object.hasOwn(copy, key) ? copy[key] : undefined, rest);
    if (inner === undefined) delete copy[key];
    else copy[key] = inner;
    return copy;
  };
  return set(request, path.split(".")) as T;
}
