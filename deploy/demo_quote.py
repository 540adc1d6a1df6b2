"""Quotes the demo's etching over HTTP and prints the quote, its cut list and where to look next.

    python deploy/demo_quote.py http://127.0.0.1:8000 PROCESS-ID-OF-THE-SERVER yes|no

The last word says whether the service stops afterwards. The key is taken from DEMO_KEY. The job and
the shop are invented.
"""

from __future__ import annotations

import os
import sys
import time

import requests

from service.demo import demo_document
from service.printing.quotes.text import quote_text

PATIENCE = 120
"""Seconds; a busy machine needs some to start."""


def main(base: str, server: int, *, stops: bool) -> int:
    """Wait for the service, store a quote, print it."""
    key = os.environ["DEMO_KEY"]
    with requests.Session() as session:
        session.headers["Authorization"] = f"Bearer {key}"
        if not _ready(session, base, server):
            print(f"The service does not answer at {base}.", file=sys.stderr)
            return 1
        document = demo_document("jobs/harbour_etching")
        try:
            answer = session.post(f"{base}/v1/quotes", json=document, timeout=PATIENCE)
        except requests.RequestException as error:
            print(f"The service took no quote: {error}", file=sys.stderr)
            return 1
        if not answer.ok:
            print(answer.text, file=sys.stderr)
            return 1
        quote = answer.json()
    print(f"\nQuote {quote['number']}, good until {quote['valid_until']}\n")
    print(quote_text(quote, "in"))
    if stops:
        print("\nThat was quoted over HTTP; the service stops now. Without --once it stays, with")
        print(f"the quote form at {base}/ and every call to try out at {base}/docs")
    else:
        _further(base, key, quote["number"])
    return 0


def _further(base: str, key: str, number: str) -> None:
    """Where a newcomer looks next."""
    places = {
        "/": "the quote form: type a size, see the price and the picture",
        "/docs": "every call, to try out under a key",
        f"/v1/quotes/{number}": "this quote again",
        f"/v1/quotes/{number}/workings": "why every figure is what it is",
    }
    wide = max(map(len, places))
    print("\nLook further in a browser:")
    for path, what in places.items():
        if not path.startswith("/v1"):
            print(f"  {base}{path.ljust(wide)}  {what}")
    print("and with this demo's key (scope counter), good for this database and for 30 days:")
    for path, what in places.items():
        if path.startswith("/v1"):
            print(f"  {base}{path.ljust(wide)}  {what}")
    print(f"\n  KEY={key}")
    print(f'  curl -H "Authorization: Bearer $KEY" {base}/v1/quotes/{number}')


def _ready(session: requests.Session, base: str, server: int) -> bool:
    ends = time.monotonic() + PATIENCE
    while time.monotonic() < ends and _alive(server):
        try:
            if session.get(f"{base}/readyz", timeout=2).ok:
                return True
        except (requests.ConnectionError, requests.Timeout):
            pass
        time.sleep(0.1)
    return False


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], int(sys.argv[2]), stops=sys.argv[3] == "yes"))
