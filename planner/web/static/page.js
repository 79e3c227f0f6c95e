// Every sheet: choices that save themselves, take back, the strip of effects, tables, 3D on demand.
import "./drop.js";
import "./run.js";
import "./week.js";
import { airframe, ask, base, clear, complain, refresh, Refused, text, wait } from "./talk.js";

const root = document.documentElement;
const strip = document.getElementById("strip");

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
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;
const number = (word) => (NUMBER.test(word.trim()) ? Number(word.trim().replace(",", ".")) : word);

function valueOf(field) {
  if (field.type === "checkbox") return field.checked;
  const word = field.value.trim();
  if (word === "") return null;
  if (field.dataset.kind === "number" || field.dataset.kind === "whole") return number(word);
  if (field.dataset.kind === "pair") return (word.match(/-?\d+(?:\.\d+)?/g) ?? []).map(Number);
  return word;
}

let queue = Promise.resolve();
function edit(what, given, field) {
  queue = queue.then(async () => {
    try {
      const told = await ask("POST", `${base}/edit`, { do: what, given });
      if (field) clear(field);
      await refresh();
      await effect(told);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (field) complain(field, error.message);
      else await say(error.message, true);
    }
  });
  return queue;
}

document.addEventListener("change", (event) => {
  const field = event.target;
  const list = field.closest?.("[data-list]");
  if (list) {
    const given = JSON.parse(list.dataset.given);
    given.value = [...list.querySelectorAll("input:checked")].map((one) => one.value);
    edit(list.dataset.do, given, field);
  } else if (field.dataset?.do) {
    edit(field.dataset.do, { ...JSON.parse(field.dataset.given), ...valued(field) }, field);
  }
});

function valued(field) {
  const value = valueOf(field);
  return field.dataset.do === "option" ? { choice: value } : { value };
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("button");
  if (!button) return;
  if (button.dataset.do) edit(button.dataset.do, JSON.parse(button.dataset.given));
  else if (button.id === "undo") takeBack();
  else if (button.dataset.remove && confirm(button.dataset.ask)) {
    await ask("POST", `/a/${encodeURIComponent(button.dataset.remove)}/remove`, {});
    refresh();
  } else if (button.dataset.scene) view({ one: button });
  else if (button.dataset.spotOf)
    view({ one: document.querySelector(`[data-scene="${button.dataset.spotOf}"]`) });
  else if (button.dataset.bedOf) view({ bed: button.dataset.bedOf });
  else if (button.id === "all-3d") view({ all: true });
  else if ("assembled" in button.dataset) view({ assembled: true });
  else if (button.closest("[data-sort] th")) sort(button.closest("th"));
});

async function takeBack() {
  try {
    const told = await ask("POST", `${base}/undo`, {});
    await refresh();
    await effect(told);
  } catch (error) {
    await say(error.message, true);
  }
}

document.addEventListener("keydown", (event) => {
  const typing = event.target.matches?.("input:not([type=checkbox]), textarea");
  if ((event.ctrlKey || event.metaKey) && event.key === "z" && !typing && document.getElementById("undo")) {
    event.preventDefault();
    takeBack();
  }
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.form) return;
  event.preventDefault();
  const values = {};
  for (const field of form.elements) {
    if (!field.name || field.value.trim() === "") continue;
    const [outer, inner] = field.name.split(".");
    const value = valueOf(field);
    if (inner) (values[outer] ??= {})[inner] = value;
    else values[outer] = value;
  }
  const first = form.elements[0];
  if (form.dataset.form === "add_row") edit("add_row", { kind: form.dataset.kindOf, values }, first);
  else if (form.dataset.form === "text") saveText(form);
  else edit(form.dataset.form, values, first);
});

async function saveText(form) {
  const wrong = document.getElementById("record-wrong");
  const area = form.elements.text;
  try {
    const told = await ask("POST", `${base}/edit`, { do: "text", given: { file: form.dataset.file, text: area.value } });
    wrong.hidden = true;
    area.removeAttribute("aria-invalid");
    await refresh();
    await effect(told);
  } catch (error) {
    wrong.textContent = error.message;
    wrong.hidden = false;
    area.setAttribute("aria-invalid", "true");
  }
}

// ---------------------------------------------------------------- the strip
async function say(words, act = false) {
  const told = document.createElement("span");
  told.textContent = words;
  if (act) told.className = "act";
  strip.replaceChildren(told, await closer());
  strip.hidden = false;
}

async function closer() {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = await text("close");
  button.addEventListener("click", () => { strip.hidden = true; });
  return button;
}

let latest = 0;
async function effect(told) {
  const mine = ++latest;
  await say((await text("saved")) + told.label + ". " + (await text("reckoning")));
  try {
    const found = await ask("POST", `${base}/reckon`, { before: told.before });
    if (mine !== latest) return;
    await show(told.label, found);
    await refresh();
  } catch (error) {
    if (mine === latest) await say((await text("saved")) + told.label + ". " + error.message, true);
  }
}

async function show(label, { now, before }) {
  const head = document.createElement("b");
  head.textContent = `${label}. ${await text("effect")}`;
  const money = (all) => `${(all.cost_minor / 100).toFixed(2)} ${all.currency}`;
  const rows = [
    ["mass", (all) => `${all.printed_g.toFixed(1)} g`],
    ["total", (all) => `${all.total_g.toFixed(0)} g`],
    ["hours", (all) => `${all.print_h.toFixed(1)} h`],
    ["cost", (all) => (all.currency.match(/JPY|KRW/) ? all.cost : money(all))],
    ["beds", (all) => `${all.beds}`],
    ["balance", (all) => (all.station_mm === null ? "–" : `${all.station_mm.toFixed(1)} mm`)],
  ];
  const spans = [];
  for (const [key, write] of rows) {
    const span = document.createElement("span");
    span.dataset.measure = key;
    const name = document.createElement("small");
    name.textContent = `${await text(key)} `;
    const to = document.createElement("span");
    to.className = "to";
    to.textContent = write(now);
    span.append(name);
    if (before && write(before) !== write(now)) span.append(`${write(before)} → `);
    span.append(to);
    spans.push(span);
  }
  strip.replaceChildren(head, ...spans, await closer());
  strip.hidden = false;
}

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
    const told = await ask("GET", `${base}/look`);
    const words = document.getElementById("look-words");
    const bar = document.getElementById("look-bar");
    if (told.state === "failed") {
      words.textContent = told.message;
      bar.hidden = true;
      return;
    }
    if (told.state === "done" || told.state === "none") {
      await refresh();
      if (told.state === "none") await wait(400);
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

async function firstReckoning() {
  // Hours, grams and thin walls part by part; in silence when the records are still wrong.
  if (!document.getElementById("parts")) return;
  const found = await ask("POST", `${base}/reckon`, {}).catch(() => null);
  if (found) await refresh();
}

// ---------------------------------------------------------------- other tabs
async function watchOthers() {
  while (airframe) {
    await wait(document.hidden ? 15000 : 5000);
    const told = await ask("GET", `${base}/run`).catch(() => null);
    if (!told || told.revision === document.body.dataset.revision) continue;
    if (document.activeElement?.matches?.("input[type=text], textarea")) continue;
    await refresh();
    await say(await text("changed"));
  }
}

const start = async () => {
  document.body.dataset.ready = "yes";
  if (!airframe) return;
  if (document.getElementById("health")) {
    await watchLook();
    await firstReckoning();
  }
  watchOthers();
};
start();
