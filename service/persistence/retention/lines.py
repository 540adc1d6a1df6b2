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
                    said = {"digest": paper.digest, "document": paper.document.decode()}
                    yield orjson.dumps({"paper": said})
        yield orjson.dumps({"quote": _quote(record)})


def paper_of(line: bytes) -> tuple[str, bytes]:
    """Return the digest and the document of a paper's line."""
    said = orjson.loads(line)["paper"]
    return said["digest"], said["document"].encode()


def quote_of(line: bytes, papers: Mapping[str, bytes]) -> WholeQuote:
    """Return the quote in a line, with its papers from among those of its batch."""
    said = orjson.loads(line)["quote"]
    said.pop("number")
    revisions = tuple(_revision_of(each, papers) for each in said.pop("revisions"))
    promised = said.pop("promised")
    head = QuoteHead(
        customer=said.pop("customer").encode(),
        created_at=datetime.fromisoformat(said.pop("created_at")),
        updated_at=datetime.fromisoformat(said.pop("updated_at")),
        valid_until=date.fromisoformat(said.pop("valid_until")),
        promised=None if promised is None else date.fromisoformat(promised),
        **said,
    )
    return WholeQuote(head, revisions)


def event_of(line: bytes) -> StoredEvent:
    """Return the event in a line."""
    said = orjson.loads(line)["event"]
    place = EventPlace(said.pop("turn"), said.pop("id"))
    at = datetime.fromisoformat(said.pop("at"))
    before, after = (_bytes(said.pop(name)) for name in ("before", "after"))
    return StoredEvent(place, NewEvent(at=at, before=before, after=after, **said))


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


def _revision_of(said: dict[str, Any], papers: Mapping[str, bytes]) -> WholeRevision:
    own = tuple(Paper(kind, digest, papers[digest]) for kind, digest in said["papers"])
    request, result, costs = (said[name].encode() for name in ("request", "result", "costs"))
    made = datetime.fromisoformat(said["created_at"])
    figures = _bytes(said.get("figures"))  # files of releases before have none
    working = Revision(request, result, own, costs, figures)
    return WholeRevision(said["number"], made, said["choice"], working)


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
