"""A stored quote's and a stored ticket's document, as printing gets them: read back from JSON."""

from __future__ import annotations

from typing import Any

from schemas.estimates.answer import estimate_document
from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain
from service.domain.estimates.calculation import estimate
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import JobSpec
from service.printing.tickets.rows import TicketHead
from tests.domain.bench_shop import basis
from tests.domain.tickets.shop_jobs import ticket

HEAD = TicketHead(number="Q000123-4", shop="Invented test shop", reference="W-1021", jobs=2)


def printed_ticket(asked: JobSpec, **more: object) -> dict[str, Any]:
    """A ticket's document; `more` replaces fields of it."""
    document: dict[str, Any] = plain(ticket_document(ticket(asked)))
    return {**document, **more}


def printed_quote(*asked: JobSpec, **more: object) -> dict[str, Any]:
    """A quote's document."""
    shop = basis()
    jobs = [assemble(spec, shop.shop, shop.catalogue) for spec in asked]
    document = plain(estimate_document(estimate(jobs, shop)))
    head = {
        "number": "Q000123-4",
        "status": "draft",
        "revision": 1,
        "reference": "W-1021",
        "customer": {"name": "M. Okafor"},
        "created_at": "2026-11-25T10:00:00Z",
        "valid_until": "2026-12-25",
    }
    return {**head, **document, **more}
