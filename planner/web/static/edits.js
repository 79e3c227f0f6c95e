// One queue for edits: each goes out at once in its order and has an answer of its own. Nothing else waits in it.
import { clear, complain, held, isDirty, isField, rest, settle, valueOf } from "./fields.js";
import { answered, refresh, watchQueue } from "./live.js";
import { effect, say } from "./strip.js";
import { ask, base, Ended, Lost, Refused, text, wait } from "./talk.js";

const AGAIN_MS = 1500;
const waiting = [];
let working = null;

export const unsent = () => waiting.length > 0;
watchQueue(unsent);

// Resolves when every edit so far has its answer.
export const settled = () => working ?? Promise.resolve();

// With `empties` the fields of a row that was added are empty afterwards, but for what was typed since.
export function edit(what, given, fields = [], empties = false) {
  const sent = fields.map((field) => [field, held(field)]);
  const later = waiting.findIndex((one, at) => at > 0 && fields.length === 1 && one.fields[0] === fields[0]);
  const item = { what, given, fields, sent, empties };
  if (later > 0) waiting.splice(later, 1, item); // not sent yet: the newer value takes its place
  else waiting.push(item);
  working ??= work().finally(() => { working = null; });
  return working;
}

async function work() {
  let told = null;
  let before = null;
  while (waiting.length) {
    const item = waiting[0];
    try {
      told = await send(item);
      before ??= told.before;
      for (const [field, value] of item.sent) saved(field, value, item.empties);
      renamed(item);
    } catch (error) {
      if (error instanceof Lost) {
        await say(await text("waiting_edits", { n: waiting.length }), true);
        await wait(AGAIN_MS);
        continue;
      }
      if (!(error instanceof Refused || error instanceof Ended)) console.error(error);
      await refuse(item, error.message);
    }
    waiting.shift();
    answered();
  }
  refresh();
  if (told) effect({ ...told, before });
}

function saved(field, value, empties) {
  clear(field);
  if (!empties) settle(field, value);
  else if (held(field) === value) rest(field);
}

const send = (item) =>
  item.what === "undo"
    ? ask("POST", `${base}/undo`, {}, { keepalive: true })
    : ask("POST", `${base}/edit`, { do: item.what, given: item.given }, { keepalive: small(item.given) });

// A browser lets go on after the page is left what is below 64 kB.
const small = (given) => JSON.stringify(given).length < 50000;

async function refuse(item, message) {
  const field = item.fields.find((one) => blames(message, one)) ?? item.fields[0];
  field?.closest("details")?.setAttribute("open", "");
  if (field) complain(field, message);
  else await say(message, true);
}

const blames = (message, field) => {
  const key = (field.dataset.key ?? field.name ?? "").split(".").pop();
  return key && new RegExp(`\\b${key}\\b`).test(message);
};

// A row that has a new name is known by it to the edits that follow.
function renamed({ what, given }) {
  if (what !== "set_row" || given.key !== "name") return;
  const old = given.name;
  const mine = (one) => one.kind === given.kind && one.name === old;
  for (const one of waiting) if (mine(one.given)) one.given.name = given.value;
  const slug = (name) => `${given.kind} ${name}`.replaceAll(" ", "_");
  const row = document.getElementById(slug(old));
  for (const node of row ? [row, ...row.querySelectorAll("[id]")] : []) {
    if (node.id.startsWith(slug(old))) node.id = slug(given.value) + node.id.slice(slug(old).length);
  }
  for (const node of document.querySelectorAll("[data-do][data-given]")) {
    const one = JSON.parse(node.dataset.given);
    if (mine(one)) node.dataset.given = JSON.stringify({ ...one, name: given.value });
  }
}

// ---------------------------------------------------------------- from fields and forms
export function fieldChanged(field) {
  const list = field.closest?.("[data-list]");
  if (list) {
    const boxes = [...list.querySelectorAll("input")];
    const value = boxes.filter((one) => one.checked).map((one) => one.value);
    edit(list.dataset.do, { ...JSON.parse(list.dataset.given), value }, boxes);
  } else if (field.dataset?.do && (isDirty(field) || waiting.some((one) => one.fields[0] === field))) {
    const value = valueOf(field);
    const told = field.dataset.do === "option" ? { choice: value } : { value };
    edit(field.dataset.do, { ...JSON.parse(field.dataset.given), ...told }, [field]);
  } else if (field.dataset?.do) clear(field); // put back by hand to what is written
}

export function formSent(form) {
  const fields = [...form.elements].filter((one) => one.name && isField(one));
  const kind = form.dataset.form;
  if (kind === "parts" || kind === "start") return; // the sheet Kit has its own
  const values = {};
  for (const field of fields) {
    if (field.value.trim() === "") continue;
    const [outer, inner] = field.name.split(".");
    if (inner) (values[outer] ??= {})[inner] = valueOf(field);
    else values[outer] = valueOf(field);
  }
  if (kind === "add_row" || kind === "add_recipe" || kind === "add_fitting") {
    const rows = { add_row: { kind: form.dataset.kindOf, values }, add_recipe: values, add_fitting: { values } };
    edit(kind, rows[kind], fields, true);
  } else if (["add_away", "add_absence"].includes(kind)) edit(kind, values, fields, true);
  else if (kind === "week") {
    const week = Object.fromEntries(fields.map((field) => [field.name, field.value]));
    edit("week", { week, person: form.dataset.person }, fields);
  } else if (kind === "text") {
    const field = form.elements.text;
    edit("text", { file: form.dataset.file, text: field.value, was: field.defaultValue }, [field]);
  }
}

// ---------------------------------------------------------------- leaving
const half = () =>
  [...document.querySelectorAll("form[data-form] :is(input, textarea)")].some(
    (field) => isDirty(field) && !field.hasAttribute("aria-invalid"),
  );

addEventListener("beforeunload", (event) => {
  const last = document.activeElement;
  if (last?.dataset?.do && isDirty(last) && !last.hasAttribute("aria-invalid") && !sentAlready(last)) fieldChanged(last);
  if (unsent() || half()) event.preventDefault();
});

const sentAlready = (field) => waiting.some((one) => one.sent.some(([own, value]) => own === field && value === held(field)));

// A link waits for the edits; where one of them is refused, the sheet stays and says so.
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[href]");
  if (!link || link.target || link.hasAttribute("download") || link.getAttribute("href").startsWith("#")) return;
  if (event.button || event.ctrlKey || event.metaKey || event.shiftKey || !unsent()) return;
  event.preventDefault();
  await say(await text("leaving"));
  await settled();
  if (!document.querySelector("main [aria-invalid]")) location.href = link.href;
});
