"""Quotes and events for the tests of the archive, and what stands in it by another reader."""

from __future__ import annotations

import gzip
import hashlib
import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import Paper, QuoteHead, Revision
from service.persistence.retention.archive import Archive
from service.persistence.retention.files import files, opened
from service.persistence.retention.lines import EVENT, PAPER, QUOTE, event_of, paper_of, quote_of
from service.persistence.retention.members import file_parts
from service.persistence.retention.records import Leaving, WholeQuote, WholeRevision

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
    """The file of a run that kept these batches and ended."""
    before = set(files(folder))
    with Archive(folder).run(shop, NOW) as run:
        for batch in batches:
            run.keep(batch)
    (made,) = set(files(folder)) - before
    return made


def read(folder: Path, shop: str | None = None) -> list[Leaving]:
    """Every record of every whole batch, of one shop or all, in the order in which it stands."""
    found: list[Leaving] = []
    for each in files(folder, shop):
        with opened(each) as file:
            assert file is not None
            for part in file_parts(file[1], bytes):
                papers = dict(paper_of(line) for line in part.taken if line.startswith(PAPER))
                for digest, document in papers.items():
                    assert hashlib.sha256(document).hexdigest() == digest
                found += [quote_of(x, papers) for x in part.taken if x.startswith(QUOTE)]
                found += [event_of(x) for x in part.taken if x.startswith(EVENT)]
    return found


def batches(path: Path) -> list[list[dict[str, Any]]]:
    """The batches of a file by the standard library alone, each held to its count and digest."""
    found, batch = [], []
    digest = hashlib.sha256()
    with gzip.open(path) as file:
        for line in file:
            said = json.loads(line)
            if said.keys() == {"records", "sha256"}:
                assert said == {"records": len(batch) - 1, "sha256": digest.hexdigest()}
                found.append(batch)
                batch, digest = [], hashlib.sha256()
            else:
                batch.append(said)
                digest.update(line)
    assert batch == []
    return found
