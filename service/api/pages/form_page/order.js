// The form as an order: the document that the service takes. Nothing is worked out here; what was
// typed goes out as it was typed, and the service reads it.

import { colourOf } from "./colours.js";

export const form = document.getElementById("order");
export const shop = JSON.parse(document.getElementById("desk").dataset.shop);
export const items = new Map();

const USUAL = {
  in: { border: "3", reveal: "1/4", float_margin: "1/2", gap: "1/4", spacer: "1/4" },
  cm: { border: "7.5", reveal: "0.6", float_margin: "1.5", gap: "0.6", spacer: "0.6" },
};
const METHODS = { overlap: "hinged_mounts", float: "float_mounts", full_bleed: "hinged_mounts", floater: "stretched_mounts" };
const FINISH = ["dust_cover", "wire", "bumpers"];

// A length to read: the mark on the shop's ruler where it has that unit, else a decimal near it.
export function lengthIn(length, unit) {
  if (unit === shop.unit) return length.shop;
  const exact = unit === "cm" ? Number(length.mm) / 10 : Number(length.in);
  const near = exact.toFixed(unit === "cm" ? 1 : 2);
  return Math.abs(Number(near) - exact) < 1e-6 ? `${Number(near)}` : `≈${near}`;
}

// What a field sends: what stands there, or the exact length that was shown in the other unit.
export const sent = (name) => form.elements[name].dataset?.exact ?? value(name);
export const value = (name) => form.elements[name].value.trim();

// Fill the choices; what stands there first is what the form begins with.
export function fill({ mouldings, boards, glazing }) {
  for (const item of [...mouldings, ...boards, ...glazing]) items.set(item.code, item);
  const used = (use) => boards.filter((board) => board.uses.includes(use));
  choices("mat", used("mat"), (board) => board.group, "none");
  choices("under", used("mat"), (board) => board.group, "none");
  form.elements.mat.selectedIndex = 1;
  choices("mount", used("mount"), () => "", "no board");
  form.elements.mount.selectedIndex = 1;
  choices("backing", used("backing"), () => "", "nothing");
  form.elements.backing.selectedIndex = 1;
  choices("glazing", glazing, (sheet) => sheet.material, "nothing");
  form.elements.glazing.selectedIndex = 1;
  finishing();
}

// What depends on how the picture sits: which mouldings, which ways of holding it.
export function refill() {
  nameMouldings();
  const way = value("presentation");
  const held = value("method");
  const first = shop.mounting.filter((method) => method.driver === METHODS[way]);
  const rest = shop.mounting.filter((method) => method.driver !== METHODS[way]);
  const select = form.elements.method;
  select.replaceChildren(...[...first, ...rest].map((m) => option(m.code, m.description)));
  if (first.some((method) => method.code === held)) select.value = held;
}

// The mouldings of the way it sits, their widths in the unit that is typed in.
export function nameMouldings() {
  const way = value("presentation");
  const wanted = (item) => item.kind === "moulding" && item.floater === (way === "floater");
  const chosen = value("moulding");
  choices("moulding", [...items.values()].filter(wanted), (item) => item.material || item.group);
  if (items.get(chosen) && wanted(items.get(chosen))) form.elements.moulding.value = chosen;
}

function choices(name, found, group, none) {
  const groups = new Map();
  for (const item of found) {
    const key = group(item);
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(option(item.code, called(item)));
  }
  const parts = none === undefined ? [] : [option("", none)];
  for (const [key, options] of groups) {
    if (!key) { parts.push(...options); continue; }
    const made = document.createElement("optgroup");
    made.label = key.replaceAll("-", " ").replaceAll("_", " ");
    made.append(...options);
    parts.push(made);
  }
  form.elements[name].replaceChildren(...parts);
}

function called(item) {
  const colour = item.colour && !item.description.includes(item.colour) ? `, ${item.colour}` : "";
  const unit = value("units");
  const wide = item.face_width ? `, ${lengthIn(item.face_width, unit)} ${unit} wide` : "";
  return `${item.description}${colour}${wide}`;
}

function option(code, text) {
  const made = document.createElement("option");
  made.value = code;
  made.textContent = text;
  return made;
}

function finishing() {
  const box = document.getElementById("finishing");
  for (const method of shop.finishing) {
    const label = document.createElement("label");
    const tick = document.createElement("input");
    Object.assign(tick, { type: "checkbox", name: "finishing", value: method.code });
    tick.checked = FINISH.includes(method.code);
    label.append(tick, ` ${method.description}`);
    box.append(label);
  }
  const note = document.createElement("p");
  Object.assign(note, { className: "note", id: "finishing-note" });
  note.dataset.note = "finishing";
  box.append(note);
}

// A bare number that was typed keeps the unit that it was typed in.
export function changeUnits(was, now) {
  for (const field of form.querySelectorAll("input[size]:not([name=quantity])")) {
    const text = field.value.trim();
    if (!text) continue;
    if (text === USUAL[was][field.name]) field.value = USUAL[now][field.name];
    else if (/^[\d\s./,⁄¼½¾⅛⅜⅝⅞]+$/u.test(text)) field.value = `${text} ${was}`;
  }
}

export function usual(units) {
  for (const name of ["border", "reveal", "float_margin", "gap"]) {
    form.elements[name].value = USUAL[units][name];
  }
}

// Show what belongs to the way the picture sits, and to what is chosen.
export function arrange() {
  const way = value("presentation");
  for (const part of form.querySelectorAll("[data-for], [data-with]")) {
    const fits = !part.dataset.for || part.dataset.for.split(" ").includes(way);
    part.hidden = !fits || Boolean(part.dataset.with && !value(part.dataset.with));
  }
  for (const chip of form.querySelectorAll("[data-chip]")) {
    const item = items.get(value(chip.dataset.chip));
    chip.hidden = !item;
    if (item) chip.style.backgroundColor = colourOf(item);
  }
}

// The document, as text; null as long as the picture has no size.
export function document_(withCustomer, size = { width: value("width"), height: value("height") }) {
  if (!size.width || !size.height) return null;
  const order = { units: value("units"), jobs: [job(size)] };
  if (withCustomer) {
    const customer = some({ name: value("name"), email: value("email"), telephone: value("telephone") });
    if (Object.keys(customer).length) order.customer = customer;
  }
  return JSON.stringify(order);
}

function job(size) {
  const way = value("presentation");
  const canvas = way === "floater";
  const mats = way === "overlap" || way === "float" ? matsOf() : [];
  const glazing = canvas || !value("glazing") ? null
    : some({ sheet: value("glazing"), spacer: way === "overlap" ? "" : value("spacer") });
  const mounting = some({ method: value("method"), board: canvas ? "" : value("mount") });
  const made = {
    artwork: { ...size, kind: value("kind") },
    presentation: way,
    quantity: count(value("quantity")),
    ...some({
      label: value("label"),
      float_margin: way === "float" ? value("float_margin") : "",
      gap: canvas ? value("gap") : "",
    }),
    frames: [{ moulding: value("moulding") }],
    finishing: [...form.querySelectorAll("[name=finishing]:checked")].map((tick) => tick.value),
  };
  if (mats.length) made.mats = mats;
  if (glazing) made.glazing = glazing;
  if (Object.keys(mounting).length) made.mounting = mounting;
  if (!canvas && value("backing")) made.backing = { board: value("backing") };
  return made;
}

function matsOf() {
  if (!value("mat")) return [];
  const [all, foot] = [value("border"), value("foot")];
  const border = foot ? { top: all, right: all, bottom: foot, left: all } : all;
  const mats = [{ board: value("mat"), border }];
  if (value("under")) mats.push({ board: value("under"), reveal: value("reveal") });
  return mats;
}

const some = (parts) => Object.fromEntries(Object.entries(parts).filter(([, text]) => text));
const count = (text) => (/^\d{1,6}$/.test(text) ? Number(text) : text || 1);
