import { render } from "preact";
import { Root } from "./app";
import { earlyAbout, start } from "./ask";
import { begin } from "./offline";
import { open, watch } from "./store";

document.documentElement.dataset.build = BUILD;
const early = earlyAbout();
if (early) open(early);
watch();
const started = start().then(({ about }) => {
  if (!early) open(about);
  return about;
});
render(<Root started={started} />, document.getElementById("page")!);
// Filling the cache waits for the first answer's sake.
void started.catch(() => {}).then(begin);
