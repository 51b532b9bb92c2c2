// Card: the place of the dash card, one printed page of ceilings by engine speed
// and ambient.
//
// What stands ready for it: ask({ ask: "curve", path, values, outputs }) gives a
// column of ceilings against any one input, one call for each ambient; the print
// rules of style.css hide everything but #screen. Words go into words.ts under
// `card`.

import type { About } from "./about";
import { words } from "./words";

export function CardScreen(_: { about: About }) {
  return (
    <main class="card" id="screen">
      <h1>{words.card.title}</h1>
      <p>{words.card.soon}</p>
    </main>
  );
}
