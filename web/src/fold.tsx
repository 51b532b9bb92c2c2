// A part that is shown when asked for, and drawn only then.

import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";

export function Fold({ summary, kind, children }: { summary: string; kind?: string; children: () => ComponentChildren }) {
  const [open, setOpen] = useState(false);
  return (
    <details class={kind} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{summary}</summary>
      {open ? children() : null}
    </details>
  );
}
