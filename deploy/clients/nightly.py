"""The night's run: every quote that changed since the last run, and the reports of the day, as CSV.

    python deploy/clients/nightly.py --state var/nightly.json --to var/reports

QUOTES_URL says where the service is, QUOTES_KEY (or a file named by QUOTES_KEY_FILE) is a key with
the scope `reports`. It needs nothing but Python and `requests`.

The reports of REPORTS go into a folder of the day, each as the service writes it; a run writes the
day's files over. `deploy/systemd/framing-quotes-nightly.timer` starts it every night, or a line for
cron, as the user who owns the folder:

    45 3 * * * QUOTES_KEY_FILE=/etc/framing-quotes/night_key /usr/bin/python3 \
        /opt/framing-quotes/clients/nightly.py --state /var/lib/framing-quotes/night/state.json \
        --to /var/lib/framing-quotes/night

The change feed `/v1/events` gives every change once, in an order that parallel writers cannot
disturb; its cursor says how far this reader is. The run writes the file first and the cursor last,
each in one step (a new file that takes the old one's place). So it may be broken off anywhere and
run again: the same run writes the same file over, and nothing is lost or told twice.

Exit codes, for cron and its like: 0 done, also where nothing changed; 1 refused (a wrong key, say);
2 wrong use; 75 not now (the service cannot be reached, or another run is still going): again later.
"""

from __future__ import annotations

import argparse
import csv
import fcntl
import io
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import requests
from requests.adapters import HTTPAdapter, Retry

REFUSED, NOT_NOW = 1, 75
TIMEOUT = (5, 60)
PAGE = 500
REPORTS = (
    *("sales", "sales-by-component", "sales-by-item", "margins", "materials", "purchases"),
    *("labour", "overdue", "spoiled", "price-list-drift", "payments", "balances", "uncollected"),
)
COLUMNS = (
    "number",
    "status",
    "revision",
    "reference",
    "created_at",
    "updated_at",
    "valid_until",
    "promised",
    "currency",
    "subtotal",
    "discount",
    "tax",
    "total",
    "paid",
    "balance_due",
)


class Refused(Exception):
    """The service says no; the message is its own."""


class NotNow(Exception):
    """It may work later."""


def line(base: str, key: str) -> requests.Session:
    """A session that is patient: it waits as long as the service asks for, some times over."""
    session = requests.Session()
    session.headers["Authorization"] = f"Bearer {key}"
    again = Retry(total=6, backoff_factor=0.5, status_forcelist=(429, 503), raise_on_status=False)
    session.mount(base, HTTPAdapter(max_retries=again))
    return session


def asked(session: requests.Session, address: str, **parameters: object) -> dict[str, Any]:
    """One answer of the service."""
    return dict(fetched(session, address, {}, **parameters).json())


def fetched(
    session: requests.Session, address: str, headers: dict[str, str], **parameters: Any
) -> requests.Response:
    """One answer of the service, in the form that the headers ask for."""
    try:
        answer = session.get(address, params=parameters, headers=headers, timeout=TIMEOUT)
    except requests.RequestException as error:
        raise NotNow(f"the service cannot be reached: {type(error).__name__}") from error
    if answer.status_code == 429 or answer.status_code >= 500:
        raise NotNow(f"the service answered {answer.status_code}")
    if not answer.ok:
        raise Refused(f"{answer.status_code}: {answer.json().get('detail', 'refused')}")
    return answer


def reports(session: requests.Session, base: str, folder: Path) -> list[Path]:
    """The day's reports, each in a file of its own; the service names the day."""
    overdue = asked(session, f"{base}/v1/reports/overdue")
    place = folder / str(overdue["as_of"])[:10]
    files = []
    for name in REPORTS:
        answer = fetched(session, f"{base}/v1/reports/{name}", {"Accept": "text/csv"})
        files.append(place / f"{name}.csv")
        put(files[-1], answer.content.decode())
    return files


def changed(session: requests.Session, base: str, cursor: str) -> tuple[list[str], str]:
    """The quotes that changed after the cursor, each once, and where to look next time."""
    quotes: dict[str, None] = {}
    while True:
        more = {"cursor": cursor} if cursor else {}
        page = asked(session, f"{base}/v1/events", limit=PAGE, **more)
        quotes |= {e["subject_id"]: None for e in page["items"] if e["subject"] == "quote"}
        cursor = page["next"]
        if not page["more"]:
            return list(quotes), cursor


def row(quote: dict[str, Any]) -> dict[str, str]:
    """A quote as a line of the file; money stays the decimal text that it came as."""
    told = {**quote, **quote["totals"]}
    return {name: _cell(told.get(name)) for name in COLUMNS}


def _cell(value: object) -> str:
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text  # no formula in a sheet


def csv_text(quotes: list[dict[str, Any]]) -> str:
    """The file's text (RFC 4180)."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(row(quote) for quote in quotes)
    return text.getvalue()


def put(path: Path, text: str) -> None:
    """Write a file in one step.

    Whoever looks sees the old one or the new one, also after a loss of power. Its owner alone may
    read it.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, new = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(new).replace(path)
    except BaseException:
        Path(new).unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


@contextmanager
def alone(state: Path) -> Iterator[None]:
    """Hold the run's lock; two runs at once would tell the same changes twice."""
    state.parent.mkdir(parents=True, exist_ok=True)
    with state.with_name(f"{state.name}.lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise NotNow("another run is still going") from None
        yield


def run(base: str, key: str, state: Path, folder: Path) -> Path | None:
    """One run; the file that it wrote, or None where nothing changed."""
    with alone(state), line(base, key) as session:
        before = json.loads(state.read_text(encoding="utf-8")) if state.exists() else {}
        number = before.get("run", 1)
        ids, cursor = changed(session, base, before.get("cursor", ""))
        quotes = [asked(session, f"{base}/v1/quotes/{each}") for each in ids]
        reports(session, base, folder)
        if not quotes:
            put(state, json.dumps({"run": number, "cursor": cursor}))
            return None
        file = folder / f"quotes-{number:06}.csv"
        put(file, csv_text(quotes))
        put(state, json.dumps({"run": number + 1, "cursor": cursor}))
        return file


def main(arguments: list[str] | None = None) -> int:
    """Run once, and say how it went."""
    parser = argparse.ArgumentParser(description="Quotes that changed since the last run, as CSV.")
    parser.add_argument("--state", type=Path, required=True, help="the file that keeps the cursor")
    parser.add_argument("--to", type=Path, required=True, help="the folder for the CSV files")
    told = parser.parse_args(arguments)
    key = os.environ.get("QUOTES_KEY", "")
    if path := os.environ.get("QUOTES_KEY_FILE", ""):
        key = Path(path).read_text(encoding="utf-8")
    base = os.environ.get("QUOTES_URL", "http://127.0.0.1:8000").rstrip("/")
    try:
        file = run(base, key.strip(), told.state, told.to)
    except Refused as refused:
        print(f"refused: {refused}", file=sys.stderr)
        return REFUSED
    except NotNow as later:
        print(f"not now: {later}", file=sys.stderr)
        return NOT_NOW
    print(file or "nothing changed")
    return 0


if __name__ == "__main__":
    sys.exit(main())
