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
