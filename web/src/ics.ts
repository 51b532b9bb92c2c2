// Hand-overs as an iCalendar file (RFC 5545), for the phone's own calendar to
// remind of. Times are floating, "form #1" of section 3.3.5: the clock of
// wherever the phone is, as the plan's times are.

export interface Reminder {
  at: Date; // its UTC fields are read as the local clock
  title: string;
  text: string;
}

const LINE_OCTETS = 75; // section 3.1, without the line break

/** A line as it is written: broken before 75 octets, never inside a character. */
export function fold(line: string): string {
  let out = "";
  let octets = 0;
  for (const c of line) {
    const code = c.codePointAt(0)!;
    const size = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    if (octets + size > LINE_OCTETS) {
      out += "\r\n ";
      octets = 1;
    }
    out += c;
    octets += size;
  }
  return out;
}

/** A value of type TEXT, section 3.3.11; other controls than a line break may not stand in one. */
export const escaped = (text: string) =>
  text
    .replace(/\r\n?/g, "\n")
    .replace(/[\p{Cc}\p{Cs}]/gu, (c) => (c === "\n" ? c : " "))
    .replace(/[\\;,]/g, "\\$&")
    .replace(/\n/g, "\\n");

const two = (n: number) => String(n).padStart(2, "0");
const stamp = (d: Date) =>
  `${String(d.getUTCFullYear()).padStart(4, "0")}${two(d.getUTCMonth() + 1)}${two(d.getUTCDate())}T${two(d.getUTCHours())}${two(d.getUTCMinutes())}${two(d.getUTCSeconds())}`;

/**
 * The file. Names of events come from `plan` and their place in the list, so
 * that a plan imported once more replaces itself; `made` is the instant of
 * writing, `before` the minutes from alarm to event.
 */
export function calendar(name: string, plan: string, list: Reminder[], made: Date, before: number): string {
  const lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Spareamps//Day//EN", "CALSCALE:GREGORIAN", `X-WR-CALNAME:${escaped(name)}`];
  list.forEach((r, i) => {
    lines.push(
      "BEGIN:VEVENT",
      `UID:${plan.replace(/[^\w-]/g, "-")}-${i + 1}@spareamps.invalid`,
      `DTSTAMP:${stamp(made)}Z`,
      `SEQUENCE:${Math.max(0, Math.floor(made.getTime() / 60_000))}`,
      `DTSTART:${stamp(r.at)}`,
      "DURATION:PT5M",
      `SUMMARY:${escaped(r.title)}`,
      `DESCRIPTION:${escaped(r.text)}`,
      "TRANSP:TRANSPARENT",
      "BEGIN:VALARM",
      "ACTION:DISPLAY",
      `TRIGGER:${before > 0 ? `-PT${Math.round(before)}M` : "PT0S"}`,
      `DESCRIPTION:${escaped(r.title)}`,
      "END:VALARM",
      "END:VEVENT",
    );
  });
  lines.push("END:VCALENDAR");
  return lines.map((l) => fold(l) + "\r\n").join("");
}
