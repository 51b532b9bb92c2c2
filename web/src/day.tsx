// Day: the place of the plan of a day.
//
// What stands ready for it: useReply("day", { ask: "day", request }, key) of
// ask.ts asks the module's `day` in the solver's thread and drops stale answers;
// the request is rig.request with its day (series_min for the strips); InputRow
// and Rows make forms from the table's day.* rows; updateRig with withValue
// changes the document and is undone and saved like all else; plot.tsx has
// width, ticks and lines for charts. Words go into words.ts under `day`.

import type { About } from "./about";
import { words } from "./words";

export function DayScreen(_: { about: About; go: (screen: string, field?: string) => void }) {
  return (
    <main class="day" id="screen">
      <h1>{words.day.title}</h1>
      <p>{words.day.soon}</p>
    </main>
  );
}
