"""Quotes read whole, as they leave the database: head, every revision, every paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import select

from schemas.quotes.records import Paper, Revision
from service.persistence.papers import SqlPapers
from service.persistence.quotes import head_of
from service.persistence.retention.records import WholeQuote, WholeRevision
from service.persistence.sql.metadata import quote_revisions, quotes
from service.persistence.sql.session import Session

_AT_A_TIME = 50
"""So many quotes are read together."""


def whole_quotes(session: Session, shop_id: str, ids: Sequence[str]) -> Iterator[WholeQuote]:
    """A shop's quotes of these ids, in their order; whatever is not there is passed over."""
    for start in range(0, len(ids), _AT_A_TIME):
        yield from _some(session, shop_id, ids[start : start + _AT_A_TIME])


def _some(session: Session, shop_id: str, ids: Sequence[str]) -> Iterator[WholeQuote]:
    mine = select(quotes).where(quotes.c.shop_id == shop_id, quotes.c.id.in_(ids))
    heads = {row.id: head_of(row) for row in session.connection.execute(mine)}
    c = quote_revisions.c
    theirs = select(quote_revisions).where(c.quote_id.in_(list(heads)))
    rows = session.connection.execute(theirs.order_by(c.quote_id, c.revision)).all()
    papers = SqlPapers(session).found_all([row.papers for row in rows])
    revisions: dict[str, list[WholeRevision]] = {quote_id: [] for quote_id in heads}
    for row, own in zip(rows, papers, strict=True):
        revisions[row.quote_id].append(_revision(row, own))
    for quote_id in ids:
        if quote_id in heads:
            yield WholeQuote(heads[quote_id], tuple(revisions[quote_id]))


def _revision(row: Any, papers: tuple[Paper, ...]) -> WholeRevision:
    working = Revision(row.request, row.result, papers, row.costs)
    return WholeRevision(row.revision, row.created_at, row.choice, working)
