// Types of pool.mjs.

import type { CeilingAnswer, CeilingRequest, Columns, DayAnswer, DayRequest, FitAnswer, LogAnswer, LogConditions, Source } from "./spareamps.mjs";

export interface Options {
  /** instances, hence calls at a time; left out: one for each processor */
  size?: number;
  /** address of pool_worker.mjs, where a bundler moved it */
  worker?: URL | string;
}

export interface Call {
  /** ends the call: one that waits is taken out of the line, one under way ends with its worker */
  signal?: AbortSignal;
}

/** Many instances. Promises are rejected with SpareampsError, or with the reason of a signal. */
export interface Pool {
  readonly size: number;
  ceiling(request: CeilingRequest, call?: Call): Promise<CeilingAnswer>;
  day(request: DayRequest, call?: Call): Promise<DayAnswer>;
  fit(request: CeilingRequest, call?: Call): Promise<FitAnswer>;
  log(file: string | ArrayBuffer | Uint8Array, conditions?: LogConditions, call?: Call): Promise<LogAnswer>;
  about(call?: Call): Promise<any>;
  quantity(name: string, ...args: number[]): Promise<number>;
  block(request: object, inputs: Columns, outputs: string[], call?: Call): Promise<Record<string, Float64Array>>;
  close(): void;
}

export function pool(source?: Source | Promise<Source>, options?: Options): Promise<Pool>;
