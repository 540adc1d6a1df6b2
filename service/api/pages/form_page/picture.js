// The framed picture to scale, over a tape measure, drawn from the sizes that the service answered.
// Numbers become floats here and only here: for drawing, never for a price or a cut.

import { colourOf, shade } from "./colours.js";
import { lengthIn } from "./order.js";

const NS = "http://www.w3.org/2000/svg";
const PER = { in: 1, cm: 2.54 };
const STEPS = [1, 2, 5, 10, 20, 50];

// About how many inches a text means, for the drawing alone; the service reads it exactly.
export function roughly(text, unit) {
  const found = /^(\d*\.?\d+)?(?:(?:\s+|^)(\d+)\/(\d+))?\s*(in|"|mm|cm)?$/.exec(text);
  if (!found || (!found[1] && !found[2])) return null;
  const number = Number(found[1] || 0) + (found[2] ? Number(found[2]) / Number(found[3]) : 0);
  return number / { in: 1, '"': 1, mm: 25.4, cm: 2.54 }[found[4] || unit];
}

// A size to read: the marks of the shop's ruler where it has that unit, else centimetres or inches.
export const inWords = (size, unit, between = " × ") =>
  `${lengthIn(size.width, unit)}${between}${lengthIn(size.height, unit)} ${unit}`;

const wide = (size) => [Number(size.width.in), Number(size.height.in)];

function part(name, attributes, ...inside) {
  const made = document.createElementNS(NS, name);
  for (const [key, text] of Object.entries(attributes)) made.setAttribute(key, text);
  made.append(...inside);
  return made;
}

const box = (x, y, w, h, fill, more = {}) => part("rect", { x, y, width: w, height: h, fill, ...more });

// view: {sizes, cut_list} of the answer, the chosen items, the way it sits, the unit, the margin.
export function draw(svg, view) {
  const [w, h] = wide(view.sizes.outside);
  const long = Math.max(w, h);
  const tape = long * 0.075;
  const air = long * 0.05;
  svg.setAttribute("viewBox", `${-tape - air} ${-air} ${w + tape + 2 * air} ${h + tape + 2 * air}`);
  svg.setAttribute("aria-label", told(view));
  const shadow = box(long * 0.012, long * 0.02, w, h, "#0b1f1a", { opacity: 0.22, rx: long * 0.006 });
  svg.replaceChildren(shadow, ...framed(view, w, h), ...tapes(w, h, tape, air * 0.6, view.unit));
}

function told(view) {
  const said = (size) => inWords(size, view.unit, " by ");
  const opening = view.sizes.opening ? `, opening ${said(view.sizes.opening)}` : "";
  return `The framed picture to scale: ${said(view.sizes.outside)} outside${opening}`;
}

function framed(view, w, h) {
  const colour = colourOf(view.items.moulding);
  const [sw, sh] = view.sizes.frame_sight ? wide(view.sizes.frame_sight) : [w, h];
  const [x, y] = [(w - sw) / 2, (h - sh) / 2];
  const clip = part("clipPath", { id: "sight" }, box(x, y, sw, sh, "none"));
  const inside = part("g", { "clip-path": "url(#sight)" }, ...contents(view, w, h));
  const shine = view.way !== "floater" && view.items.glazing && !/etched|low glare|anti/.test(view.items.glazing.finish || "");
  const glass = part("path", {
    d: `M${x + sw * 0.62} ${y}h${sw * 0.16}L${x + sw * 0.38} ${y + sh}h${-sw * 0.16}Z`,
    fill: "#fff", opacity: shine ? 0.13 : 0, "clip-path": "url(#sight)",
  });
  return [clip, ...rails(w, h, x, y, colour), inside, glass,
    box(x, y, sw, sh, "none", { stroke: shade(colour, 0.55), "stroke-width": Math.max(w, h) * 0.003 })];
}

// Four rails with their mitres, each in its own light.
function rails(w, h, x, y, colour) {
  const rail = (points, light) => part("polygon", {
    points, fill: shade(colour, light), stroke: shade(colour, 0.7), "stroke-width": Math.max(w, h) * 0.0015,
  });
  return [
    rail(`0,0 ${w},0 ${w - x},${y} ${x},${y}`, 1.12),
    rail(`${w},0 ${w},${h} ${w - x},${h - y} ${w - x},${y}`, 0.9),
    rail(`${w},${h} 0,${h} ${x},${h - y} ${w - x},${h - y}`, 0.82),
    rail(`0,${h} 0,0 ${x},${y} ${x},${h - y}`, 1.03),
  ];
}

function contents(view, w, h) {
  if (view.way === "floater") {
    const [aw, ah] = wide(view.sizes.shows);
    return [box(0, 0, w, h, "#2b2a28"), scene((w - aw) / 2, (h - ah) / 2, aw, ah)];
  }
  const mats = view.cutList.filter((piece) => piece.part === "mat");
  const [pw, ph] = wide(view.sizes.package);
  const [px, py] = [(w - pw) / 2, (h - ph) / 2];
  const behind = view.way === "float" ? floated(view, px, py, pw, ph, mats) : [scene(px, py, pw, ph)];
  return [...behind, ...mats.flatMap((mat, at) => layer(view, mats, at, px, py, pw, ph)).reverse()];
}

// A mat as a sheet with its window cut out, and the bevel's white core round it.
function layer(view, mats, at, px, py, pw, ph) {
  const mat = mats[at];
  const trim = Number(mat.trim.in);
  const colour = colourOf(at ? view.items.under : view.items.mat);
  const holes = mat.openings.map((hole) => {
    const [hw, hh] = wide(hole);
    return [px + trim + Number(hole.x.in), py + trim + Number(hole.y.in), hw, hh];
  });
  const cut = holes.map(([x, y, hw, hh]) => `M${x} ${y}v${hh}h${hw}v${-hh}Z`).join("");
  const sheet = part("path", { d: `M${px} ${py}h${pw}v${ph}h${-pw}Z${cut}`, fill: colour, "fill-rule": "evenodd" });
  const line = Math.max(0.06, Math.max(pw, ph) * 0.004);
  const bevels = holes.map(([x, y, hw, hh]) =>
    box(x - line / 2, y - line / 2, hw + line, hh + line, "none", { stroke: "#fffdf6", "stroke-width": line }));
  const edges = holes.map(([x, y, hw, hh]) =>
    box(x - line, y - line, hw + 2 * line, hh + 2 * line, "none", { stroke: "#000", "stroke-opacity": 0.18, "stroke-width": line * 0.4 }));
  return [...edges, ...bevels, sheet];
}

function floated(view, px, py, pw, ph, mats) {
  const hole = mats.length ? mats[mats.length - 1].openings[0] : null;
  const [sw, sh] = hole ? wide(view.sizes.shows) : [pw, ph];
  const trim = mats.length ? Number(mats[mats.length - 1].trim.in) : 0;
  const x = hole ? px + trim + Number(hole.x.in) : (2 * px + pw - sw) / 2;
  const y = hole ? py + trim + Number(hole.y.in) : (2 * py + ph - sh) / 2;
  const m = Math.min(view.margin, sw / 2.5, sh / 2.5);
  const [aw, ah] = [sw - 2 * m, sh - 2 * m];
  const lift = Math.max(sw, sh) * 0.008;
  return [box(px, py, pw, ph, colourOf(view.items.mount)),
    box(x + m + lift, y + m + lift, aw, ah, "#000", { opacity: 0.2 }), scene(x + m, y + m, aw, ah)];
}

// A stand-in for the picture: water, a far shore, a low sun.
function scene(x, y, w, h) {
  return part("svg", { x, y, width: w, height: h, viewBox: "0 0 100 100", preserveAspectRatio: "xMidYMid slice" },
    box(0, 0, 100, 100, "#c7d6d5"), box(0, 0, 100, 34, "#d9e2dc"),
    part("circle", { cx: 68, cy: 38, r: 9, fill: "#eeb36b" }),
    part("path", { d: "M0 52L16 44L30 49L46 40L62 50L80 46L100 53V60H0Z", fill: "#6f8b8a" }),
    box(0, 58, 100, 42, "#4f7a82"), part("path", { d: "M0 78Q25 74 50 79T100 77V100H0Z", fill: "#3c626c" }),
    part("path", { d: "M60 62h16M56 67h24M62 72h12", stroke: "#eeb36b", "stroke-width": 1.6, opacity: 0.8 }));
}

// A tape below and one at the left, in the unit that is typed in; their noughts are the frame's edge.
function tapes(w, h, thick, off, unit) {
  const per = PER[unit];
  const step = STEPS.find((each) => (Math.max(w, h) * per) / each <= 14) || 100;
  return [tape(w, w, h, thick, per, step, false, off), tape(h, w, h, thick, per, step, true, off)];
}

function tape(long, w, h, thick, per, step, upright, off) {
  const group = part("g", { class: "tape", "aria-hidden": "true",
    transform: upright ? `translate(${-off} ${h}) rotate(-90) scale(1 -1)` : `translate(0 ${h + off})` });
  group.append(box(0, 0, long, thick, "#f6c945"), box(0, thick * 0.92, long, thick * 0.08, "#d9a91c"));
  const small = step > 1 ? step / 5 : 0.25;
  for (let at = 0, n = 0; at <= long * per + 1e-9; n += 1, at = n * small) {
    const whole = Math.abs(at / step - Math.round(at / step)) < 1e-9;
    group.append(box(at / per, 0, thick * 0.03, thick * (whole ? 0.5 : 0.24), "#1b1a16"));
    if (whole && n && at / per < long - thick * 0.5) group.append(figure(at / per, thick, Math.round(at), upright));
  }
  return group;
}

function figure(x, thick, number, upright) {
  const made = part("text", { "font-size": thick * 0.44, "text-anchor": "end", fill: "#1b1a16", x: 0, y: 0,
    transform: `translate(${x - thick * 0.08} ${thick * 0.84})${upright ? " scale(1 -1) translate(0 " + thick * 0.32 + ")" : ""}` });
  made.textContent = String(number);
  return made;
}
