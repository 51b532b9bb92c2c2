import { render } from "preact";
import { Root } from "./app";
import { start } from "./ask";
import { begin } from "./offline";
import { open, watch } from "./store";

document.documentElement.dataset.build = BUILD;
const started = start().then(({ about }) => {
  open(about);
  watch();
  return about;
});
render(<Root started={started} />, document.getElementById("page")!);
// Filling the cache waits for the first answer's sake.
void started.catch(() => {}).then(begin);
