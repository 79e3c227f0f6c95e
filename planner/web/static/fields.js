// What a field holds, whether that was sent, and what was said against it.
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;
const number = (word) => (NUMBER.test(word.trim()) ? Number(word.trim().replace(",", ".")) : word);

export function valueOf(field) {
  if (field.type === "checkbox") return field.checked;
  const word = field.value.trim();
  if (word === "") return null;
  if (field.dataset.kind === "number" || field.dataset.kind === "whole") return number(word);
  if (field.dataset.kind === "list") return word.split(/[,;]/).map((one) => one.trim()).filter(Boolean);
  if (field.dataset.kind === "pair") return (word.match(/-?\d+(?:\.\d+)?/g) ?? []).map(Number);
  return word;
}

export const held = (field) => (field.type === "checkbox" ? field.checked : field.value);

// What the field held when the sheet was made, or after its last edit was saved.
function written(field) {
  if (field.type === "checkbox") return field.defaultChecked;
  if (field.localName !== "select") return field.defaultValue;
  return ([...field.options].find((one) => one.defaultSelected) ?? field.options[0])?.value ?? "";
}

export const isField = (node) => ["input", "select", "textarea"].includes(node.localName) && node.type !== "file";
export const isDirty = (field) => isField(field) && field.type !== "search" && held(field) !== written(field);

// The value was saved: from now on the sheet may put its own in place, unless something else was typed since.
export function settle(field, value) {
  if (field.type === "checkbox") field.defaultChecked = value;
  else if (field.localName === "select") for (const one of field.options) one.defaultSelected = one.value === value;
  else {
    const typed = field.value;
    field.defaultValue = value;
    field.value = typed;
  }
}

// Put a field at rest: what was typed goes, what is written comes back.
export function rest(field) {
  if (field.type === "checkbox") field.checked = field.defaultChecked;
  else field.value = written(field);
}

const place = (field) => field.closest(".f, .tick") ?? field;

// Say beside a field what is wrong with it, also to those who cannot see it.
export function complain(given, message) {
  const field = given.isConnected ? given : (document.getElementById(given.id) ?? given);
  clear(field);
  field.setAttribute("aria-invalid", "true");
  const told = document.createElement("p");
  told.className = "wrong";
  told.setAttribute("role", "alert");
  told.id = `${field.id || "field"}-wrong`;
  told.textContent = message;
  field.setAttribute("aria-describedby", told.id);
  place(field).after(told);
}

export function clear(field) {
  field.removeAttribute("aria-invalid");
  field.removeAttribute("aria-describedby");
  document.getElementById(`${field.id || "field"}-wrong`)?.remove();
}
