"""Quotes and events for the tests of the archive, and all that stands in it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import Paper, QuoteHead, Revision
from service.persistence.retention.archive import Archive
from service.persistence.retention.files import files, opened
from service.persistence.retention.records import Leaving, WholeQuote, WholeRevision
from service.persistence.retention.rows import event_of, quote_of, rows

SHOP = "corner"
NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
OKAFOR = b'{"name":"M. Okafor","email":"M.Okafor@example.com"}'


def paper(text: str) -> Paper:
    document = text.encode()
    return Paper("item", hashlib.sha256(document).hexdigest(), document)


def a_quote(serial: int = 10_001, customer: bytes = b"{}", **more: Any) -> WholeQuote:
    sent = b'{"n":16.37500,"customer":' + customer + b"}"
    working = Revision(sent, '{"w":"16⅜"}'.encode(), (paper('{"a": 1.10}'), paper("[ ]")), b"{}")
    head = QuoteHead(
        id=f"019abcde-f000-7000-8000-{serial:012x}",
        shop_id="s1",
        serial=serial,
        status="draft",
        revision=2,
        reference="W-1021",
        customer=customer,
        currency="USD",
        total_minor=18_450,
        created_at=NOW,
        updated_at=NOW + timedelta(days=serial - 10_001),
        valid_until=date(2026, 3, 31),
        created_by="k1",
        version=2,
    )
    again = replace(working, papers=(paper("[ ]"), paper(f"[{serial}]")))
    made = (WholeRevision(1, NOW, "", working), WholeRevision(2, NOW, "oak", again))
    return WholeQuote(replace(head, **more), made)


def an_event(number: int = 1) -> StoredEvent:
    event = NewEvent(
        shop_id="s1",
        key_id="k1",
        at=NOW + timedelta(days=number),
        kind="quote.created",
        subject="quote",
        subject_id="q1",
        after=b'{"number": "Q100014"}',
    )
    return StoredEvent(EventPlace(7, number), event)


def kept(folder: Path, *batches: Iterable[Leaving], shop: str = SHOP) -> Path:
    """The file of a shop after these batches."""
    for batch in batches:
        with Archive(folder).batch(shop, NOW) as open_batch:
            open_batch.keep(batch)
    (path,) = files(folder, shop)
    return path


def read(folder: Path, shop: str | None = None) -> list[Leaving]:
    """Every record of one shop or all: quotes by their ids, then events in the feed's order."""
    found: list[Leaving] = []
    for path in files(folder, shop):
        with opened(path) as file:
            quotes = rows(file, "SELECT * FROM quotes ORDER BY id")
            found += [quote_of(file, row) for row in quotes]
            found += [event_of(row) for row in rows(file, "SELECT * FROM events ORDER BY turn, id")]
    return found


def plain(folder: Path) -> bytes:
    """All bytes of all files of a folder."""
    return b"".join(path.read_bytes() for path in sorted(folder.iterdir()))
