// Planning: begin, watch, stop; another tab sees the same.
import { ask, base, refresh, Refused, text, wait } from "./talk.js";

const form = document.getElementById("run");
const running = document.getElementById("running");
const words = document.getElementById("run-words");
const bar = document.getElementById("run-bar");
const failed = document.getElementById("run-failed");
const button = document.getElementById("make-plan");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  failed.hidden = true;
  const seed = form.elements.seed.value.trim();
  try {
    await ask("POST", `${base}/run`, {
      start: form.elements.start.value || null,
      effort: form.elements.effort.value,
      seed: /^\d+$/.test(seed) ? Number(seed) : seed,
    });
    await watch();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    tell(error.message);
  }
});

document.getElementById("stop").addEventListener("click", () => ask("POST", `${base}/stop`, {}));
document.getElementById("leave").addEventListener("click", () => ask("POST", `${base}/stop`, { leave: true }));

function tell(message) {
  failed.textContent = message;
  failed.hidden = false;
}

let watching = false;
async function watch() {
  if (watching) return;
  watching = true;
  running.hidden = false;
  button.disabled = true;
  for (;;) {
    const told = await ask("GET", `${base}/run`).catch(() => null);
    if (!told) {
      tell(await text("lost"));
      await wait(2000);
      continue;
    }
    if (told.state !== "running" && told.state !== "stopping") {
      if (told.state === "failed") tell(told.message);
      break;
    }
    const said = [told.state === "stopping" ? await text("stopping") : told.stage];
    if (told.total > 1) said.push(`${told.done} / ${told.total}`);
    if (told.best_h !== null) said.push(await text("best", { h: told.best_h }));
    said.push(await text("seconds", { s: told.seconds.toFixed(0) }));
    words.textContent = said.filter(Boolean).join(" · ");
    if (told.total > 1) { bar.max = told.total; bar.value = told.done; } else bar.removeAttribute("value");
    await wait(300);
  }
  watching = false;
  running.hidden = true;
  button.disabled = false;
  const index = document.querySelector("nav ol");
  await refresh();
  const page = await fetch(location.pathname).then((answer) => answer.text());
  index?.replaceWith(new DOMParser().parseFromString(page, "text/html").querySelector("nav ol"));
}

if (running.dataset.busy === "yes") watch();
