// Talking to the page's own process: JSON there and back, errors in its words.
export class Refused extends Error {}

const known = fetch("/texts.json").then((answer) => answer.json());

export async function text(key, values = {}) {
  let found = (await known)[`js_${key}`] ?? key;
  for (const [name, value] of Object.entries(values)) found = found.replace(`{${name}}`, value);
  return found;
}

export async function ask(method, path, body) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: { "content-type": "application/json" },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new Refused(await text("lost"));
  }
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(told.message ?? (await text("lost")));
  return told;
}

export const airframe = document.body.dataset.airframe;
export const base = `/a/${encodeURIComponent(airframe)}`;

// Say beside a field what is wrong with it, also to those who cannot see it.
export function complain(given, message) {
  // The sheet may have been put in place anew since: the field of that name now holds what was refused.
  const field = given.isConnected ? given : (document.getElementById(given.id) ?? given);
  if (field !== given && field.type !== "checkbox") field.value = given.value;
  clear(field);
  field.setAttribute("aria-invalid", "true");
  const told = document.createElement("p");
  told.className = "wrong";
  told.setAttribute("role", "alert");
  told.id = `${field.id || "field"}-wrong`;
  told.textContent = message;
  field.setAttribute("aria-describedby", told.id);
  (field.closest(".f, form, fieldset") ?? field).after(told);
}

export function clear(field) {
  field.removeAttribute("aria-invalid");
  document.getElementById(`${field.id || "field"}-wrong`)?.remove();
}

// A value that a script put back is no change to the browser: it is told when the field is left.
function sendOnLeaving(field) {
  let sent = false;
  field.addEventListener("change", () => { sent = true; });
  field.addEventListener("blur", () => {
    if (!sent && field.isConnected && field.value !== field.defaultValue)
      field.dispatchEvent(new Event("change", { bubbles: true }));
  }, { once: true });
}

// Put the parts of the sheet that may have changed in place; focus stays where it was.
export async function refresh() {
  const answer = await fetch(location.pathname + location.search);
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const focused = document.activeElement?.id;
  const unsaved = [...document.querySelectorAll("[data-live] :is([aria-invalid], input[type=text]:focus)")]
    .filter((field) => field.id && field.type !== "checkbox")
    .map((field) => [field.id, field.value, document.getElementById(`${field.id}-wrong`)?.textContent, field.defaultValue]);
  const open = [...document.querySelectorAll("details[open]")].map((d) => d.querySelector("summary").textContent);
  for (const live of document.querySelectorAll("[data-live]")) {
    const next = fresh.getElementById(live.id);
    if (next) live.replaceChildren(...next.childNodes);
  }
  if (fresh.body.dataset.revision) document.body.dataset.revision = fresh.body.dataset.revision;
  for (const details of document.querySelectorAll("details"))
    if (open.includes(details.querySelector("summary").textContent)) details.open = true;
  for (const [id, value, wrong, was] of unsaved) { // what is being written, and what was refused, stays
    const field = document.getElementById(id);
    if (!field || (value === was && !wrong)) continue;
    field.value = value;
    if (wrong) complain(field, wrong);
    else sendOnLeaving(field);
  }
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  document.dispatchEvent(new CustomEvent("refreshed"));
}

export const wait = (ms) => new Promise((done) => setTimeout(done, ms));
