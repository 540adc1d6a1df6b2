// The choices stay in this browser until somebody begins anew; who the customer is does not.

import { form, pick, refill, shop, touched } from "./order.js";

const KEY = `framing choices: ${shop.name}`;
const PRIVATE = new Set(["name", "email", "telephone"]);
const fields = () => [...form.elements].filter((field) => field.name && !PRIVATE.has(field.name) && !field.closest(".apart"));

export function keep() {
  const values = {};
  const exact = {};
  for (const field of fields()) {
    if (field.type === "checkbox") continue;
    if (field.type !== "radio" || field.checked) values[field.name] = field.value;
    if (field.dataset.exact) exact[field.name] = field.dataset.exact;
  }
  const finishing = [...form.querySelectorAll("[name=finishing]:checked")].map((tick) => tick.value);
  try {
    localStorage.setItem(KEY, JSON.stringify({ values, exact, finishing, touched: [...touched] }));
  } catch { /* a browser that keeps nothing: the form works without it */ }
}

export function forget() {
  try { localStorage.removeItem(KEY); } catch { /* nothing is kept */ }
}

// What was kept, or null.
function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEY));
    return found && found.values && Array.isArray(found.touched) && Array.isArray(found.finishing) ? found : null;
  } catch { return null; }
}

// Put back what was kept; what is no longer on offer stays as the form has it. True if there was any.
export function restore() {
  const found = kept();
  if (!found) return false;
  touched.clear();
  for (const name of found.touched) touched.add(name);
  const { values, exact = {} } = found;
  for (const name of ["units", "presentation"]) if (values[name]) form.elements[name].value = values[name];
  if (values.kind) pick("kind", values.kind);
  refill();
  for (const field of fields()) {
    const text = values[field.name];
    if (typeof text !== "string" || field.type === "radio" || field.type === "checkbox") continue;
    if (field.matches("select")) pick(field.name, text);
    else field.value = text;
    if (exact[field.name]) field.dataset.exact = exact[field.name];
  }
  for (const tick of form.querySelectorAll("[name=finishing]")) tick.checked = found.finishing.includes(tick.value);
  return true;
}
