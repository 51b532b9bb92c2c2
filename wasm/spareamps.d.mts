// Types of spareamps.mjs.

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
  code: string;
  problems: Problem[];
}

export interface Spareamps {
  readonly module: WebAssembly.Module;
  readonly abi: { major: number; minor: number };
  restart(): Promise<void>;
  ceiling(request: object): any;
  ceilingText(request: string): string;
  day(request: object): any;
  dayText(request: string): string;
  about(): any;
  quantity(name: string, ...args: number[]): number;
  quantityText(request: string): string;
  block(request: object, inputs: Record<string, ArrayLike<number>>, outputs: string[]): Record<string, Float64Array>;
}

export function load(
  source: BufferSource | Response | WebAssembly.Module | Promise<BufferSource | Response | WebAssembly.Module>,
): Promise<Spareamps>;
