// The page at work: a price and a picture follow every stroke; the last answer alone counts.

import { Refused, catalogue, estimate, storeQuote } from "./calls.js";
import { advisoriesOf, faultsOf, show, stopsOf } from "./notes.js";
import { forget, keep, restore } from "./keep.js";
import { arrange, changeUnits, document_, fill, form, items, nameMouldings, preset, sent, shop, touched, usual, value } from "./order.js";
import { draw, inWords, roughly } from "./picture.js";
import { contactFaults, prepare, review } from "./review.js";
import { showSheet } from "./sheet.js";

const PAUSE = 20; // milliseconds between two questions while an answer is still awaited
const PATIENCE = 800; // milliseconds after which a half-typed size is called wrong
const picture = document.getElementById("picture");
const price = document.getElementById("price");
const status = document.getElementById("status");
const measure = document.getElementById("measure");
const wall = document.querySelector(".wall");
const asked = document.getElementById("asked");
const button = document.getElementById("ask");
const STOPPED = "This cannot be made as it stands, so it cannot be asked for. What is marked above says why, and what would do instead.";

let turn = 0;
let timer = 0;
let under = null; // the question that is under way
let typedAt = 0;
let held = 0;
let units = "";
let offered = null; // what is on sale
let remarks = []; // what the last answer said of the fields
let kindBefore = ""; // what the picture was before a canvas's frame made a canvas of it

function soon() {
  clearTimeout(timer);
  clearTimeout(held);
  typedAt = performance.now();
  if (under) under.abort();
  timer = setTimeout(ask, under ? PAUSE : 0);
  wall.classList.add("stale");
}

async function ask() {
  const mine = ++turn;
  const order = document_(false);
  if (!order) return blank();
  const question = (under = new AbortController());
  const since = typedAt;
  try {
    const answer = await estimate(order, question.signal);
    if (mine !== turn) return undefined;
    priced(answer);
    performance.measure("price", { start: since, end: performance.now() });
  } catch (error) {
    if (mine === turn && error.name !== "AbortError") refused(error);
  } finally {
    if (under === question) under = null;
  }
  return undefined;
}

function blank() {
  price.textContent = "\u00a0";
  measure.textContent = "";
  say("Type the width and the height.");
  wall.classList.remove("stale");
  wall.classList.add("former");
  tell([], false);
}

// Show what an answer says; a job that cannot be made cannot be asked for.
function tell(said, stopped) {
  remarks = said;
  button.disabled = stopped;
  if (stopped) asked.textContent = STOPPED;
  else if (asked.textContent === STOPPED) asked.textContent = "";
  show(said);
}

function priced(answer) {
  const job = answer.jobs[0];
  const totals = answer.totals;
  const stopped = stopsOf(job).length > 0;
  price.textContent = stopped ? "\u00a0" : money(totals.total, answer.currency);
  say(stopped ? "This cannot be made as it stands: see what is marked." : `${taxWords(totals)}${job.quantity > 1 ? `, all ${job.quantity} of them` : ""}`);
  measure.textContent = `${inWords(job.sizes.outside, units)} outside`;
  wall.classList.remove("stale", "former");
  tell(advisoriesOf(job), stopped);
  draw(picture, seen(job));
}

const seen = (job) => ({
  sizes: job.sizes, cutList: job.cut_list, way: value("presentation"), unit: units,
  margin: roughly(sent("float_margin"), units) ?? Number(shop.float_margin_in),
  items: Object.fromEntries(
    ["moulding", "mat", "under", "glazing", "mount"].map((name) => [name, items.get(value(name))])),
});

const taxWords = (totals) =>
  totals.tax_unknown.length ? "before tax" : totals.tax_included ? "tax in it" : "with tax";

function money(amount, currency) {
  // Only put together here, never reckoned: the amount is the service's own text.
  const sign = new Intl.NumberFormat("en", { style: "currency", currency, currencyDisplay: "narrowSymbol" })
    .formatToParts(0).find((part) => part.type === "currency").value;
  return /^[A-Z]/.test(sign) ? `${amount} ${currency}` : `${sign}${amount}`;
}

function refused(error) {
  wall.classList.remove("stale");
  wall.classList.add("former");
  price.textContent = "\u00a0";
  measure.textContent = "";
  if (!(error instanceof Refused)) return say("The shop cannot be reached just now; what you typed is still here.");
  const problem = error.problem;
  if (error.waitSeconds) {
    timer = setTimeout(ask, 1000 * error.waitSeconds);
    return say("One moment: there are many questions at once.");
  }
  const faults = faultsOf(problem);
  tell([], false);
  say(faults.length ? "No price yet: something is marked below." : problem.detail);
  show(faults, document.activeElement);
  held = setTimeout(() => show(faults), PATIENCE);
  return undefined;
}

function say(text) {
  if (status.textContent !== text) status.textContent = text;
}

// Enter in a field prices what stands there, and marks what is half typed; it never asks.
function entered(event) {
  if (event.key !== "Enter" || !event.target.matches("input")) return;
  event.preventDefault();
  soon();
}

// What is asked for is shown once more with its price; only then can it be sent.
async function lookOver() {
  const order = document_(true);
  asked.textContent = "";
  if (!order) {
    asked.textContent = "The picture’s width and height are missing.";
    form.elements[value("width") ? "height" : "width"].focus();
    return;
  }
  const missing = contactFaults();
  if (missing.length) return marked(missing);
  try {
    const answer = await estimate(document_(false));
    if (document_(true) !== order) return;
    priced(answer);
    if (!stopsOf(answer.jobs[0]).length) review(answer, paid(answer), () => storeQuote(order), stored);
  } catch (error) {
    failed(error, (text) => { asked.textContent = text; });
  }
}

const paid = (answer) => `${money(answer.totals.total, answer.currency)} ${taxWords(answer.totals)}`;

function stored(quote) {
  form.hidden = true;
  wall.hidden = true;
  showSheet(quote, picture, () => { form.hidden = false; wall.hidden = false; form.elements.width.focus(); });
}

// Mark faults by their fields, and lead to the first.
function marked(faults) {
  show([...remarks, ...faults]);
  asked.textContent = "Nothing was sent yet: something is marked above.";
  form.querySelector("[aria-invalid]")?.focus();
}

// Say that the service refused, by the fields where it can be, or that it could not be reached.
function failed(error, tellIt) {
  if (!(error instanceof Refused)) {
    tellIt("The shop could not be reached. Press again in a moment; it is never stored twice.");
    return;
  }
  const faults = faultsOf(error.problem);
  if (faults.length) marked(faults);
  else tellIt(error.problem.detail);
}

function typed(event) {
  const name = event.target.name;
  touched.add(name);
  delete event.target.dataset.exact;
  if (name === "units" && value("units") !== units) {
    changeUnits(units, value("units"));
    units = value("units");
    nameMouldings();
  }
  if (name === "presentation") {
    suitKind(value(name) === "floater");
    preset();
  }
  if (name === "kind") {
    kindBefore = "";
    preset();
  }
  arrange();
  keep();
  if (!event.target.closest("[autocomplete=name], [autocomplete=email], [autocomplete=tel]")) soon();
  else if (event.target.matches("[aria-invalid]")) show(remarks);
}

// A frame that stands free is for a canvas; whoever comes back from it has what was chosen before.
function suitKind(canvas) {
  const kind = form.elements.kind;
  if (canvas && !["canvas", "panel"].includes(kind.value)) {
    kindBefore = kind.value;
    kind.value = "canvas";
  } else if (!canvas && kindBefore) {
    kind.value = kindBefore;
    kindBefore = "";
  }
}

// The form as it is before anybody chose.
function begin() {
  touched.clear();
  kindBefore = "";
  units = shop.unit === "in" ? "in" : "cm";
  form.elements.units.value = units;
  usual(units);
  fill(offered);
  preset();
}

function beginAnew() {
  forget();
  form.reset();
  for (const field of form.elements) delete field.dataset.exact;
  begin();
  arrange();
  soon();
  form.elements.width.focus();
}

async function start() {
  try {
    const [mouldings, boards, glazing] = await Promise.all(["mouldings", "boards", "glazing"].map(catalogue));
    offered = { mouldings, boards, glazing };
  } catch (error) {
    return say(error instanceof Refused ? error.message : "The shop cannot be reached just now; reload to try again.");
  }
  begin();
  if (restore()) {
    units = value("units");
    nameMouldings();
  }
  arrange();
  document.getElementById("anew").addEventListener("click", beginAnew);
  form.addEventListener("input", typed);
  form.addEventListener("keydown", entered);
  form.addEventListener("submit", (event) => event.preventDefault());
  button.addEventListener("click", lookOver);
  prepare(failed);
  if (document_(false)) soon();
  else await example();
  document.documentElement.dataset.ready = "yes";
  return undefined;
}

// Before anything is typed a frame of some size hangs there; asking for it wakes the service, too.
async function example() {
  const [width, height] = units === "in" ? ["11", "14"] : ["28", "35"];
  try {
    const answer = await estimate(document_(false, { width, height }));
    if (turn) return;
    draw(picture, seen(answer.jobs[0]));
    measure.textContent = `Shown, for instance: ${width}\u00a0×\u00a0${height}\u00a0${units}`;
  } catch { /* the picture can wait: what is wrong is told when something is typed */ }
}

start();
