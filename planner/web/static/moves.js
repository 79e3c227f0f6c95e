// The sheet Machine files: how far the reading is, what is forgotten, and layers that are looked at.
import { refresh } from "./live.js";
import { say } from "./strip.js";
import { announce, ask, base, Ended, text, wait } from "./talk.js";

const reading = document.getElementById("reading");
const words = document.getElementById("reading-words");
const bar = document.getElementById("reading-bar");
const failed = document.getElementById("reading-failed");
const NEAR_MS = 300;
const FAR_MS = 2000;

let watching = false;
async function watch() {
  if (watching) return;
  watching = true;
  reading.hidden = false;
  failed.hidden = true;
  let left = -1;
  for (;;) {
    let told;
    try {
      told = await ask("GET", `${base}/moves/reading`);
    } catch (error) {
      failed.textContent = error.message;
      failed.hidden = false;
      if (error instanceof Ended) break;
      await wait(FAR_MS);
      continue;
    }
    if (told.state !== "running" && told.state !== "stopping") {
      failed.hidden = told.state !== "failed";
      failed.textContent = told.message;
      break;
    }
    if (told.stage) {
      words.textContent = await text("moves_reading", { name: told.stage, done: told.done, total: told.total });
      bar.max = told.total;
      bar.value = told.done;
    }
    if (left >= 0 && told.waiting !== left) refresh(); // one more is read
    left = told.waiting;
    await wait(NEAR_MS);
  }
  reading.hidden = true;
  watching = false;
  if (!document.getElementById("onward")) location.reload();
  else await refresh();
  announce(await text("moves_done"));
}

async function gone(path) {
  try {
    await ask("DELETE", `${base}/${path}`, {});
    await refresh();
  } catch (error) {
    await say(error.message, true);
  }
}

if (reading) {
  document.addEventListener("moves", watch);
  document.getElementById("reading-leave").addEventListener("click", () => gone("moves"));
  document.addEventListener("click", (event) => {
    const key = event.target.closest?.("[data-forget]")?.dataset.forget;
    if (key) gone(`moves/${key}`);
  });
  const open = async (one) => {
    if (!one.dataset?.layers || !one.open) return;
    const { look } = await import("./layers.js");
    look(one);
  };
  document.addEventListener("toggle", (event) => open(event.target), true);
  document.querySelectorAll("details[data-layers]").forEach(open); // opened before this was here
  if (reading.dataset.busy === "yes") watch();
}
