// Planning, and the study of changes: begin, watch, stop; another tab sees the same.
import { settled } from "./edits.js";
import { refresh } from "./live.js";
import { announce, ask, base, Ended, text, wait } from "./talk.js";

const form = ["run", "study", "onward"].map((id) => document.getElementById(id)).find(Boolean);
const path = `${base}/${form?.id}`;
const running = document.getElementById("running");
const words = document.getElementById("run-words");
const bar = document.getElementById("run-bar");
const failed = document.getElementById("run-failed");
const button = form?.querySelector("button[type=submit]");
const stop = document.getElementById("stop");
const number = (word) => (/^\d+([.,]\d+)?$/.test(word) ? Number(word.replace(",", ".")) : word);
const NEAR_MS = 400;
const FAR_MS = 2000;

function wishes() {
  const fields = form.elements;
  if (form.id === "run") {
    const anew = fields.anew?.checked ?? false;
    const { worlds, missed } = worldsAsked();
    const seed = number(fields.seed.value.trim());
    return { start: fields.start.value || null, effort: fields.effort.value, seed, anew, worlds, missed };
  }
  if (form.id === "onward") return { start: fields.start.value || null, files: form.dataset.files === "yes" };
  const mass = fields.mass.value.trim();
  return {
    mass: mass === "" ? null : number(mass),
    finish: fields.finish.value || null,
    cost: fields.cost.value.trim() || null,
    balance: fields.balance.checked,
  };
}

function worldsAsked() {
  const [worlds, missed] = ["worlds", "missed"].map((name) => {
    const word = form.elements[name].value.trim();
    return word === "" ? null : number(word);
  });
  return { worlds, missed };
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  failed.hidden = true;
  try {
    await settled(); // what is planned is what was chosen last
    await ask("POST", path, wishes());
    await watch();
  } catch (error) {
    tell(error.message);
  }
});

function tell(message) {
  failed.textContent = message;
  failed.hidden = false;
}

async function shown(told) {
  const said = [];
  if (told.state === "stopping") said.push(await text("stopping"));
  if (told.stage) said.push(told.total > 1 ? `${told.stage}, ${told.done} / ${told.total}` : told.stage);
  const percent = told.share === null ? "" : `${Math.round(100 * told.share)} %`;
  said.push(percent);
  if (told.best_h !== null) said.push(await text("best", { h: told.best_h }));
  said.push(await text("seconds", { s: told.seconds.toFixed(0) }));
  if (told.left_s !== null) said.push(await text("left", { s: spoken(told.left_s) }));
  words.textContent = said.filter(Boolean).join(" \u00b7 ");
  if (told.share === null) bar.removeAttribute("value");
  else bar.value = told.share;
  document.title = percent ? `${percent} - ${title}` : title;
  announce([told.state === "stopping" ? await text("stopping") : "", told.stage].filter(Boolean).join(" "));
}

const spoken = (seconds) => (seconds < 90 ? `${Math.ceil(seconds / 5) * 5} s` : `${Math.ceil(seconds / 60)} min`);

let watching = null; // the address of what is going on
let title = document.title;
async function watch(at = path) {
  if (watching) return;
  watching = at;
  title = document.title;
  running.hidden = false;
  off();
  if (stop) {
    stop.disabled = false;
    stop.hidden = at !== path; // worlds have no best until now
  }
  bar.max = 1;
  let lost = false;
  for (;;) {
    let told;
    try {
      told = await ask("GET", at);
    } catch (error) {
      tell(error.message);
      lost = true;
      if (error instanceof Ended) break;
      await wait(FAR_MS);
      continue;
    }
    if (lost) failed.hidden = true;
    lost = false;
    if (told.state !== "running" && told.state !== "stopping") {
      if (told.state === "failed") tell(told.message);
      if (told.state === "none") tell(await text("run_gone"));
      break;
    }
    if (stop) stop.disabled = told.state === "stopping";
    await shown(told);
    await wait(NEAR_MS);
  }
  document.title = title;
  await refresh();
  watching = null;
  running.hidden = true;
  off();
  if (failed.hidden) announce(await text("run_done"));
}

const off = () => {
  if (button) button.disabled = watching !== null || button.dataset.off === "yes";
  const living = document.getElementById("live-through");
  if (living) living.disabled = watching !== null;
};

stop?.addEventListener("click", () => {
  stop.disabled = true;
  ask("POST", `${base}/stop`, {}).catch((error) => tell(error.message));
});
document.getElementById("leave")?.addEventListener("click", () =>
  (watching === path && form.id === "run" ? ask("POST", `${base}/stop`, { leave: true }) : ask("DELETE", watching ?? path)).catch((error) => tell(error.message)));

// The plan that is there, lived through: its button comes and goes with the plan.
document.addEventListener("click", async (event) => {
  if (event.target.id !== "live-through") return;
  failed.hidden = true;
  try {
    await ask("POST", `${base}/risk`, worldsAsked());
    await watch(`${base}/risk`);
  } catch (error) {
    tell(error.message);
  }
});

// Until here a press would have sent the form the browser's own way.
off();
document.addEventListener("refreshed", off);
// Another tab may have begun it, or it was going on before this sheet was opened.
document.addEventListener("told", ({ detail }) => {
  if (form?.id === "run" && ["running", "stopping"].includes(detail.state)) watch();
});
if (running?.dataset.busy === "yes") watch();
else if (document.getElementById("live-through")?.dataset.busy === "yes") watch(`${base}/risk`);
