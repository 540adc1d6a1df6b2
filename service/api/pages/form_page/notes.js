// What the service says about a field stands under that field, in the service's words.

import { form } from "./order.js";

const loose = document.getElementById("loose");
const RANK = { fault: 3, stop: 2, warning: 1, info: 0 };
const LEFT_TO_THE_SHOP = new Set(["beyond_bench_reach", "little_room_behind", "check_building_code"]);

// Remarks: [{at, text, kind}]. `typing` is a field whose faults wait until the hand leaves it.
export function show(remarks, typing) {
  const byField = new Map();
  const homeless = [];
  for (const remark of remarks) {
    const field = homeOf(remark.at);
    if (!field) homeless.push(remark);
    else if (!(field === typing && remark.kind === "fault")) {
      byField.set(field, [...(byField.get(field) || []), remark]);
    }
  }
  for (const field of form.querySelectorAll("[data-at]")) write(field, byField.get(field) || []);
  loose.hidden = !homeless.length;
  loose.replaceChildren(...lines(homeless, "li"));
}

export const faultsOf = (problem) =>
  (problem.errors || []).map((fault) => ({ at: fault.pointer || "", text: fault.detail, kind: "fault" }));

export const stopsOf = (job) => job.advisories.filter((advisory) => advisory.severity === "stop");

export const advisoriesOf = (job) =>
  job.advisories
    .filter((advisory) => !LEFT_TO_THE_SHOP.has(advisory.code))
    .map((advisory) => ({ at: advisory.path, text: advisory.message, kind: advisory.severity }));

// The field that a pointer (RFC 6901) means: the closest one at or above it, or else below it.
function homeOf(pointer) {
  const shown = [...form.querySelectorAll("[data-at]")].filter((each) => !each.closest("[hidden]"));
  const within = (inner, outer) => inner === outer || inner.startsWith(`${outer}/`);
  const noted = shown.filter(noteOf);
  const above = noted.filter((each) => within(pointer, each.dataset.at));
  if (above.length) return longest(above);
  return pointer ? noted.find((each) => within(each.dataset.at, pointer)) : undefined;
}

const longest = (fields) =>
  fields.reduce((best, each) => (each.dataset.at.length > best.dataset.at.length ? each : best));

function noteOf(field) {
  const name = field.name || field.id;
  return name ? form.querySelector(`[data-note="${name}"]`) : null;
}

function write(field, remarks) {
  const note = noteOf(field);
  if (!note) return;
  const faulty = remarks.some((remark) => remark.kind === "fault");
  if (field.matches("input, select")) {
    if (faulty) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
  }
  if (faulty || remarks.some((remark) => remark.kind === "stop")) note.closest("details")?.setAttribute("open", "");
  note.replaceChildren(...lines(remarks, "span"));
}

function lines(remarks, tag) {
  const sorted = [...remarks].sort((a, b) => RANK[b.kind] - RANK[a.kind]);
  const seen = new Set();
  return sorted.filter(({ text }) => !seen.has(text) && seen.add(text)).map(({ text, kind }) => {
    const line = document.createElement(tag);
    line.className = kind;
    line.textContent = text.charAt(0).toUpperCase() + text.slice(1);
    return line;
  });
}
