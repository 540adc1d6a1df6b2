"""Erasing what has expired or must be forgotten; reading whole quotes for the archive."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Table, and_, delete, exists, func, select, tuple_, update

from schemas.events.records import StoredEvent
from schemas.quotes.records import Paper
from service.domain.quotes.life import DECLINED, OPEN, WITHDRAWN
from service.persistence.events.feed import stored_event
from service.persistence.events.tables import events
from service.persistence.events.webhooks import webhook_endpoints as ends
from service.persistence.keys.idempotency import idempotent_requests as answers
from service.persistence.keys.keyring import api_keys
from service.persistence.payments import payments
from service.persistence.quotes import (
    SqlPapers,
    SqlQuotes,
    head_of,
    quote_revisions,
    quotes,
    revision_of,
)
from service.persistence.reports.facts import sales
from service.persistence.retention.customers import is_address_of, without_customer
from service.persistence.retention.records import QuoteSeen, WholeQuote, WholeRevision
from service.persistence.sql.session import Session
from service.persistence.tickets import cut_tickets

UNSOLD = (*OPEN, DECLINED, WITHDRAWN)
ONE_DAY = timedelta(days=1)
NOBODY = b"{}"
"""The customer document of a quote that names none."""
_PLACE = (answers.c.key_id, answers.c.name)


class SqlRetention:
    """The SQL implementation of the `Retention` port."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._connection = session.connection

    def unsold(
        self, shop_id: str, before: datetime, now: datetime, most: int
    ) -> tuple[QuoteSeen, ...]:
        """Return quotes that were never accepted and are unchanged since then.

        A quote that could still be accepted stays, by the shop's own calendar day too.

        A quote that was ever accepted has tickets and a sale, even if it was withdrawn later; it
        stays, and so does one on which anything was paid.
        """
        old = select(quotes.c.id, quotes.c.version).where(
            quotes.c.shop_id == shop_id,
            quotes.c.updated_at < before,
            quotes.c.status.in_(UNSOLD),
            quotes.c.status.not_in(OPEN) | (quotes.c.valid_until < now.date() - ONE_DAY),
            ~exists().where(cut_tickets.c.quote_id == quotes.c.id),
            ~exists().where(sales.c.quote_id == quotes.c.id),
            ~exists().where(payments.c.quote_id == quotes.c.id),
        )
        rows = self._connection.execute(old.order_by(quotes.c.updated_at).limit(most))
        return tuple(QuoteSeen(row.id, row.version) for row in rows)

    def whole(self, shop_id: str, seen: Sequence[QuoteSeen]) -> Iterator[WholeQuote]:
        """Yield these quotes with all their revisions, fetched in batches."""
        return whole_quotes(self._session, shop_id, [quote.id for quote in seen])

    def drop_quotes(self, shop_id: str, seen: Sequence[QuoteSeen]) -> int:
        """Erase those of these quotes that are unchanged since, and return their number.

        Their revisions are erased too. Every change of a quote, including its acceptance, increases
        its version; and nobody can change a quote that is locked here.
        """
        unchanged = select(quotes.c.id).where(
            quotes.c.shop_id == shop_id,
            tuple_(quotes.c.id, quotes.c.version).in_([tuple(quote) for quote in seen]),
        )
        ids = self._some(unchanged.order_by(quotes.c.id).with_for_update())
        self._drop(quote_revisions, quote_revisions.c.quote_id, ids)
        return self._drop(quotes, quotes.c.id, ids)

    def events(self, shop_id: str, before: datetime, most: int) -> tuple[StoredEvent, ...]:
        """Return events older than `before` that every active webhook has read, oldest first."""
        c = events.c
        oldest = select(events).where(c.shop_id == shop_id).order_by(c.turn, c.id)
        waits = ends.c.shop_id == shop_id, ends.c.state != "gone"
        read_to = select(ends.c.turn, ends.c.event_id).where(*waits)
        places = [tuple(row) for row in self._connection.execute(read_to)]
        found = []
        for row in self._connection.execute(oldest.limit(most)):
            if row.at >= before or any((row.turn, row.id) > place for place in places):
                break
            found.append(stored_event(row))
        return tuple(found)

    def drop_events(self, shop_id: str, ids: Sequence[int]) -> int:
        """Erase these events and return their number."""
        return self._drop(events, events.c.id, ids, events.c.shop_id == shop_id)

    def answers(self, before: datetime, most: int) -> int:
        """Erase up to `most` answers, of all shops, that expired by then; return their number."""
        old = select(*_PLACE).where(answers.c.expires_at <= before).limit(most)
        gone = delete(answers).where(tuple_(*_PLACE).in_(old))
        return self._connection.execute(gone).rowcount

    def keys(self, shop_id: str, before: datetime, most: int) -> int:
        """Erase keys that were out of force by then, and return their number.

        Events still name them.
        """
        c = api_keys.c
        over = (c.revoked_at < before) | (c.expires_at < before)
        old = select(c.id).where(c.shop_id == shop_id, over).order_by(c.created_at, c.id)
        ids = self._some(old.limit(most))
        self._drop(answers, answers.c.key_id, ids)
        return self._drop(api_keys, c.id, ids)

    def customers(self, shop_id: str, sold_before: datetime, most: int) -> tuple[str, ...]:
        """Return the ids of quotes unchanged since then that still name a customer."""
        named = select(quotes.c.id).where(
            quotes.c.shop_id == shop_id,
            quotes.c.updated_at < sold_before,
            quotes.c.customer != NOBODY,
        )
        return tuple(self._some(named.order_by(quotes.c.updated_at).limit(most)))

    def of_customer(self, shop_id: str, email: str) -> tuple[str, ...]:
        """Return the ids of all quotes of a customer with this address, ignoring case."""
        wanted = email.strip().lower()
        near = select(quotes.c.id, quotes.c.customer).where(
            quotes.c.shop_id == shop_id,
            func.lower(quotes.c.customer).contains(wanted, autoescape=True),
        )
        rows = self._connection.execute(near)
        return tuple(row.id for row in rows if is_address_of(row.customer, wanted))

    def forget_customer(self, shop_id: str, quote_ids: Iterable[str]) -> int:
        """Remove the customer from these quotes and their stored requests; return their number.

        In the same order as quotes are dropped, so that there is no deadlock.
        """
        count = 0
        for quote_id in sorted(quote_ids):
            mine = quotes.c.shop_id == shop_id, quotes.c.id == quote_id
            values = {"customer": NOBODY, "version": quotes.c.version + 1}
            count += self._connection.execute(update(quotes).where(*mine).values(values)).rowcount
            self._forget_sent(quote_id)
            SqlQuotes(self._session).find_by_words(quote_id)
            taken = update(cut_tickets).where(cut_tickets.c.quote_id == quote_id)
            self._connection.execute(taken.values(collected_by=""))
        return count

    def forget_answers(self, shop_id: str, email: str) -> int:
        """Erase stored answers to idempotent requests that contain this address.

        Return their number.
        """
        keys = select(api_keys.c.id).where(api_keys.c.shop_id == shop_id)
        named = func.lower(answers.c.body).contains(email.strip().lower(), autoescape=True)
        gone = delete(answers).where(and_(answers.c.key_id.in_(keys), named))
        return self._connection.execute(gone).rowcount

    def _forget_sent(self, quote_id: str) -> None:
        c = quote_revisions.c
        rows = self._connection.execute(select(c.revision, c.request).where(c.quote_id == quote_id))
        for row in rows.all():
            sent = without_customer(row.request)
            if sent != row.request:
                mine = c.quote_id == quote_id, c.revision == row.revision
                change = update(quote_revisions).where(*mine).values(request=sent)
                self._connection.execute(change)

    def _some(self, ids: Any) -> list[str]:
        return list(self._connection.execute(ids).scalars())

    def _drop(
        self, table: Table, column: Any, ids: Sequence[Any], *more: ColumnElement[bool]
    ) -> int:
        if not ids:
            return 0
        return self._connection.execute(delete(table).where(column.in_(ids), *more)).rowcount


_AT_A_TIME = 50
"""The number of quotes fetched together."""


def whole_quotes(session: Session, shop_id: str, ids: Sequence[str]) -> Iterator[WholeQuote]:
    """Yield a shop's quotes of these ids, in their order; missing ones are skipped."""
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
    return WholeRevision(row.revision, row.created_at, row.choice, revision_of(row, papers))
