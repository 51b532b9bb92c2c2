import { render } from "preact";
import { Root } from "./app";
import { earlyAbout, start } from "./ask";
import { begin, hear } from "./offline";
import { open, watch } from "./store";

document.documentElement.dataset.build = BUILD;
hear();
const early = earlyAbout();
if (early) open(early);
watch();
// Where the last answer is known it is shown first, and the module starts behind it.
const started = (early ? painted() : Promise.resolve()).then(start).then(({ about }) => {
  if (!early) open(about);
  return about;
});
render(<Root started={started} />, document.getElementById("page")!);
// Filling the cache waits for the first answer's sake.
void started.catch(() => {}).then(begin);

/** Resolves once a picture was drawn, or might have been. */
function painted(): Promise<void> {
  return new Promise((resolve) => {
    setTimeout(resolve, 1000); // a hidden page draws none
    requestAnimationFrame(() => {
      const line = new MessageChannel();
      line.port1.onmessage = () => resolve();
      line.port2.postMessage(null);
    });
  });
}
