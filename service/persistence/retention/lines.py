"""Archived records as lines of JSON, and back: papers, quotes, events.

Documents are JSON strings inside the line, so that they come back byte for byte. A paper is written
once per batch, before the first quote that rests on it.

A quote's line begins with its customer, so that one which names nobody is recognised by its first
bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

import orjson

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import Paper, QuoteHead, Revision
from service.persistence.retention.customers import without_customer
from service.persistence.retention.records import Leaving, WholeQuote, WholeRevision
from service.persistence.retention.store import NOBODY

PAPER = b'{"paper":'
QUOTE = b'{"quote":'
EVENT = b'{"event":'
NAMELESS = QUOTE + b'{"customer":"{}",'


def lines_of(records: Iterable[Leaving]) -> Iterator[bytes]:
    """Yield the lines of a batch: for each quote the papers new to the batch, then the quote."""
    known: set[str] = set()
    for record in records:
        if isinstance(record, StoredEvent):
            yield orjson.dumps({"event": _event(record)})
            continue
        for revision in record.revisions:
            for paper in revision.working.papers:
                if paper.digest not in known:
                    known.add(paper.digest)
                    stored = {"digest": paper.digest, "document": paper.document.decode()}
                    yield orjson.dumps({"paper": stored})
        yield orjson.dumps({"quote": _quote(record)})


def paper_of(line: bytes) -> tuple[str, bytes]:
    """Return the digest and the document of a paper's line."""
    stored = orjson.loads(line)["paper"]
    return stored["digest"], stored["document"].encode()


def quote_of(line: bytes, papers: Mapping[str, bytes]) -> WholeQuote:
    """Return the quote in a line, with its papers from among those of its batch."""
    stored = orjson.loads(line)["quote"]
    stored.pop("number")
    revisions = tuple(_revision_of(each, papers) for each in stored.pop("revisions"))
    promised = stored.pop("promised")
    head = QuoteHead(
        customer=stored.pop("customer").encode(),
        created_at=datetime.fromisoformat(stored.pop("created_at")),
        updated_at=datetime.fromisoformat(stored.pop("updated_at")),
        valid_until=date.fromisoformat(stored.pop("valid_until")),
        promised=None if promised is None else date.fromisoformat(promised),
        **stored,
    )
    return WholeQuote(head, revisions)


def event_of(line: bytes) -> StoredEvent:
    """Return the event in a line."""
    stored = orjson.loads(line)["event"]
    place = EventPlace(stored.pop("turn"), stored.pop("id"))
    at = datetime.fromisoformat(stored.pop("at"))
    before, after = (_bytes(stored.pop(name)) for name in ("before", "after"))
    return StoredEvent(place, NewEvent(at=at, before=before, after=after, **stored))


def nameless(line: bytes) -> bytes:
    """Return a quote's line without its customer, as the next version, as in the database."""
    quote = orjson.loads(line)["quote"]
    quote["customer"] = NOBODY.decode()
    quote["version"] += 1
    for revision in quote["revisions"]:
        revision["request"] = without_customer(revision["request"].encode()).decode()
    return orjson.dumps({"quote": quote})


def _quote(quote: WholeQuote) -> dict[str, Any]:
    head = quote.head
    return {
        "customer": head.customer.decode(),
        "id": head.id,
        "shop_id": head.shop_id,
        "serial": head.serial,
        "number": head.number,
        "version": head.version,
        "status": head.status,
        "revision": head.revision,
        "offered_from": head.offered_from,
        "reference": head.reference,
        "reason": head.reason,
        "currency": head.currency,
        "total_minor": head.total_minor,
        "deposit_minor": head.deposit_minor,
        "created_at": head.created_at.isoformat(),
        "updated_at": head.updated_at.isoformat(),
        "created_by": head.created_by,
        "valid_until": head.valid_until.isoformat(),
        "promised": None if head.promised is None else head.promised.isoformat(),
        "revisions": [_revision(revision) for revision in quote.revisions],
    }


def _revision(revision: WholeRevision) -> dict[str, Any]:
    working = revision.working
    return {
        "number": revision.number,
        "created_at": revision.created_at.isoformat(),
        "choice": revision.choice,
        "request": working.request.decode(),
        "result": working.result.decode(),
        "costs": working.costs.decode(),
        "figures": None if working.figures is None else working.figures.decode(),
        "papers": [[paper.kind, paper.digest] for paper in working.papers],
    }


def _revision_of(stored: dict[str, Any], papers: Mapping[str, bytes]) -> WholeRevision:
    own = tuple(Paper(kind, digest, papers[digest]) for kind, digest in stored["papers"])
    request, result, costs = (stored[name].encode() for name in ("request", "result", "costs"))
    made = datetime.fromisoformat(stored["created_at"])
    figures = _bytes(stored.get("figures"))  # files of releases before have none
    working = Revision(request, result, own, costs, figures)
    return WholeRevision(stored["number"], made, stored["choice"], working)


def _event(stored: StoredEvent) -> dict[str, Any]:
    event = stored.event
    return {
        "id": stored.place.id,
        "turn": stored.place.turn,
        "shop_id": event.shop_id,
        "key_id": event.key_id,
        "at": event.at.isoformat(),
        "kind": event.kind,
        "subject": event.subject,
        "subject_id": event.subject_id,
        "before": None if event.before is None else event.before.decode(),
        "after": None if event.after is None else event.after.decode(),
    }


def _bytes(text: str | None) -> bytes | None:
    return None if text is None else text.encode()
