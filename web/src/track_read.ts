// A recorded track from a file, GPX 1.0 and 1.1 or CSV. Nothing in it is
// trusted: bytes and records are counted, numbers are checked, and of its text
// nothing but short quotes goes anywhere.

import { BadTrack, type Fix } from "./track";
import { xmlOf } from "./trusted";
import { words } from "./words";

export const MAX_TRACK_BYTES = 20e6;
const MAX_FIXES = 400_000;
const MOST_TOLD = 4;

export interface Recorded {
  fixes: Fix[];
  date: string; // local, of the first record; "" where times have none
  offsetH: number; // to UTC, by which times with a zone became local
  ignored: string[]; // columns that mean nothing here
}

const w = words.day.track;

export async function readTrackFile(file: File, offsetH: number | undefined): Promise<Recorded> {
  if (file.size > MAX_TRACK_BYTES) throw new BadTrack(w.tooLarge);
  let text: string;
  try {
    text = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
  } catch {
    throw new BadTrack(w.notText);
  }
  return /^\s*</.test(text) ? readGPX(text, offsetH) : readCSV(text, offsetH);
}

const empty = (): Fix => ({ s: NaN, lat: NaN, lon: NaN, ele: NaN, kmh: NaN, rpm: NaN });
const quote = (s: string) => `\u201c${s.replace(/[\p{Cc}\p{Cf}]/gu, " ").slice(0, 30)}\u201d`;

/** What people write for a number; NaN for anything else. */
const decimal = (s: string): number => (/^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?\s*$/.test(s) ? Number(s) : NaN);

/** Times with a zone on the local clock, in seconds since the first one's midnight. */
class Clock {
  date = "";
  offsetH: number;
  private midnight = NaN;
  private last = 0;
  private form = "";
  private readonly known: boolean;

  constructor(offsetH: number | undefined) {
    this.known = offsetH !== undefined;
    this.offsetH = offsetH ?? 0;
  }

  /** Seconds of a date with time, or of a time of day; NaN where it is neither, or another form than before. */
  read(text: string, zoneNeeded: boolean): number {
    const t = text.trim();
    const dated = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d):(\d\d(?:\.\d{1,9})?)\s*(Z|[+-]\d\d:?\d\d)?$/i.exec(t);
    if (dated && this.form !== "clock") {
      const [, y, mo, d, h, mi, s, zone] = dated as unknown as string[];
      let ms = Date.UTC(+y!, +mo! - 1, +d!, +h!, +mi!, 0) + +s! * 1000;
      const made = new Date(Date.UTC(+y!, +mo! - 1, +d!));
      if (+y! < 1951 || +y! > 2098 || made.getUTCMonth() !== +mo! - 1 || made.getUTCDate() !== +d! || +h! > 23 || +mi! > 59 || +s! >= 61) return NaN;
      if (zone) {
        if (zone.toUpperCase() !== "Z") {
          const digits = zone.slice(1).replace(":", "");
          ms -= (zone[0] === "-" ? -1 : 1) * (+digits.slice(0, 2) * 60 + +digits.slice(2)) * 60_000;
        }
        // Not stated: the clock of this phone on that day.
        if (!this.known && this.form === "") this.offsetH = -new Date(ms).getTimezoneOffset() / 60;
        ms += this.offsetH * 3_600_000;
      } else if (zoneNeeded) return NaN;
      this.form = "date";
      if (Number.isNaN(this.midnight)) {
        this.midnight = Math.floor(ms / 86_400_000) * 86_400_000;
        this.date = new Date(this.midnight).toISOString().slice(0, 10);
      }
      return (ms - this.midnight) / 1000;
    }
    const clock = /^(\d{1,2}):(\d\d)(?::(\d\d(?:\.\d{1,9})?))?$/.exec(t);
    if (!clock || this.form === "date" || zoneNeeded) return NaN;
    let s = +clock[1]! * 3600 + +clock[2]! * 60 + +(clock[3] ?? 0);
    if (+clock[1]! > 23 || +clock[2]! > 59 || +(clock[3] ?? 0) >= 60) return NaN;
    s += 86_400 * Math.floor(this.last / 86_400);
    if (this.form === "clock" && s < this.last - 43_200) s += 86_400; // a midnight passed, no clock set back
    this.form = "clock";
    this.last = s;
    return s;
  }
}

function tell(problems: string[], problem: string): void {
  if (problems.push(problem) >= MOST_TOLD) throw new BadTrack(problems.join(" "));
}

export function readGPX(text: string, offsetH: number | undefined): Recorded {
  if (/<!(DOCTYPE|ENTITY)/i.test(text)) throw new BadTrack(w.doctype);
  const doc = xmlOf(text);
  const root = doc.documentElement;
  if (doc.getElementsByTagName("parsererror").length > 0) throw new BadTrack(w.notXML);
  if (root.localName !== "gpx") throw new BadTrack(w.notGPX(quote(root.localName)));
  const clock = new Clock(offsetH);
  const problems: string[] = [];
  const fixes: Fix[] = [];
  const points = root.getElementsByTagNameNS("*", "trkpt");
  if (points.length === 0) throw new BadTrack(root.getElementsByTagNameNS("*", "rtept").length > 0 ? w.route : w.noPoints);
  if (points.length > MAX_FIXES) throw new BadTrack(w.tooMany);
  // A list that counts itself anew at each step is slow: an array is not.
  Array.from(points).forEach((point, i) => {
    const f = empty();
    const bad = (name: string, value: string) => tell(problems, w.badPoint(i + 1, name, quote(value)));
    f.lat = decimal(point.getAttribute("lat") ?? "");
    f.lon = decimal(point.getAttribute("lon") ?? "");
    if (!(Math.abs(f.lat) <= 90)) bad("lat", point.getAttribute("lat") ?? "");
    if (!(Math.abs(f.lon) <= 180)) bad("lon", point.getAttribute("lon") ?? "");
    for (const e of Array.from(point.getElementsByTagName("*"))) {
      if (e.firstElementChild) continue;
      const own = e.parentNode === point;
      const value = (e.textContent ?? "").trim().slice(0, 60);
      const number = () => {
        const v = decimal(value);
        if (Number.isNaN(v)) bad(e.localName, value);
        return v;
      };
      switch (e.localName) {
        case "time":
          if (own) {
            f.s = clock.read(value, true);
            if (Number.isNaN(f.s)) bad("time", value);
          }
          break;
        case "ele":
          if (own) f.ele = number();
          break;
        case "speed": // m/s in these two; elsewhere nobody says
          if (/\/GPX\/1\/0$|\/TrackPointExtension\/v2$/.test(e.namespaceURI ?? "")) f.kmh = number() * 3.6;
          break;
        case "speed_kmh": f.kmh = number(); break;
        case "speed_ms": f.kmh = number() * 3.6; break;
        case "speed_mph": f.kmh = number() * 1.609344; break;
        case "engine_rpm": f.rpm = number(); break;
      }
    }
    fixes.push(f);
  });
  if (problems.length > 0) throw new BadTrack(problems.join(" "));
  const timeless = fixes.filter((f) => Number.isNaN(f.s)).length;
  if (timeless > 0) throw new BadTrack(timeless === fixes.length ? w.timeless : w.someTimeless(timeless, fixes.length));
  return { fixes, date: clock.date, offsetH: clock.offsetH, ignored: [] };
}

/** The columns there are: names, what a value is multiplied by, its range, where it goes. */
const COLUMNS: [names: string[], unit: number, least: number, most: number, to: keyof Fix][] = [
  [["time_s"], 1, 0, 30 * 86_400, "s"],
  [["lat", "lat_deg", "latitude"], 1, -90, 90, "lat"],
  [["lon", "lon_deg", "longitude"], 1, -180, 180, "lon"],
  [["ele", "ele_m", "altitude_m"], 1, -1e6, 1e6, "ele"],
  [["speed_kmh", "speed_km_h"], 1, -1e6, 1e6, "kmh"],
  [["speed_ms", "speed_m_s"], 3.6, -1e6, 1e6, "kmh"],
  [["speed_mph"], 1.609344, -1e6, 1e6, "kmh"],
  [["engine_rpm"], 1, -1e6, 1e6, "rpm"],
];

export function readCSV(text: string, offsetH: number | undefined): Recorded {
  const clock = new Clock(offsetH);
  const problems: string[] = [];
  const fixes: Fix[] = [];
  const ignored: string[] = [];
  let columns: (typeof COLUMNS[number] | "time" | null)[] | null = null;
  let separator = ",";
  let line = 0;
  for (const raw of lines(text)) {
    line++;
    if (raw.length > 65_536) throw new BadTrack(w.longLine(line));
    if (raw.trim() === "" || raw.startsWith("#")) continue;
    if (!columns) separator = raw.includes("\t") ? "\t" : raw.includes(";") ? ";" : ",";
    const cells = cellsOf(raw, separator);
    if (!cells) {
      tell(problems, w.quoteMark(line));
      continue;
    }
    if (!columns) {
      columns = cells.map((cell) => {
        const name = cell.trim().toLowerCase();
        if (name === "time") return "time";
        const found = COLUMNS.find(([names]) => names.includes(name)) ?? null;
        if (!found && ignored.length < 20) ignored.push(quote(cell));
        return found;
      });
      const has = (to: keyof Fix) => columns!.filter((c) => c !== null && c !== "time" && c[4] === to).length;
      const times = columns.filter((c) => c === "time").length + has("s");
      if (times !== 1) throw new BadTrack(w.noTime);
      if ((["lat", "lon", "ele", "kmh", "rpm"] as const).some((to) => has(to) > 1)) throw new BadTrack(w.twice);
      if (has("kmh") === 0 && !(has("lat") && has("lon"))) throw new BadTrack(w.noSpeed);
      continue;
    }
    if (cells.length !== columns.length) {
      tell(problems, w.cells(line, cells.length, columns.length));
      continue;
    }
    if (fixes.length === MAX_FIXES) throw new BadTrack(w.tooMany);
    const f = empty();
    columns.forEach((c, i) => {
      const cell = cells[i]!.trim();
      if (c === null || (cell === "" && c !== "time" && c[4] !== "s")) return;
      if (c === "time") {
        f.s = clock.read(cell, false);
        if (Number.isNaN(f.s)) tell(problems, w.badCell(line, "time", quote(cell)));
        return;
      }
      const v = decimal(separator !== "," && !cell.includes(".") ? cell.replace(",", ".") : cell);
      if (!(v >= c[2] && v <= c[3])) tell(problems, w.badCell(line, c[0][0]!, quote(cell)));
      f[c[4]] = v * c[1];
    });
    fixes.push(f);
  }
  if (problems.length > 0) throw new BadTrack(problems.join(" "));
  if (!columns || fixes.length === 0) throw new BadTrack(w.noRecords);
  return { fixes, date: clock.date, offsetH: clock.offsetH, ignored };
}

function* lines(text: string): Generator<string> {
  for (let at = 0; at < text.length; ) {
    let end = text.indexOf("\n", at);
    if (end < 0) end = text.length;
    yield text.slice(at, text[end - 1] === "\r" ? end - 1 : end);
    at = end + 1;
  }
}

/** A line's cells; one in quotation marks may hold the separator, and marks doubled. */
function cellsOf(line: string, separator: string): string[] | null {
  if (!line.includes('"')) return line.split(separator);
  const cells: string[] = [];
  for (let at = 0; ; ) {
    if (line[at] === '"') {
      let cell = "";
      for (at++; ; at++) {
        const end = line.indexOf('"', at);
        if (end < 0) return null;
        cell += line.slice(at, end);
        at = end + 1;
        if (line[at] !== '"') break;
        cell += '"';
      }
      cells.push(cell);
      if (at >= line.length) return cells;
      if (line[at] !== separator) return null;
      at++;
    } else {
      let end = line.indexOf(separator, at);
      if (end < 0) end = line.length;
      const cell = line.slice(at, end);
      if (cell.includes('"')) return null;
      cells.push(cell);
      if (end >= line.length) return cells;
      at = end + 1;
    }
  }
}
