// Facts wait in the browser until the page has them. Each has an id made here, under which telling it again is harmless.
import { announce, ask, Ended, Lost, text, wait } from "./talk.js";

const KEY = "planner-facts";
const AGAIN_MS = 2000;
const PATIENCE_MS = 15000;
let memory = []; // where the browser keeps nothing
export let lasting = true; // whether a reload keeps them

export function kept() {
  if (!lasting) return memory;
  try {
    const found = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(found) ? found : [];
  } catch {
    return memory;
  }
}

function keep(list) {
  memory = list;
  try {
    localStorage.setItem(KEY, JSON.stringify(list));
    lasting = true;
  } catch {
    lasting = false;
  }
  document.dispatchEvent(new CustomEvent("facts"));
}

// Not crypto.randomUUID: over the network of a phone the page is no secure context, and there it is missing.
const id = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

export function tell(airframe, given, label, key = "") {
  keep([...kept(), { id: id(), airframe, given, label, key, tapped: Date.now(), state: "waiting" }]);
  return flush();
}

export function drop(id) {
  keep(kept().filter((one) => one.id !== id));
}

export function again(id) {
  change(id, { state: "waiting", why: "" });
  return flush();
}

const change = (id, values) => keep(kept().map((one) => (one.id === id ? { ...one, ...values } : one)));

let working = null;
let woken = () => null;
export let unreachable = ""; // why nothing is sent now

export function flush() {
  woken();
  working ??= work().finally(() => { working = null; });
  return working;
}

async function work() {
  let sent = 0;
  for (;;) {
    const one = kept().find((fact) => fact.state === "waiting");
    if (!one) break;
    try {
      await send(one);
      sent += 1;
      unreachable = "";
      drop(one.id);
      announce(await text("fact_told", { what: one.label }));
    } catch (error) {
      if (error instanceof Lost || error.name === "TimeoutError") {
        unreachable = error instanceof Lost ? error.message : await text("lost");
        document.dispatchEvent(new CustomEvent("facts"));
        await Promise.race([wait(AGAIN_MS), new Promise((done) => { woken = done; })]);
      } else if (error instanceof Ended) { // another start answers here: what waits is sent when it is opened
        unreachable = error.message;
        document.dispatchEvent(new CustomEvent("facts"));
        return;
      } else {
        change(one.id, { state: "refused", why: error.message });
        announce(await text("fact_refused", { why: error.message }));
      }
    }
  }
  if (sent) document.dispatchEvent(new CustomEvent("sent"));
}

const send = (one) =>
  ask(
    "POST",
    `/a/${encodeURIComponent(one.airframe)}/fact`,
    { ...one.given, uid: one.id, age_s: Math.max(0, (Date.now() - one.tapped) / 1000) },
    { signal: AbortSignal.timeout(PATIENCE_MS) },
  );

addEventListener("online", flush);
addEventListener("storage", (event) => {
  if (event.key !== KEY) return; // another tab told or sent something
  document.dispatchEvent(new CustomEvent("facts"));
  flush();
});
if (kept().length) flush();
