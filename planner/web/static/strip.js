// The strip at the foot: what was saved, and what it does to mass, hours and cost. Reckoned apart from the edits.
import { refresh } from "./live.js";
import { announce, ask, base, Refused, text, wait } from "./talk.js";

const strip = document.getElementById("strip");
// What has the focus is scrolled to where the strip, as high as it is, does not cover it.
new ResizeObserver(() => {
  document.documentElement.style.scrollPaddingBottom = `${strip.offsetHeight}px`;
}).observe(strip);

export async function say(words, act = false) {
  const told = document.createElement("span");
  told.textContent = words;
  if (act) told.className = "act";
  strip.replaceChildren(told, await closer());
  strip.hidden = false;
  announce(words);
}

async function closer() {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = await text("close");
  button.addEventListener("click", () => { strip.hidden = true; });
  return button;
}

let asked = null; // the reckoning under way; a newer one takes its place
let from = null; // the choices before the first edit that has no answer yet

export async function effect(told) {
  from ??= told.before;
  await reckoned(told.label, (await text("saved")) + told.label + ". ", from);
}

// Hours, grams and thin walls part by part, after a drop; in silence when the records are still wrong.
export async function firstReckoning() {
  if (!document.getElementById("parts")) return;
  if (document.body.dataset.reckoned !== "yes" && !asked) await reckoned("", "", null);
  await ask("POST", `${base}/at-once`, {}).catch(() => null); // so that the first edit finds all at hand
}

async function reckoned(label, head, before) {
  asked?.abort();
  const mine = (asked = new AbortController());
  document.body.dataset.reckoning = "yes";
  await progress(head);
  watch(mine, head);
  if (before) first(mine, label, head, before);
  try {
    const found = await ask("POST", `${base}/reckon`, before ? { before } : {}, { signal: mine.signal });
    if (mine !== asked) return;
    end();
    if (label) await show(label, found);
    else strip.hidden = true;
    await refresh();
  } catch (error) {
    if (mine !== asked) return;
    end();
    if (label) await say(head + error.message, true);
    else strip.hidden = true;
    if (!(error instanceof Refused)) await refresh();
  }
}

// The figures of the pieces alone, which are there before the beds are; hours and money are about.
async function first(mine, label, head, before) {
  const found = await ask("POST", `${base}/at-once`, { before }, { signal: mine.signal }).catch(() => null);
  if (mine !== asked || !found?.now) return;
  const told = await spans(label, await text("first"), found, true);
  const words = await waiting(head);
  const shut = await closer();
  if (mine !== asked) return;
  strip.replaceChildren(...told, ...words, shut); // who listens hears the reckoning, which follows
  strip.hidden = false;
}

function end() {
  asked = from = null;
  delete document.body.dataset.reckoning;
}

async function waiting(head) {
  const words = document.createElement("span");
  words.id = "reckon-words";
  words.textContent = head + (await text("reckoning"));
  const bar = document.createElement("progress");
  bar.id = "reckon-bar";
  bar.setAttribute("aria-label", await text("reckoning"));
  return [words, bar];
}

async function progress(head) {
  const told = await waiting(head);
  strip.replaceChildren(...told, await closer());
  strip.hidden = false;
  announce(told[0].textContent);
}

async function watch(mine, head) {
  for (;;) {
    await wait(500);
    if (mine !== asked) return;
    const told = await ask("GET", `${base}/reckon`).catch(() => null);
    const words = document.getElementById("reckon-words");
    if (mine !== asked || !words) return;
    if (!told?.stage) continue;
    const bar = document.getElementById("reckon-bar");
    bar.max = 1;
    bar.value = told.share;
    words.textContent = `${head}${await text("reckoning")} ${told.stage}, ${Math.round(100 * told.share)} %`;
  }
}

async function show(label, found) {
  const told = await spans(label, await text("effect"), found, false);
  strip.replaceChildren(...told, await closer());
  strip.hidden = false;
  announce(told.map((one) => one.textContent).join("; "));
}

async function spans(label, words, { now, before }, first) {
  const head = document.createElement("b");
  head.textContent = `${label}. ${words}`;
  const about = first ? ["hours", "cost"] : [];
  const money = (all) => `${(all.cost_minor / 100).toFixed(2)} ${all.currency}`;
  const rows = [
    ["mass", (all) => `${all.printed_g.toFixed(1)} g`],
    ["total", (all) => `${all.total_g.toFixed(0)} g`],
    ["hours", (all) => `${all.print_h.toFixed(1)} h`],
    ["cost", (all) => (all.currency.match(/JPY|KRW/) ? all.cost : money(all))],
    ...(first ? [] : [["beds", (all) => `${all.beds}`]]),
    ["balance", (all) => (all.station_mm === null ? "–" : `${all.station_mm.toFixed(1)} mm`)],
  ];
  const made = [];
  for (const [key, write] of rows) {
    const span = document.createElement("span");
    span.dataset[first ? "first" : "measure"] = key;
    const name = document.createElement("small");
    name.textContent = `${await text(key)} `;
    const to = document.createElement("span");
    to.className = "to";
    to.textContent = (about.includes(key) ? "≈ " : "") + write(now);
    span.append(name);
    if (before && write(before) !== write(now)) span.append(`${write(before)} → `);
    span.append(to);
    made.push(span);
  }
  return [head, ...made];
}
