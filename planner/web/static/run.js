// Planning, and the study of changes: begin, watch, stop; another tab sees the same.
import { ask, base, refresh, Refused, text, wait } from "./talk.js";

const form = document.getElementById("run") ?? document.getElementById("study");
const path = `${base}/${form?.id}`;
const running = document.getElementById("running");
const words = document.getElementById("run-words");
const bar = document.getElementById("run-bar");
const failed = document.getElementById("run-failed");
const button = form?.querySelector("button[type=submit]");
const number = (word) => (/^\d+([.,]\d+)?$/.test(word) ? Number(word.replace(",", ".")) : word);

function wishes() {
  const fields = form.elements;
  if (form.id === "run") {
    return { start: fields.start.value || null, effort: fields.effort.value, seed: number(fields.seed.value.trim()) };
  }
  const mass = fields.mass.value.trim();
  return {
    mass: mass === "" ? null : number(mass),
    finish: fields.finish.value || null,
    cost: fields.cost.value.trim() || null,
    balance: fields.balance.checked,
  };
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  failed.hidden = true;
  try {
    await ask("POST", path, wishes());
    await watch();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    tell(error.message);
  }
});


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
    const told = await ask("GET", path).catch(() => null);
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
    if (told.total > 1) {
      bar.max = told.total;
      bar.value = told.done;
    } else bar.removeAttribute("value");
    await wait(300);
  }
  await refresh();
  watching = false;
  running.hidden = true;
  button.disabled = false;
}

document.getElementById("stop")?.addEventListener("click", () => ask("POST", `${base}/stop`, {}));
document.getElementById("leave")?.addEventListener("click", () =>
  form.id === "run" ? ask("POST", `${base}/stop`, { leave: true }) : ask("DELETE", path));

// Until here a press would have sent the form the browser's own way.
if (button) button.disabled = button.dataset.off === "yes";
if (running?.dataset.busy === "yes") watch();
