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
const BARE = /^[\d\s./,⁄¼½¾⅛⅜⅝⅞]+$/u;
const ON_ITS_OWN = ["canvas", "panel"]; // nothing has to hold it flat: it is stretched, or stiff
export const PRESET = ["presentation", "mat", "under", "moulding", "glazing", "method", "mount", "backing"];
export const touched = new Set(); // what the customer chose, and no preset changes
const begins = { presentation: "overlap", finishing: ["dust_cover", "wire", "bumpers"] };

// A length to read: the mark on the shop's ruler where it has that unit, else a decimal near it.
export function lengthIn(length, unit) {
  if (unit === shop.unit) return length.shop;
  const exact = unit === "cm" ? Number(length.mm) / 10 : Number(length.in);
  const near = exact.toFixed(unit === "cm" ? 1 : 2);
  return Math.abs(Number(near) - exact) < 1e-6 ? `${Number(near)}` : `≈${near}`;
}

// What a field sends: what stands there, or the exact length that was shown in the other unit.
export const sent = (name) => form.elements[name].dataset.exact ?? value(name).replace(/^≈\s*/u, "");
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
  for (const name of ["mat", "under", "mount", "backing", "glazing"]) begins[name] = value(name);
}

// What the form begins with for the kind of art: the shop's own where it says so. What the customer
// chose stays.
export function preset() {
  const given = { ...begins, ...shop.presets.find((each) => each.art === value("kind")) };
  const open = PRESET.filter((name) => name in given && !touched.has(name));
  if (open.includes("presentation")) form.elements.presentation.value = given.presentation;
  refill();
  for (const name of open) if (name !== "presentation") pick(name, given[name]);
  if (touched.has("finishing")) return;
  for (const tick of form.querySelectorAll("[name=finishing]")) tick.checked = given.finishing.includes(tick.value);
}

// Choose what is on offer; anything else is passed over.
export function pick(name, code) {
  const select = form.elements[name];
  if ([...select.options].some((each) => each.value === code)) select.value = code;
}

// What depends on how the picture sits: which mouldings, which ways of holding it.
export function refill() {
  nameMouldings();
  const way = value("presentation");
  const held = value("method");
  const first = shop.mounting.filter((method) => method.driver === METHODS[way]);
  const rest = shop.mounting.filter((method) => method.driver !== METHODS[way]);
  const alone = ON_ITS_OWN.includes(value("kind"));
  const none = alone ? [option("", "as it comes: on its bars, or stiff of itself")] : [];
  form.elements.method.replaceChildren(...none, ...[...first, ...rest].map((m) => option(m.code, m.description)));
  if (touched.has("method") || (!alone && first.some((method) => method.code === held))) pick("method", held);
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
  box.replaceChildren();
  for (const method of shop.finishing) {
    const label = document.createElement("label");
    const tick = document.createElement("input");
    Object.assign(tick, { type: "checkbox", name: "finishing", value: method.code });
    tick.checked = begins.finishing.includes(method.code);
    label.append(tick, ` ${method.description}`);
    box.append(label);
  }
  const note = document.createElement("p");
  Object.assign(note, { className: "note", id: "finishing-note" });
  note.dataset.note = "finishing";
  box.append(note);
}

// Show every length in the other unit. The job stays as it was: what is sent is what was typed, with
// its unit, until somebody types in that field again.
export function changeUnits(was, now) {
  for (const field of form.querySelectorAll("input[size]:not([name=quantity])")) {
    const kept = field.dataset.exact ?? (BARE.test(field.value.trim()) ? `${field.value.trim()} ${was}` : "");
    if (!kept) continue;
    const cut = kept.lastIndexOf(" ");
    const [text, unit] = [kept.slice(0, cut), kept.slice(cut + 1)];
    field.value = unit === now ? text : converted(text, now) ?? kept;
    if (unit === now) delete field.dataset.exact;
    else field.dataset.exact = kept;
  }
}

// A length in the other unit, one inch being 2.54 cm: exact where it ends in four decimals, else ≈.
function converted(text, now) {
  const plain = text.replace(/[¼½¾⅛⅜⅝⅞]/gu, (mark) => ` ${mark.normalize("NFKC")}`).replace("⁄", "/").trim();
  const found = /^(?:(\d+)(?:\.(\d+))?)?(?:(?:\s+|^)(\d+)\/(\d+))?$/u.exec(plain);
  if (!found || Number(found[4]) === 0) return null;
  const [, whole = "0", part = "", over = "0", below = "1"] = found;
  const tens = 10n ** BigInt(part.length);
  const [number, divisor] = [BigInt(whole + part) * BigInt(below) + BigInt(over) * tens, tens * BigInt(below)];
  const [top, bottom] = now === "cm" ? [number * 127n, divisor * 50n] : [number * 50n, divisor * 127n];
  if ((top * 10_000n) % bottom === 0n) return decimal((top * 10_000n) / bottom, 4);
  const places = now === "cm" ? 2 : 3;
  return `≈${decimal((top * 10n ** BigInt(places) * 2n + bottom) / (bottom * 2n), places)}`;
}

function decimal(scaled, places) {
  const digits = String(scaled).padStart(places + 1, "0");
  return `${digits.slice(0, -places)}.${digits.slice(-places)}`.replace(/\.?0+$/u, "");
}

// A length as it is sent, to read.
export function withUnit(name) {
  const text = sent(name);
  return /[a-z"′″”]/iu.test(text) ? text : `${text} ${value("units")}`;
}

export function usual(units) {
  for (const name of ["border", "reveal", "float_margin", "gap"]) {
    form.elements[name].value = USUAL[units][name];
    delete form.elements[name].dataset.exact;
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
export function document_(withCustomer, size = { width: sent("width"), height: sent("height") }) {
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
    : some({ sheet: value("glazing"), spacer: way === "overlap" ? "" : sent("spacer") });
  const mounting = some({ method: value("method"), board: canvas ? "" : value("mount") });
  const made = {
    artwork: { ...size, kind: value("kind") },
    presentation: way,
    quantity: count(value("quantity")),
    ...some({
      label: value("label"),
      float_margin: way === "float" ? sent("float_margin") : "",
      gap: canvas ? sent("gap") : "",
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
  const [all, foot] = [sent("border"), sent("foot")];
  const border = foot ? { top: all, right: all, bottom: foot, left: all } : all;
  const mats = [{ board: value("mat"), border }];
  if (value("under")) mats.push({ board: value("under"), reveal: sent("reveal") });
  return mats;
}

const some = (parts) => Object.fromEntries(Object.entries(parts).filter(([, text]) => text));
const count = (text) => (/^\d{1,6}$/.test(text) ? Number(text) : text || 1);
