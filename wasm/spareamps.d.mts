// Types of spareamps.mjs.

import type { CeilingAnswer, CeilingRequest, DayAnswer, DayRequest, FitAnswer } from "./tables.mjs";
export type { CeilingAnswer, CeilingRequest, DayAnswer, DayRequest, FitAnswer };

export const ABI_MAJOR: number;
export const ABI_MINOR: number;

export interface Problem {
  code: string;
  field: string;
  value: string;
  allowed: string;
  message: string;
}

export class SpareampsError extends Error {
  constructor(code: string, problems?: Problem[], message?: string, options?: ErrorOptions);
  /** stable; see spareamps.mjs and "Errors" in ABI.md */
  code: string;
  /** everything that is wrong with a request */
  problems: Problem[];
}

/** Columns of numbers by path, all of one length. */
export type Columns = Record<string, ArrayLike<number>>;

/** A logger's file: what it tells of a vehicle, and what of it was used. */
export interface LogAnswer {
  /** for rig.observations */
  observations: NonNullable<CeilingRequest["rig"]["observations"]>;
  report: LogReport;
}

export interface LogReport {
  /** of text */
  lines: number;
  /** that were read */
  rows: number;
  headers: number;
  /** s that an observation is the mean over; 0: there are none */
  bucket_s: number;
  /** min that the observations cover */
  covered_min: number;
  /** observations, the oldest, of a log too long */
  dropped: number;
  columns: { name: string; field: string }[];
  /** columns of no known name, at most 50 */
  unknown: string[];
  /** columns that would be known with their unit behind the name */
  no_unit: string[];
  derived: string[];
  /** conditions that neither the log nor the caller tells, taken as usual */
  assumed: string[];
  /** rows: time, back, cells, quotes, long, before_header, too_many */
  refused: LogFault[];
  /** cells: number, range */
  unread: LogFault[];
  /** rows whose time is left out for a condition that is not told */
  untold: LogFault[];
  /** where observations begin anew: gap, clock_back, untold */
  breaks: LogFault[];
}

export interface LogFault {
  reason: string;
  field?: string;
  count: number;
  /** of the first */
  line: number;
  /** of the first cell */
  value?: string;
}

/** What a log does not tell and was the same all along. */
export type LogConditions = Partial<Record<"engine_rpm" | "speed_kmh" | "ambient_C" | "altitude_m" | "vehicle_loads_W" | "setting_W" | "charger_efficiency", number>>;

/** One instance. Calls are synchronous and throw SpareampsError. */
export interface Spareamps {
  readonly module: WebAssembly.Module;
  readonly abi: { major: number; minor: number };
  restart(): Promise<void>;
  ceiling(request: CeilingRequest): CeilingAnswer;
  ceilingText(request: string): string;
  day(request: DayRequest): DayAnswer;
  dayText(request: string): string;
  fit(request: CeilingRequest): FitAnswer;
  fitText(request: string): string;
  log(file: string | ArrayBuffer | ArrayBufferView, conditions?: LogConditions): LogAnswer;
  logText(file: string | ArrayBuffer | ArrayBufferView, conditions?: string): string;
  about(): any;
  quantity(name: string, ...args: number[]): number;
  quantityText(request: string): string;
  /** Columns of outputs by path, and status. A limit or another name is its index in the output's codes, as about() has them. */
  block(request: object, inputs: Columns, outputs: string[]): Record<string, Float64Array>;
}

/** Where a module comes from. */
export type Source = URL | string | BufferSource | Response | WebAssembly.Module;

export function load(source?: Source | Promise<Source>): Promise<Spareamps>;
export function compile(source?: Source | Promise<Source>): Promise<WebAssembly.Module>;
export function checkColumns(inputs: Columns): number;
