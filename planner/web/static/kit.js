// The sheet Kit: several parts at once, fittings moved along the side view, the airframe put together.
import { edit } from "./edits.js";
import { isDirty, rest, valueOf } from "./fields.js";
import { say } from "./strip.js";
import { text } from "./talk.js";

const many = document.getElementById("many");
const boxes = () => [...document.querySelectorAll("[data-choose]")];
const chosen = new Set(); // by name: a row may be made anew, or stand elsewhere, after an edit
const listeners = new Set(); // the scene marks what is chosen

// ---------------------------------------------------------------- parts that are chosen
async function told() {
  for (const box of boxes()) box.checked = chosen.has(box.dataset.choose);
  const there = boxes().filter((box) => box.checked).length;
  const all = document.getElementById("choose-all");
  [all.checked, all.indeterminate] = [there > 0 && there === boxes().length, there > 0 && there < boxes().length];
  document.getElementById("many-set").disabled = there === 0;
  const key = there === 0 ? "chosen_none" : there === 1 ? "chosen_one" : "chosen_many";
  document.getElementById("many-count").textContent = await text(key, { n: there });
  for (const listen of listeners) listen();
}

function choose(part, on) {
  if (on) chosen.add(part);
  else chosen.delete(part);
  return told();
}

async function setMany() {
  const fields = [...many.elements].filter((field) => field.name && field.value.trim() !== "");
  const parts = boxes().filter((box) => box.checked).map((box) => box.dataset.choose);
  if (!fields.length) return say(await text("nothing_given"), true);
  const values = Object.fromEntries(fields.map((field) => [field.name, valueGiven(field)]));
  return edit("parts", { parts, values }, fields, true);
}

function valueGiven(field) {
  if (field.value.trim() === "-") return null;
  return field.name === "printed" ? field.value === "yes" : valueOf(field);
}

// ---------------------------------------------------------------- a stack with its beginning
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.form === "parts") setMany();
  else if (form.dataset.form === "start") {
    const given = JSON.parse(form.dataset.given);
    const field = form.elements.start_mm;
    const stacks = given.stacks.map((row) => ({ ...row, start_mm: valueOf(field) }));
    edit("answer", { ...given, stacks }, [field]);
  }
});

// ---------------------------------------------------------------- fittings along the side view
const STEP_MM = 1;
const LONG_STEP_MM = 10;
const REST_MS = 700;
let held = null; // the balloon under the finger
let waiting = 0; // until the keys rest

const side = () => document.getElementById("side-view");
const scale = () => Number(side().dataset.scale);
const station = (balloon) => (balloon.dataset.station === "" ? null : Number(balloon.dataset.station));

async function put(balloon, mm) {
  const { left, right } = side().dataset;
  const at = Math.min(Math.max(mm, Number(left)), Number(right));
  balloon.dataset.station = String(at);
  balloon.dataset.moving = ""; // until it is sent, no older place is put in its stead
  balloon.setAttribute("transform", `translate(${(at - Number(left)) * scale()} 0)`);
  balloon.setAttribute("aria-valuenow", String(at));
  balloon.setAttribute("aria-valuetext", await text("at_station", { at }));
  const field = document.getElementById(`f${balloon.dataset.fitting}-station`);
  if (field && !isDirty(field)) field.placeholder = String(at);
}

function placed(balloon) {
  delete balloon.dataset.moving;
  const { fitting, name } = balloon.dataset;
  const field = document.getElementById(`f${fitting}-station`);
  if (field) field.placeholder = "";
  edit("fitting", { fitting: Number(fitting), name, key: "station_mm", value: station(balloon) }, field ? [field] : []);
}

const inside = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(side().getScreenCTM().inverse()).x;

document.addEventListener("pointerdown", (event) => {
  const balloon = event.target.closest?.(".balloon");
  if (!balloon || event.button) return;
  event.preventDefault();
  balloon.focus();
  held = { balloon, from: inside(event), at: balloon.transform.baseVal.consolidate().matrix.e, moved: false };
  balloon.setPointerCapture(event.pointerId);
});
document.addEventListener("pointermove", (event) => {
  if (!held) return;
  const x = held.at + inside(event) - held.from;
  held.moved ||= Math.abs(x - held.at) > 2;
  if (held.moved) put(held.balloon, Math.round(x / scale() + Number(side().dataset.left)));
});
for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, () => {
  if (held?.moved) placed(held.balloon);
  held = null;
});
document.addEventListener("keydown", (event) => {
  const balloon = event.target.closest?.(".balloon");
  const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (!balloon || !way) return;
  event.preventDefault();
  put(balloon, Math.round((station(balloon) ?? 0) + way * (event.shiftKey ? LONG_STEP_MM : STEP_MM)));
  clearTimeout(waiting);
  waiting = setTimeout(() => placed(balloon), REST_MS);
});

// ---------------------------------------------------------------- the whole sheet
if (many) {
  document.addEventListener("change", (event) => {
    const { target } = event;
    if (target.dataset?.choose !== undefined) choose(target.dataset.choose, target.checked);
    else if (target.id === "choose-all") {
      for (const box of boxes()) chosen[target.checked ? "add" : "delete"](box.dataset.choose);
      told();
    }
  });
  document.addEventListener("refreshed", told);
  many.addEventListener("reset", () => { for (const field of many.elements) rest(field); });
  scene();
}

async function scene() {
  const { kitScene } = await import("./kit_scene.js");
  listeners.add(await kitScene(chosen, choose));
  told();
}
