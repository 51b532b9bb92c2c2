// Numbers as a person reads and types them: in the phone's locale, comma or
// point accepted, no grouping.

const point = new Intl.NumberFormat(undefined).formatToParts(1.5).find((p) => p.type === "decimal")?.value ?? ".";

/**
 * A number with so many decimals, rounded as the program `spareamps` rounds:
 * to nearest, a half to even, from the exact value.
 */
export function fixed(v: number, decimals = 0): string {
  if (!Number.isFinite(v)) return "–";
  let s = Math.abs(v).toFixed(decimals);
  const scaled = Math.abs(v) * 10 ** decimals;
  if (scaled % 1 === 0.5 && Math.floor(scaled) % 2 === 0) s = (Math.floor(scaled) / 10 ** decimals).toFixed(decimals);
  const negative = v < 0 && /[1-9]/.test(s);
  return (negative ? "−" : "") + s.replace(".", point);
}

/** Amps of a limit: rounded down, and never to more digits than that is good for. */
export function amps(v: number): string {
  return v >= 10 ? fixed(Math.floor(v + 1e-9)) : fixed(Math.floor(v * 10 + 1e-9) / 10, 1);
}

/** Watts of a limit, rounded down. */
export const watts = (v: number) => fixed(Math.floor(v + 1e-9));

/** A value as it stands in a box: as many digits as it has, six at most. */
export function shown(v: number): string {
  const rounded = Number(v.toPrecision(6));
  const plain = Math.abs(rounded) >= 1e-6 || rounded === 0 ? decimalText(rounded) : String(rounded);
  return plain.replace(".", point).replace("-", "−");
}

function decimalText(v: number): string {
  const s = String(v);
  return s.includes("e") ? v.toFixed(9).replace(/0+$/, "").replace(/\.$/, "") : s;
}

/** What a person typed, or NaN. Blanks and the sign of any keyboard are accepted. */
export function typed(text: string): number {
  const plain = text.trim().replace(/^≈/, "").replace(/[\u2212\u2013]/g, "-").replace(/[\s\u00a0\u202f']/g, "").replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}
