"""The counter's calls: look a quote up, price a job, accept a quote, print its bench tickets.

    python deploy/clients/point_of_sale.py show Q100014
    python deploy/clients/point_of_sale.py price job.json
    python deploy/clients/point_of_sale.py keep job.json
    python deploy/clients/point_of_sale.py accept Q100014
    python deploy/clients/point_of_sale.py print Q100014 --to tickets

QUOTES_URL says where the service is, QUOTES_KEY (or a file named by QUOTES_KEY_FILE) is a key with
the scope `counter`. It needs nothing but Python and `requests`; copy from it what you like.

Exit codes: 0 done, 1 refused (and why), 2 wrong use, 75 not now: try again.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any, NoReturn
from uuid import uuid4

import requests
from requests.adapters import HTTPAdapter, Retry

REFUSED, NOT_NOW = 1, 75
TIMEOUT = (5, 30)


class Till:
    """A till's line to the service."""

    def __init__(self, base: str, key: str) -> None:
        self.base = base.rstrip("/")
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
        """A quote stored.

        One Idempotency-Key goes with all tries: however often the line breaks, the service stores
        it once and gives the first answer again.
        """
        once = {"Idempotency-Key": f'"{uuid4()}"'}
        try:
            return dict(self.send("/v1/quotes", document, once).json())
        except requests.ConnectionError:
            return dict(self.send("/v1/quotes", document, once).json())

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
        lines.append(f"{quote['number']}  {quote['status']}, good until {quote['valid_until']}")
    for job in quote["jobs"]:
        outside = job["sizes"]["outside"]
        size = f"{outside['width']['shop']} x {outside['height']['shop']} outside"
        lines.append(
            f"  {job['quantity']} x {job['label'] or 'picture'}, {size}: {job['subtotal']}"
        )
        lines += [f"    mind: {advisory['message']}" for advisory in job["advisories"]]
    lines.append(f"  total {quote['totals']['total']} {quote['currency']}")
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
    parser = argparse.ArgumentParser(description="Look up, price, keep, accept, print.")
    parser.add_argument("what", choices=("show", "price", "keep", "accept", "print"))
    parser.add_argument(
        "which", help="a quote's number; a file with a job document to price or keep"
    )
    parser.add_argument("--to", default=".", help="the folder for printed tickets")
    asked = parser.parse_args(arguments)
    till = Till(os.environ.get("QUOTES_URL", "http://127.0.0.1:8000"), key())
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
    else:
        folder = Path(asked.to)
        folder.mkdir(parents=True, exist_ok=True)
        for number, pdf in till.tickets(asked.which).items():
            (folder / f"{number}.pdf").write_bytes(pdf)
            print(folder / f"{number}.pdf")
    return 0


if __name__ == "__main__":
    sys.exit(main())
