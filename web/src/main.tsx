import { render } from "preact";
import { App } from "./app";
import { start } from "./ask";
import { begin } from "./offline";
import { open, watch } from "./store";
import { words } from "./words";

async function main() {
  const page = document.getElementById("page")!;
  try {
    const { about } = await start();
    open(about);
    watch();
    document.documentElement.dataset.build = BUILD;
    render(<App about={about} />, page);
  } catch (cause) {
    render(
      <main class="welcome">
        <h1>{words.failed}</h1>
        <p>{words.failedWhy}</p>
        <p class="quiet">{(cause as Error).message}</p>
        <button type="button" onClick={() => location.reload()}>{words.reload}</button>
      </main>,
      page,
    );
  }
  await begin();
}

void main();
