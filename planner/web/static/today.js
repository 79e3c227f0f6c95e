// The sheet beside the printers: taps become facts, which wait until they are sent; the plan that goes on is asked for.
import { again, drop, flush, kept, lasting, tell, unreachable } from "./facts.js";
import { complain, clear } from "./fields.js";
import { refresh } from "./live.js";
import { say } from "./strip.js";
import { airframe, announce, ask, base, text } from "./talk.js";

const NUMBER = /^\d+([.,]\d*)?$/;
const MINUTE_MS = 60000;
const sheet = document.getElementById("today");
const section = document.getElementById("waiting");

// ---------------------------------------------------------------- what waits
async function show() {
  const mine = kept().filter((one) => one.airframe === airframe);
  const open = mine.filter((one) => one.state === "waiting");
  mark(mine);
  if (!section) return;
  const rows = await Promise.all(mine.map(row));
  document.getElementById("waiting-list").replaceChildren(...rows);
  const words = [];
  if (open.length && unreachable) words.push(unreachable);
  if (open.length) words.push(await text("facts_wait", { n: open.length }));
  if (open.length && !lasting) words.push(await text("facts_not_kept"));
  document.getElementById("waiting-words").textContent = words.join(" ");
  if (section.hidden !== !mine.length) {
    section.hidden = !mine.length;
    announce(mine.length ? words.join(" ") : await text("facts_sent"));
  }
}

async function row(one) {
  const line = document.createElement("li");
  const told = document.createElement("span");
  const at = new Date(one.tapped).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const state = one.state === "refused" ? await text("fact_refused", { why: one.why }) : await text("fact_waits");
  told.textContent = `${at} ${one.label}: ${state}`;
  line.dataset.state = one.state;
  line.append(told);
  if (one.state === "refused") line.append(await button("fact_again", one, again));
  line.append(await button("fact_drop", one, drop));
  return line;
}

async function button(key, one, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = await text(key);
  made.setAttribute("aria-label", `${made.textContent}: ${one.label}`);
  made.addEventListener("click", () => act(one.id));
  return made;
}

// What was tapped and is not sent yet shows so, also after a reload; it cannot be tapped twice.
function mark(mine) {
  const keys = new Set(mine.filter((one) => one.state === "waiting").map((one) => one.key));
  for (const node of document.querySelectorAll("[data-fact]")) {
    const told = keys.has(node.dataset.fact);
    node.disabled = told;
    node.classList.toggle("told", told);
  }
}

// ---------------------------------------------------------------- taps
const common = () => ({ series: sheet.dataset.series, ...(sheet.dataset.at ? { at: sheet.dataset.at } : {}) });

function tapped(node) {
  const given = JSON.parse(node.dataset.fact);
  tell(airframe, given.takes_back ? given : { ...common(), ...given }, node.dataset.label, node.dataset.fact);
}

// A number of a field, nothing where it is empty; what is none is said beside it.
async function number(field) {
  clear(field);
  const word = field.value.trim();
  if (word === "") return null;
  if (NUMBER.test(word)) return Number(word.replace(",", "."));
  const name = field.closest(".f").firstElementChild.textContent;
  complain(field, await text("fact_number", { field: name, value: word }));
  throw new Error("refused");
}

async function grams(field) {
  const found = await number(field);
  if (found > 0) return field.value.trim().replace(",", ".");
  complain(field, await text("fact_grams"));
  throw new Error("refused");
}

const chosen = (form, name) => [...form.querySelectorAll(`[name=${name}]:checked`)].map((one) => one.value);

const told = {
  async failed(form) {
    const { bed } = form.dataset;
    const good = chosen(form, "good");
    const [layer, height_mm] = [await number(form.elements.layer), await number(form.elements.height_mm)];
    const at = form.elements.at.value ? { at: form.elements.at.value } : {};
    const label = await text("fact_failed", { bed });
    const saved = good.length ? `; ${await text("fact_good", { pieces: good.join(", ") })}` : "";
    return [{ ...common(), words: [bed, "failed"], good, layer, height_mm, ...at }, label + saved];
  },
  async weighed(form) {
    const pieces = chosen(form, "piece").join(" + ");
    if (!pieces) {
      await say(await text("fact_pieces"), true);
      throw new Error("refused");
    }
    const weight = await grams(form.elements.grams);
    const given = { ...common(), words: ["weighed", pieces, weight], supports_on: form.elements.supports_on.checked };
    return [given, await text("fact_weighed", { pieces, grams: weight })];
  },
  async spool(form) {
    const name = form.elements.spool.value;
    const weight = await grams(form.elements.grams);
    const tare_g = (await number(form.elements.tare_g)) ?? 0;
    const at = sheet.dataset.at ? { at: sheet.dataset.at } : {};
    return [{ spool: name, grams: weight, tare_g, ...at }, await text("fact_spool", { name, grams: weight })];
  },
  async lost(form) {
    const piece = form.elements.piece.value;
    return [{ ...common(), words: ["lost", piece] }, await text("fact_lost", { piece })];
  },
};

async function sent(form) {
  try {
    const [given, label] = await told[form.dataset.tell](form);
    form.reset();
    form.closest("details")?.removeAttribute("open");
    colour();
    await tell(airframe, given, label);
  } catch (error) {
    if (error.message !== "refused") throw error;
    form.querySelector("[aria-invalid]")?.focus();
  }
}

// The pieces of a picture are those of the list below it.
function colour() {
  for (const piece of document.querySelectorAll("[data-tap]"))
    piece.classList.toggle("good", document.getElementById(piece.dataset.tap)?.checked ?? false);
}

// ---------------------------------------------------------------- the plan that goes on
async function onward(method, path, said) {
  try {
    await ask(method, `${base}/${path}`, {});
    await refresh();
    await say(await text(said));
  } catch (error) {
    await say(error.message, true);
  }
}

document.addEventListener("click", (event) => {
  const node = event.target.closest?.("#onward-take, #onward-refuse");
  if (!node || node.disabled) return;
  if (node.id === "onward-take") onward("POST", "onward/take", "onward_taken");
  else onward("DELETE", "onward", "onward_refused");
});

// ---------------------------------------------------------------- watching
document.addEventListener("facts", show);
document.addEventListener("refreshed", () => { show(); colour(); });
document.addEventListener("sent", () => sheet && refresh());
if (sheet) {
  document.addEventListener("click", (event) => {
    const node = event.target.closest?.("[data-fact], [data-tap]");
    if (!node || node.disabled) return;
    if (node.dataset.fact) tapped(node);
    else {
      document.getElementById(node.dataset.tap).click();
      colour();
    }
  });
  document.addEventListener("submit", (event) => {
    if (!event.target.dataset.tell) return;
    event.preventDefault();
    sent(event.target);
  });
  document.addEventListener("change", colour);
  // A fact that another phone or the terminal told; and the clock goes on.
  document.addEventListener("told", ({ detail }) => {
    if (kept().length) flush();
    if (detail.facts !== document.getElementById("today").dataset.facts) refresh();
  });
  setInterval(() => { if (!document.hidden) refresh(); }, MINUTE_MS);
  colour();
}
show();
