// A recorded track, from records to minutes. Recorded speeds are integrated by
// the trapezoid rule; where fewer are recorded than half the positions, the way
// is measured between positions on the sphere.
//
// A standing receiver jitters: positions count as movement only in chords of at
// least 15 m, three times the 4.9 m within which phones are under open sky
// (GPS.gov, GPS accuracy), and whoever needs longer than 20 s for one stood
// meanwhile. That cuts corners by less than 2 % of a way with bends.

import type { Part } from "./about";

/** One record; NaN where a value was not recorded. */
export interface Fix {
  s: number; // since local midnight of the first record's day
  lat: number;
  lon: number;
  ele: number;
  kmh: number;
  rpm: number;
}

export interface TrackRows {
  rows: Part[]; // of day.track
  from: number; // minutes
  to: number;
  km: number;
  movingMin: number;
  gaps: number;
  gapMin: number;
  dropped: number; // records with an impossible speed or a time gone back
  byPositions: boolean;
  hasRpm: boolean;
}

const MAX_KMH = 200; // what the table takes
const NOISE_M = 15;
const DWELL_S = 20;
const CRAWL_MS = 3; // on the chord that ends a stop; engineering estimate
const STILL_KMH = 0.7; // below it for DWELL_S is standing: twice what receivers state; from memory
const GAP_S = 180;
const BACK_S = 120;
const MAX_ROWS = 7 * 1440;
const SHORT_STOP_MIN = 3; // standing, engine not recorded: still idling; engineering estimate

/** Metres between two places on a sphere: haversine formula, mean radius 6371.0 km (IUGG). Within 0.6 % of the ellipsoid. */
export function metres(a: Fix, b: Fix): number {
  const rad = Math.PI / 180;
  const h = Math.sin(((b.lat - a.lat) * rad) / 2) ** 2 + Math.cos(a.lat * rad) * Math.cos(b.lat * rad) * Math.sin(((b.lon - a.lon) * rad) / 2) ** 2;
  return 2 * 6371008.8 * Math.asin(Math.min(1, Math.sqrt(h)));
}

export class BadTrack extends Error {}

/** Why a track is no track; the words are the caller's. */
export interface TrackWords {
  few: string;
  long: (days: number) => string;
  back: (record: number) => string;
  none: string;
}

export function toMinutes(fixes: Fix[], words: TrackWords): TrackRows {
  let dropped = 0;
  let before = -Infinity;
  const kept: Fix[] = [];
  fixes.forEach((f, i) => {
    if (f.s < before - BACK_S) throw new BadTrack(words.back(i + 1));
    if (!(f.s > before)) return void dropped++;
    before = f.s;
    kept.push(f);
  });
  const speeds = kept.filter((f) => !Number.isNaN(f.kmh));
  const places = kept.filter((f) => !Number.isNaN(f.lat) && !Number.isNaN(f.lon));
  const byPositions = 2 * speeds.length < places.length;
  const used = byPositions ? places : speeds;
  if (used.length < 2) throw new BadTrack(words.few);
  const [first, last] = [used[0]!.s, used[used.length - 1]!.s];
  const from = Math.floor(first / 60);
  let n = Math.floor(last / 60) - from;
  if (n === 0 || 60 * (from + n) < last) n++;
  if (n > MAX_ROWS) throw new BadTrack(words.long((last - first) / 86400));

  const sums = () => new Float64Array(n);
  const [metre, moving, gapS, runS, offS, rpmS, eleS, eleSum] = [sums(), sums(), sums(), sums(), sums(), sums(), sums(), sums()];
  /** Hands out what goes evenly from v0 at t0 to v1 at t1, minute by minute. */
  const spread = (t0: number, t1: number, v0: number, v1: number, add: (m: number, dt: number, vdt: number) => void) => {
    const slope = (v1 - v0) / (t1 - t0);
    for (let t = t0; t < t1; ) {
      const k = Math.floor(t / 60);
      const end = Math.min((k + 1) * 60, t1);
      if (k - from >= 0 && k - from < n) add(k - from, end - t, (v0 + slope * ((t + end) / 2 - t0)) * (end - t));
      t = end;
    }
  };
  const move = (t0: number, t1: number, kmh0: number, kmh1: number) => {
    if (kmh0 + kmh1 > 0) spread(t0, t1, kmh0 / 3.6, kmh1 / 3.6, (m, dt, vdt) => { metre[m]! += vdt; moving[m]! += dt; });
  };
  let gaps = 0;
  let gapMin = 0;
  const gap = (a: Fix, b: Fix): boolean => {
    if (b.s - a.s <= GAP_S) return false;
    gaps++;
    gapMin += (b.s - a.s) / 60;
    spread(a.s, b.s, 0, 0, (m, dt) => void (gapS[m]! += dt));
    return true;
  };

  if (byPositions) {
    let anchor = used[0]!;
    let previous = anchor;
    for (let i = 1; i < used.length; i++) {
      const f = used[i]!;
      const fast = (a: Fix) => metres(a, f) * 3.6 > MAX_KMH * Math.max(f.s - a.s, 1);
      if (gap(previous, f)) {
        anchor = previous = f;
        continue;
      }
      if (fast(previous)) {
        const next = used[i + 1];
        dropped++;
        // One place far off is dropped; where the next agrees with it, those before were elsewhere.
        if (!next || metres(f, next) * 3.6 > MAX_KMH * Math.max(next.s - f.s, 1)) continue;
        anchor = previous = f;
        continue;
      }
      previous = f;
      const d = metres(anchor, f);
      if (d < NOISE_M && i < used.length - 1) continue;
      const took = f.s - anchor.s;
      if (took > DWELL_S && d / took < STILL_KMH / 3.6 * 4) {
        const t = Math.max(anchor.s, f.s - d / CRAWL_MS);
        if (d >= NOISE_M) move(t, f.s, (d / (f.s - t)) * 3.6, (d / (f.s - t)) * 3.6);
      } else if (d >= NOISE_M) move(anchor.s, f.s, (d / took) * 3.6, (d / took) * 3.6);
      anchor = f;
    }
  } else {
    const good = used.filter((f) => f.kmh >= 0 && f.kmh <= MAX_KMH);
    dropped += used.length - good.length;
    let still = 0; // the records up to it stand
    let standing = false;
    for (let i = 0; i < good.length; i++) {
      if (still <= i) {
        for (still = i; still < good.length && good[still]!.kmh < STILL_KMH; still++);
        if (still > i && good[still - 1]!.s - good[i]!.s < DWELL_S) still = i;
      }
      if (i > 0) {
        const [a, b] = [good[i - 1]!, good[i]!];
        if (!gap(a, b) && !(standing && still > i)) move(a.s, b.s, a.kmh, b.kmh);
      }
      standing = still > i;
    }
  }

  const channel = (value: (f: Fix) => number, least: number, most: number, add: (m: number, dt: number, vdt: number) => void) => {
    let was: Fix | null = null;
    for (const f of kept) {
      const v = value(f);
      if (!(v >= least && v <= most) || f.s < first || f.s > last) continue;
      if (was && f.s - was.s <= GAP_S) spread(was.s, f.s, value(was), v, add);
      was = f;
    }
  };
  let hasRpm = false;
  channel((f) => f.rpm, 0, 8000, (m, dt, vdt) => {
    hasRpm = true;
    if (vdt < 50 * dt) offS[m]! += dt;
    else {
      runS[m]! += dt;
      rpmS[m]! += vdt;
    }
  });
  channel((f) => f.ele, -430, 6000, (m, dt, vdt) => {
    eleS[m]! += dt;
    eleSum[m]! += vdt;
  });
  gapS[0]! += first - 60 * from;
  gapS[n - 1]! += 60 * (from + n) - last;

  let ele = NaN;
  for (let m = 0; m < n && Number.isNaN(ele); m++) if (eleS[m]! > 0) ele = eleSum[m]! / eleS[m]!;
  const minute = (m: number): Part => {
    const row: Part = { minute: from + m, speed_kmh: Math.min(MAX_KMH, Math.round(metre[m]! * 6) / 100) };
    if (runS[m]! > 0 && rpmS[m]! / runS[m]! >= 1) row.engine_rpm = Math.round(rpmS[m]! / runS[m]!);
    if (!Number.isNaN(ele)) row.altitude_m = Math.round(ele);
    return row;
  };
  // Minutes that stand with the engine off are left out: that is how what is
  // not covered counts.
  const rows: Part[] = [];
  const quiet = (m: number) => metre[m]! === 0 && runS[m]! === 0 && Math.max(0, Math.min(offS[m]! + gapS[m]!, 60)) < 30;
  for (let m = 0; m < n; ) {
    let end = m;
    while (end < n && quiet(end)) end++;
    const idle = end - m;
    const upTo = idle > 0 ? end : m + 1;
    for (; m < upTo; m++) {
      if (eleS[m]! > 0) ele = eleSum[m]! / eleS[m]!;
      if (idle > 0 ? idle < SHORT_STOP_MIN : metre[m]! > 0 || runS[m]! >= 30) rows.push(minute(m));
    }
  }
  if (rows.length === 0) throw new BadTrack(words.none);
  let [km, movingMin] = [0, 0];
  for (let m = 0; m < n; m++) {
    km += metre[m]! / 1000;
    movingMin += moving[m]! / 60;
  }
  return { rows, from, to: from + n, km, movingMin, gaps, gapMin, dropped, byPositions, hasRpm };
}
