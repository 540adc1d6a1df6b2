"""The counter's calls: from the price of a job to the collection of the finished work.

    python deploy/clients/point_of_sale.py show Q100014
    python deploy/clients/point_of_sale.py price job.json
    python deploy/clients/point_of_sale.py keep job.json
    python deploy/clients/point_of_sale.py accept Q100014
    python deploy/clients/point_of_sale.py print Q100014 --to tickets
    python deploy/clients/point_of_sale.py pay Q100014 --amount 165.22 --by card --reference R-4711
    python deploy/clients/point_of_sale.py collect Q100014

QUOTES_URL says where the service is, QUOTES_KEY (or a file named by QUOTES_KEY_FILE) is a key with
the scope `counter`. It needs nothing but Python and `requests`; copy from it what you like.

What is kept is kept once, also if the till loses its line or its power: the Idempotency-Key belongs
to the sale and is on disk (in TILL_FOLDER, `var/till`) before the sale is sent. A till that comes
back within a day sends the same sale under the same key, and gets the first answer again.

Exit codes: 0 done, 1 refused (and why), 2 wrong use, 75 not now: try again.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any, NoReturn
from uuid import uuid4

import requests
from requests.adapters import HTTPAdapter, Retry

REFUSED, NOT_NOW = 1, 75
TIMEOUT = (5, 30)


class Till:
    """A till's line to the service."""

    def __init__(self, base: str, key: str, folder: Path) -> None:
        self.base = base.rstrip("/")
        self.folder = folder
        self.session = requests.Session()
        self.session.headers["Authorization"] = f"Bearer {key}"
        # Reading may be repeated freely; what stores is repeated only under its own key, below.
        again = Retry(
            total=4, backoff_factor=0.3, status_forcelist=(429, 503), raise_on_status=False
        )
        for scheme in ("http://", "https://"):
            self.session.mount(scheme, HTTPAdapter(max_retries=again))

    def quote(self, number: str) -> tuple[dict[str, Any], str]:
        """A quote by its number, and the version (ETag) that was seen."""
        answer = self.ask("GET", f"/v1/quotes/{number}")
        return answer.json(), answer.headers["ETag"]

    def price(self, document: bytes) -> dict[str, Any]:
        """What a job comes to; nothing is stored."""
        return dict(self.send("/v1/estimates", document).json())

    def keep(self, document: bytes) -> dict[str, Any]:
        """A quote stored, once for each sale.

        The sale is known by its document until it is answered: if the till stops before that and
        is asked for the same again, the key that lies on disk is sent again, and the service gives
        the first answer. The key goes when an answer is here; the document is then a new sale.
        """
        place = self.folder / f"{hashlib.sha256(document).hexdigest()}.key"
        if not place.exists():
            put(place, str(uuid4()))
        once = {"Idempotency-Key": f'"{place.read_text(encoding="utf-8")}"'}
        try:
            answer = self.send("/v1/quotes", document, once)
        except requests.ConnectionError:
            answer = self.send("/v1/quotes", document, once)
        except SystemExit as stop:
            if stop.code == REFUSED:  # an answer, too
                place.unlink()
            raise
        place.unlink()
        return dict(answer.json())

    def accept(self, number: str) -> dict[str, Any]:
        """Take a quote for the customer, as it was seen just now.

        If-Match has the service refuse (412) where somebody changed it since it was read, so nobody
        is promised a price that has just become another.
        """
        quote, seen = self.quote(number)
        if quote["status"] in ("accepted", "in_work", "done"):
            return quote  # it was taken before: pressed twice, or the answer was lost
        if quote["status"] == "draft":
            issued = self.ask("POST", f"/v1/quotes/{number}/issue", {"If-Match": seen})
            seen = issued.headers["ETag"]
        return dict(self.ask("POST", f"/v1/quotes/{number}/accept", {"If-Match": seen}).json())

    def pay(self, number: str, amount: str, way: str, reference: str) -> dict[str, Any]:
        """A payment reported; told again under the same reference, it is recorded once."""
        body = {"amount": amount, "paid_by": way, "reference": reference}
        return dict(self.send(f"/v1/quotes/{number}/payments", json.dumps(body).encode()).json())

    def collect(self, number: str) -> dict[str, Any]:
        """All that is left of a quote handed over, as it was seen just now."""
        quote, seen = self.quote(number)
        if quote.get("handover") == "collected":
            return quote  # pressed twice, or the answer was lost
        return dict(self.ask("POST", f"/v1/quotes/{number}/collect", {"If-Match": seen}).json())

    def tickets(self, number: str) -> dict[str, bytes]:
        """The bench tickets of an accepted quote on paper: number to PDF."""
        quote, _ = self.quote(number)
        return {
            ticket["number"]: self.ask(
                "GET", f"/v1/cut-tickets/{ticket['number']}", {"Accept": "application/pdf"}
            ).content
            for ticket in quote["tickets"]
        }

    def send(
        self, path: str, document: bytes, headers: dict[str, str] | None = None
    ) -> requests.Response:
        """A JSON document sent; its numbers stay exactly as they are written in it."""
        return self.ask(
            "POST", path, {"Content-Type": "application/json", **(headers or {})}, document
        )

    def ask(
        self,
        method: str,
        path: str,
        headers: dict[str, str] | None = None,
        body: bytes | None = None,
    ) -> requests.Response:
        """One call; a refusal ends the program with the service's own words."""
        answer = self.session.request(
            method, self.base + path, headers=headers, data=body, timeout=TIMEOUT
        )
        if not answer.ok:
            stop_for(answer)
        return answer


def put(path: Path, text: str) -> None:
    """Write a file in one step: after a loss of power it is there whole, or not at all."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, new = tempfile.mkstemp(dir=path.parent, prefix=".new-")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    Path(new).replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def stop_for(answer: requests.Response) -> NoReturn:
    """Say what a problem document (RFC 9457) says, fault by fault, and stop."""
    try:
        problem = answer.json()
    except ValueError:
        problem = {"detail": f"the service answered {answer.status_code}"}
    print(problem.get("detail", problem.get("title", "refused")), file=sys.stderr)
    for fault in problem.get("errors", []):
        print(f"  {fault.get('pointer', '')}: {fault['detail']}", file=sys.stderr)
    raise SystemExit(NOT_NOW if answer.status_code in (429, 503) else REFUSED)


def summary(quote: dict[str, Any]) -> str:
    """A quote in a few lines, as one reads it out."""
    lines = []
    if "number" in quote:
        state = quote.get("handover", quote["status"])
        lines.append(f"{quote['number']}  {state}, good until {quote['valid_until']}")
    for job in quote["jobs"]:
        outside = job["sizes"]["outside"]
        size = f"{outside['width']['shop']} x {outside['height']['shop']} outside"
        lines.append(
            f"  {job['quantity']} x {job['label'] or 'picture'}, {size}: {job['subtotal']}"
        )
        for advisory in job["advisories"]:
            stopped = advisory["severity"] == "stop" and "overridden" not in advisory
            lines.append(f"    {'CANNOT BE MADE' if stopped else 'mind'}: {advisory['message']}")
    lines.append(f"  total {quote['totals']['total']} {quote['currency']}")
    if quote.get("paid", "0.00") != "0.00":
        lines.append(f"  paid {quote['paid']}, balance due {quote['balance_due']}")
    if quote.get("promised"):
        lines.append(f"  ready on {quote['promised']}")
    lines += [f"  ticket {ticket['number']}" for ticket in quote.get("tickets", [])]
    return "\n".join(lines)


def key() -> str:
    """The key, from the environment or from a file that it names."""
    path = os.environ.get("QUOTES_KEY_FILE", "")
    found = Path(path).read_text(encoding="utf-8") if path else os.environ.get("QUOTES_KEY", "")
    if not found.strip():
        raise SystemExit("set QUOTES_KEY, or QUOTES_KEY_FILE, to a key with the scope counter")
    return found.strip()


def main(arguments: list[str] | None = None) -> int:
    """Do what the counter asks for."""
    parser = argparse.ArgumentParser(description="What a till asks of the service.")
    steps = ("show", "price", "keep", "accept", "print", "pay", "collect")
    parser.add_argument("what", choices=steps)
    parser.add_argument(
        "which", help="a quote's number; a file with a job document to price or keep"
    )
    parser.add_argument("--to", default=".", help="the folder for printed tickets")
    parser.add_argument("--amount", help="what is paid; below zero, what is given back")
    parser.add_argument("--by", default="cash", help="how it is paid: cash, card, transfer, …")
    parser.add_argument("--reference", help="the till's own number of the payment")
    asked = parser.parse_args(arguments)
    if asked.what == "pay" and not (asked.amount and asked.reference):
        parser.error("a payment has an --amount and a --reference")
    folder = Path(os.environ.get("TILL_FOLDER", "var/till"))
    till = Till(os.environ.get("QUOTES_URL", "http://127.0.0.1:8000"), key(), folder)
    try:
        return _do(till, asked)
    except requests.RequestException as error:
        print(f"the service cannot be reached: {type(error).__name__}", file=sys.stderr)
        return NOT_NOW


def _do(till: Till, asked: argparse.Namespace) -> int:
    if asked.what == "show":
        print(summary(till.quote(asked.which)[0]))
    elif asked.what in ("price", "keep"):
        document = Path(asked.which).read_bytes()
        print(summary(till.price(document) if asked.what == "price" else till.keep(document)))
    elif asked.what == "accept":
        print(summary(till.accept(asked.which)))
    elif asked.what == "pay":
        told = till.pay(asked.which, asked.amount, asked.by, asked.reference)
        print(f"{told['number']}  paid {told['paid']}, balance due {told['balance_due']}")
    elif asked.what == "collect":
        print(summary(till.collect(asked.which)))
    else:
        folder = Path(asked.to)
        folder.mkdir(parents=True, exist_ok=True)
        for number, pdf in till.tickets(asked.which).items():
            (folder / f"{number}.pdf").write_bytes(pdf)
            print(folder / f"{number}.pdf")
    return 0


if __name__ == "__main__":
    sys.exit(main())
