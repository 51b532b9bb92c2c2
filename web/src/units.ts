// Units on the screen. Requests keep the units of the table of inputs; only
// what is shown and typed is in the unit chosen, which is remembered.

import type { Field } from "./about";

export interface Units {
  temperature: "°C" | "°F";
  speed: "km/h" | "mph";
  length: "m" | "ft";
  area: "mm²" | "AWG";
}

export const usual: Units = { temperature: "°C", speed: "km/h", length: "m", area: "mm²" };

export const menus: Record<keyof Units, readonly string[]> = {
  temperature: ["°C", "°F"],
  speed: ["km/h", "mph"],
  length: ["m", "ft"],
  area: ["mm²", "AWG"],
};

/** A unit on the screen: shown = value * factor + offset. */
export interface Scale {
  unit: string;
  factor: number;
  offset: number;
  menu?: keyof Units;
}

/** How a value in a unit of the tables is shown. */
export function scale(units: Units, unit: string, field?: Field): Scale {
  switch (unit) {
    case "°C":
      return units.temperature === "°F" ? { unit: "°F", factor: 1.8, offset: 32, menu: "temperature" } : { unit, factor: 1, offset: 0, menu: "temperature" };
    case "km/h":
      return units.speed === "mph" ? { unit: "mph", factor: 1 / 1.609344, offset: 0, menu: "speed" } : { unit, factor: 1, offset: 0, menu: "speed" };
    case "m":
      return units.length === "ft" ? { unit: "ft", factor: 1 / 0.3048, offset: 0, menu: "length" } : { unit, factor: 1, offset: 0, menu: "length" };
    case "mm²":
      return { unit, factor: 1, offset: 0, menu: "area" };
    case "1":
      // A share is said in percent; a ratio is not.
      if (field && field.kind === "number" && Number(field.max) <= 1) return { unit: "%", factor: 100, offset: 0 };
      return { unit: "", factor: 1, offset: 0 };
  }
  return { unit, factor: 1, offset: 0 };
}

export const toShown = (s: Scale, v: number) => v * s.factor + s.offset;

/** Back to the unit of the table; what the conversion adds in the last digits is taken off. */
export const fromShown = (s: Scale, v: number) => Number(((v - s.offset) / s.factor).toPrecision(12));
