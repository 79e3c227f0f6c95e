// Every sheet: choices that save themselves, take back, tables, 3D on demand, other tabs.
import "./drop.js";
import "./kit.js";
import "./moves.js";
import "./run.js";
import "./today.js";
import "./week.js";
import { edit, fieldChanged, formSent, unsent } from "./edits.js";
import { refresh } from "./live.js";
import { effect, firstReckoning, say } from "./strip.js";
import { airframe, ask, base, Ended, text, wait } from "./talk.js";

const root = document.documentElement;

// ---------------------------------------------------------------- light or dark
const look = document.getElementById("look");
const looks = { auto: look.textContent };
const nameLook = async () => {
  const now = root.dataset.look ?? "auto";
  look.textContent = now === "auto" ? looks.auto : await text(`look_${now}`);
};
look.addEventListener("click", () => {
  const next = { auto: "light", light: "dark", dark: "auto" }[root.dataset.look ?? "auto"];
  if (next === "auto") delete root.dataset.look;
  else root.dataset.look = next;
  try { localStorage.setItem("planner-look", next); } catch { /* not kept */ }
  nameLook();
});
nameLook();
document.querySelector("nav ol [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });

// ---------------------------------------------------------------- edits
document.addEventListener("change", (event) => fieldChanged(event.target));

document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("button");
  if (!button) return;
  if (button.dataset.do) edit(button.dataset.do, JSON.parse(button.dataset.given));
  else if (button.id === "undo") edit("undo", {});
  else if (button.dataset.remove && confirm(button.dataset.ask)) putAway(button);
  else if (button.dataset.scene) view({ one: button });
  else if (button.dataset.spotOf)
    view({ one: document.querySelector(`[data-scene="${button.dataset.spotOf}"]`) });
  else if (button.dataset.bedOf) view({ bed: button.dataset.bedOf });
  else if (button.id === "all-3d") view({ all: true });
  else if ("assembled" in button.dataset) view({ assembled: true });
  else if (button.closest("[data-sort] th")) sort(button.closest("th"));
});

async function putAway(button) {
  try {
    await ask("POST", `/a/${encodeURIComponent(button.dataset.remove)}/remove`, {});
    await refresh();
  } catch (error) {
    await say(error.message, true);
  }
}

document.addEventListener("keydown", (event) => {
  const typing = event.target.matches?.("input:not([type=checkbox]), textarea");
  if ((event.ctrlKey || event.metaKey) && event.key === "z" && !typing && document.getElementById("undo")) {
    event.preventDefault();
    edit("undo", {});
  }
});

document.addEventListener("submit", (event) => {
  if (!event.target.dataset.form) return;
  event.preventDefault();
  formSent(event.target);
});

// ---------------------------------------------------------------- tables
function sort(head) {
  const table = head.closest("table");
  const at = [...head.parentNode.children].indexOf(head);
  const up = head.getAttribute("aria-sort") !== "ascending";
  for (const other of head.parentNode.children) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", up ? "ascending" : "descending");
  const key = (row) => row.cells[at].dataset.value ?? row.cells[at].textContent.trim();
  const order = (a, b) => {
    const [x, y] = [key(a), key(b)];
    const told = a.cells[at].dataset.value === undefined ? x.localeCompare(y, "en", { numeric: true }) : x - y;
    return up ? told : -told;
  };
  const body = table.tBodies[0];
  body.append(...[...body.rows].sort(order));
}

document.addEventListener("input", (event) => {
  const table = event.target.dataset?.filter && document.getElementById(event.target.dataset.filter);
  if (!table) return;
  const wanted = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const row of table.tBodies[0].rows)
    row.hidden = !wanted.every((word) => row.textContent.toLowerCase().includes(word));
});

// ---------------------------------------------------------------- 3D, fetched when it is asked for
async function view(what) {
  const { open } = await import("./view.js");
  open(what);
}

// ---------------------------------------------------------------- the look at the meshes
async function watchLook() {
  while (document.getElementById("looking")) {
    const told = await ask("GET", `${base}/look`).catch(() => ({ state: "lost" }));
    const words = document.getElementById("look-words");
    const bar = document.getElementById("look-bar");
    if (told.state === "failed") {
      words.textContent = told.message;
      bar.hidden = true;
      return;
    }
    if (told.state === "done" || told.state === "none") {
      await refresh();
      await wait(400);
      continue;
    }
    if (told.total) {
      words.textContent = await text("look", told);
      bar.max = told.total;
      bar.value = told.done;
    }
    await wait(250);
  }
}

// ---------------------------------------------------------------- other tabs
const NEAR_MS = 3000;
const FAR_MS = 15000;

async function watchOthers() {
  let silent = false;
  let planning = document.getElementById("run") !== null; // the sheet Plan shows it by itself
  for (;;) {
    await wait(document.hidden ? FAR_MS : NEAR_MS);
    let told = null;
    try {
      told = await ask("GET", `${base}/run`);
    } catch (error) {
      if (!silent) await say(error.message, true);
      if (error instanceof Ended) return; // another start answers here; this sheet has no say any more
      silent = true;
      continue;
    }
    if (silent) await say(await text("back"));
    silent = false;
    document.dispatchEvent(new CustomEvent("told", { detail: told }));
    if (told.state === "running" && !planning) await say(await text("planning"));
    planning = told.state === "running" || document.getElementById("run") !== null;
    const here = document.body.dataset;
    if (unsent() || "reckoning" in here || (told.revision === here.revision && told.plan === here.plan)) continue;
    const what = told.plan === here.plan ? "changed" : "new_plan";
    await refresh();
    await watchLook();
    await say(await text(what));
    if (what === "changed") await firstReckoning();
  }
}

// What came with the last drop is told at once; the look at all meshes goes on beside it.
function received() {
  const kept = sessionStorage.getItem("planner-received");
  sessionStorage.removeItem("planner-received");
  const told = kept && JSON.parse(kept);
  if (told?.airframe === airframe && told.before) effect(told);
}

const start = async () => {
  document.body.dataset.ready = "yes";
  if (!airframe) return;
  received();
  await watchLook();
  firstReckoning();
  watchOthers();
};
start();
