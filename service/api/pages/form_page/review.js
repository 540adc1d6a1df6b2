// The review before a quote is asked for: what it is of, what it comes to, and whom the shop answers.

import { form, shop, value, withUnit } from "./order.js";
import { inWords } from "./picture.js";

const dialog = document.getElementById("review");
const button = document.getElementById("send");
const trouble = document.getElementById("sent");
let onSend = null;
let onStored = null;

const chosen = (name) => form.elements[name].selectedOptions[0]?.textContent.trim() ?? "";
const picked = (name) => (shown(name) && value(name) ? chosen(name) : "");
const shown = (name) => !form.elements[name].closest("[hidden]");
const way = () => form.querySelector("[name=presentation]:checked + span b").textContent;

// Show the review. `send` is called when the customer asks, and fails as the service does; then
// `stored` is called with the quote.
export function review(answer, price, send, stored) {
  const job = answer.jobs[0];
  const size = `${withUnit("width")} × ${withUnit("height")}`;
  const rows = [
    ["Picture", [value("label"), `${size}, ${chosen("kind")}`].filter(Boolean).join(": ")],
    ["How many", job.quantity > 1 ? String(job.quantity) : ""],
    ["How it sits", way()],
    ["Mat", picked("mat")],
    ["Under it", picked("under")],
    ["Frame", chosen("moulding")],
    ["In front of it", picked("glazing")],
    ["Held", chosen("method")],
    ["Outside", inWords(job.sizes.outside, value("units"))],
    ["Price", price],
    ["Your name", value("name")],
    ["The shop answers by", [value("email"), value("telephone")].filter(Boolean).join(", ")],
  ];
  document.getElementById("reviewed").replaceChildren(...rows.filter(([, text]) => text).map(row));
  trouble.textContent = "";
  [onSend, onStored] = [send, stored];
  dialog.showModal();
}

function row([name, text]) {
  const line = document.createElement("div");
  const [term, told] = [document.createElement("dt"), document.createElement("dd")];
  term.textContent = name;
  told.textContent = text;
  line.append(term, told);
  return line;
}

// What the shop needs to answer, in the words in which the service says it too.
export function contactFaults() {
  const words = shop.contact;
  if (!words) return [];
  const fault = (name, text) => ({ at: `/customer/${name}`, text, kind: "fault" });
  const faults = [];
  const [mail, number] = [value("email"), value("telephone")];
  if (!value("name")) faults.push(fault("name", words.name));
  if (!mail && !number) faults.push(fault("email", words.reached));
  if (mail && form.elements.email.validity.typeMismatch) faults.push(fault("email", words.email));
  if (number && number.replace(/\D/gu, "").length < 5) faults.push(fault("telephone", words.telephone));
  return faults;
}

// Make the buttons work; `failed` is told of an error, with where to say it.
export function prepare(failed) {
  document.getElementById("back").addEventListener("click", () => dialog.close());
  button.addEventListener("click", async () => {
    button.disabled = true;
    trouble.textContent = "";
    try {
      const quote = await onSend();
      dialog.close();
      onStored(quote);
    } catch (error) {
      if (error.problem?.errors?.length) dialog.close(); // the fields behind it say what is wrong
      failed(error, (text) => { trouble.textContent = text; });
    } finally {
      button.disabled = false;
    }
  });
}
