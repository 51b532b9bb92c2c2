// A table that scrolls within its own width, also by the keyboard.

import type { ComponentChildren } from "preact";

export const Scroll = ({ label, children }: { label: string; children: ComponentChildren }) => (
  <div class="scroll" tabIndex={0} role="group" aria-label={label}>{children}</div>
);
