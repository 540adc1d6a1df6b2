// The calls that the page makes, all under its own publishable key.

export class Refused extends Error {
  // problem: the problem document (RFC 9457) of an answer that is no success.
  constructor(problem, waitSeconds) {
    super(problem.detail || problem.title || "refused");
    this.problem = problem;
    this.waitSeconds = waitSeconds;
  }
}

const desk = document.getElementById("desk");

async function call(path, more = {}) {
  const headers = { Authorization: `Bearer ${desk.dataset.key}`, ...more.headers };
  const answer = await fetch(path, { ...more, headers });
  if (answer.ok) return answer.json();
  const problem = await answer.json().catch(() => ({ status: answer.status, errors: [] }));
  throw new Refused(problem, Number(answer.headers.get("Retry-After")) || 0);
}

// Every item of a kind that is on sale, page by page.
export async function catalogue(kind) {
  const found = [];
  let cursor = "";
  do {
    const page = await call(`/v1/${kind}?discontinued=false&limit=200${cursor}`);
    found.push(...page.items);
    cursor = page.next ? `&cursor=${encodeURIComponent(page.next)}` : "";
  } while (cursor);
  return found;
}

function post(path, order, more = {}) {
  const headers = { "Content-Type": "application/json", ...more.headers };
  return call(path, { method: "POST", ...more, headers, body: order });
}

export const estimate = (order, signal) => post("/v1/estimates", order, { signal });

// One key for one order, however often it has to be sent: nothing is stored twice.
let sent = { order: "", key: "" };

export async function storeQuote(order) {
  if (sent.order !== order) sent = { order, key: newKey() };
  const quote = await post("/v1/quotes", order, { headers: { "Idempotency-Key": `"${sent.key}"` } });
  sent = { order: "", key: "" };
  return quote;
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
