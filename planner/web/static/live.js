// Putting the parts of a sheet that may have changed in place: only what differs is touched.
import morphdom from "./morphdom/morphdom-esm.js";
import { isDirty, isField } from "./fields.js";

let edits = 0; // answers to edits so far: what was fetched before one of them is out of date
let busy = () => false;
export const answered = () => { edits += 1; };
export const watchQueue = (asked) => { busy = asked; };

const keep = {
  onBeforeElUpdated(now, next) {
    if (now.isEqualNode(next) && !isField(now)) return false;
    if (now.dataset.own !== undefined || now.dataset.moving !== undefined) return false; // filled, or moved, by a script
    if (now.localName === "details") next.open = now.open;
    if (isField(now) && isDirty(now)) return false; // what is being written, and what was refused, stays
    return true;
  },
  onBeforeNodeDiscarded(node) {
    return !(node.classList?.contains("wrong") && isDirty(fieldOf(node)));
  },
  onElUpdated(now) {
    if (isField(now) && now.type !== "checkbox" && now.localName !== "select" && now.value !== now.defaultValue)
      now.value = now.defaultValue;
  },
};

const fieldOf = (told) => document.getElementById(told.id.replace(/-wrong$/, "")) ?? told;

// Nothing moves under a finger: what is pressed and let go on different places is no press.
const LONGEST_PRESS_MS = 5000; // a release that nobody was told of, as outside of the window
let pressed = Promise.resolve(); // when what was pressed last is let go
let letGo = () => {};
addEventListener("pointerdown", () => {
  pressed = new Promise((resolve) => { letGo = resolve; });
  setTimeout(letGo, LONGEST_PRESS_MS);
}, true);
const release = () => { setTimeout(letGo); }; // after the click that it makes
for (const kind of ["pointerup", "pointercancel"]) addEventListener(kind, release, true);
addEventListener("blur", (event) => { if (event.target === window) release(); });

async function released() {
  let last;
  do await (last = pressed); while (last !== pressed);
}

let running = null;
let again = false;

export function refresh() {
  if (running) again = true;
  else running = run().finally(() => { running = null; });
  return running;
}

async function run() {
  do {
    again = false;
    const before = edits;
    const answer = await fetch(location.pathname + location.search).catch(() => null);
    if (!answer?.ok) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    await released();
    if (before !== edits || busy()) again = !busy(); // the queue asks again when it is empty
    else put(fresh);
  } while (again);
}

function put(fresh) {
  const focused = document.activeElement;
  const spot = focusSpot(focused);
  for (const live of document.querySelectorAll("[data-live]")) {
    const next = fresh.getElementById(live.id);
    if (next && !(live.dataset.of && live.dataset.of === next.dataset.of)) morphdom(live, next, keep);
  }
  for (const list of document.querySelectorAll("select")) { // where no choice is marked none would be shown
    if (list.selectedIndex < 0) list.selectedIndex = 0;
  }
  for (const name of ["revision", "plan", "reckoned"]) {
    if (fresh.body.dataset[name] !== undefined) document.body.dataset[name] = fresh.body.dataset[name];
  }
  document.title = fresh.title;
  const main = ["make-plan", "find-changes", "go-on"].map((id) => document.getElementById(id)).find(Boolean);
  const off = main && fresh.getElementById(main.id);
  if (off) {
    main.dataset.off = off.dataset.off;
    main.textContent = off.textContent;
  }
  if (spot && document.activeElement === document.body) refocus(spot);
  document.dispatchEvent(new CustomEvent("refreshed"));
}

// Where the focus was, should its place go: the next row of the same kind, or the head of the list.
function focusSpot(focused) {
  const list = focused?.closest("[data-rows]");
  if (!list) return null;
  const alike = focused.dataset.remove ? "[data-remove]" : "[data-do^=remove_]";
  return { list, alike, at: [...list.querySelectorAll(alike)].indexOf(focused) };
}

function refocus({ list, alike, at }) {
  const left = [...list.querySelectorAll(alike)];
  const next = left[Math.min(Math.max(at, 0), left.length - 1)] ?? document.getElementById(list.dataset.rows);
  next?.focus({ preventScroll: true });
}
