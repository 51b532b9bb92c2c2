// A file to be read here: dropped in, or chosen.

import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";

interface Props {
  id: string;
  accept: string;
  choose: string; // on the button
  take: (file: File) => void;
  lead: ComponentChildren;
  tools?: ComponentChildren; // further buttons
  children: ComponentChildren;
}

export function FileDrop({ id, accept, choose, take, lead, tools, children }: Props) {
  const [over, setOver] = useState(false);
  const picker = useRef<HTMLInputElement>(null);
  const got = (file: File | undefined) => file && take(file);
  return (
    <div class={over ? "drop over" : "drop"}
      onDragOver={(e) => { e.preventDefault(); setOver(true); }}
      onDragLeave={() => setOver(false)}
      onDrop={(e) => { e.preventDefault(); setOver(false); got(e.dataTransfer?.files[0]); }}>
      {lead}
      <div class="tools">
        <button type="button" onClick={() => picker.current?.click()}>{choose}</button>
        <input ref={picker} id={id} class="unseen" type="file" accept={accept} tabIndex={-1} aria-label={choose}
          onChange={(e) => { got(e.currentTarget.files?.[0]); e.currentTarget.value = ""; }} />
        {tools}
      </div>
      {children}
    </div>
  );
}
