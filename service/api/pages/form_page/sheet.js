// The stored quote as a sheet to read, to print and to take along.

import { shop, value, withUnit } from "./order.js";
import { inWords } from "./picture.js";

const sheet = document.getElementById("sheet");
function made(tag, text, ...inside) {
  const element = document.createElement(tag);
  if (text) element.textContent = text;
  element.append(...inside);
  return element;
}

export function showSheet(quote, picture, again) {
  const job = quote.jobs[0];
  const title = made("h2", `Quote ${quote.number}`);
  title.id = "sheet-title";
  const drawn = picture.cloneNode(true);
  drawn.removeAttribute("id");
  sheet.replaceChildren(
    title,
    made("p", `${shop.name}. Say the number when you call or come in; it holds until ${day(quote.valid_until)}.`),
    made("p", draftWords(quote)),
    drawn,
    facts(quote, job),
    priced(quote, job),
    buttons(again),
  );
  sheet.hidden = false;
  sheet.focus();
  sheet.scrollIntoView();
}

const draftWords = (quote) =>
  quote.status === "draft" ? "The shop looks it over before any work is begun." : "";

function facts(quote, job) {
  const list = made("dl");
  const say = (name, text) => text && list.append(made("div", "", made("dt", name), made("dd", text)));
  const size = (of) => of && inWords(of, value("units"));
  say("For", quote.customer && quote.customer.name);
  say("Picture", job.label);
  say("How many", job.quantity > 1 ? String(job.quantity) : "");
  say("The picture measures", `${withUnit("width")} × ${withUnit("height")}`);
  say("Window in the mat", size(job.sizes.opening));
  say("Outside of the frame", size(job.sizes.outside));
  return list;
}

function priced(quote, job) {
  const rows = job.groups.filter((group) => Number(group.amount) !== 0).map((group) => row(
    group.name, group.told.join(", "), group.amount));
  const totals = quote.totals;
  rows.push(row("Together", "", totals.subtotal, "sum"));
  if (Number(totals.discount) !== 0) rows.push(row("Off", "", `−${totals.discount}`));
  for (const tax of totals.taxes) rows.push(row(tax.name, `${tax.percent} %`, tax.amount));
  const whole = totals.tax_unknown.length ? "All told, before tax" : "All told";
  rows.push(row(whole, "", `${totals.total} ${quote.currency}`, "sum all"));
  const caption = made("caption", "What it is made of, and what it comes to");
  return made("table", "", caption, made("tbody", "", ...rows));
}

function row(part, text, amount, kind = "") {
  const head = made("th", part);
  head.scope = "row";
  const last = made("td", amount);
  if (!text) last.colSpan = 2;
  const line = made("tr", "", head, ...(text ? [made("td", text)] : []), last);
  line.className = kind;
  return line;
}

function buttons(again) {
  const print = made("button", "Print it");
  print.type = "button";
  print.addEventListener("click", () => window.print());
  const next = made("button", "Another picture");
  next.type = "button";
  next.className = "quiet";
  next.addEventListener("click", () => { sheet.hidden = true; again(); });
  const line = made("p", "", print, " ", next);
  line.className = "buttons";
  return line;
}

function day(text) {
  const [year, month, date] = text.split("-").map(Number);
  return new Date(Date.UTC(year, month - 1, date))
    .toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
}
