"""Forgetting what is old or asked to be forgotten, over SQL."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

import orjson
from sqlalchemy import Table, and_, delete, exists, func, select, tuple_, update

from service.domain.quote import DECLINED, OPEN, WITHDRAWN
from service.persistence.session import Session
from service.persistence.tables import api_keys, quote_revisions, quotes
from service.persistence.tables_events import events
from service.persistence.tables_idempotency import idempotent_requests as answers
from service.persistence.tables_reports import sales
from service.persistence.tables_tickets import cut_tickets
from service.persistence.tables_webhooks import webhook_endpoints as ends

UNSOLD = (*OPEN, DECLINED, WITHDRAWN)
ONE_DAY = timedelta(days=1)
_NOBODY = b"{}"
_PLACE = (answers.c.key_id, answers.c.name)


class SqlRetention:
    """The port `Retention` over SQL."""

    def __init__(self, session: Session) -> None:
        self._connection = session.connection

    def unsold(self, shop_id: str, before: datetime, now: datetime, most: int) -> int:
        """Quotes that were never accepted, unchanged since then, with all their revisions.

        One that could still be accepted stays; so does one that may be by the shop's own day.

        One that was accepted has tickets and a sale, also where it was withdrawn later; it stays.
        """
        old = select(quotes.c.id).where(
            quotes.c.shop_id == shop_id,
            quotes.c.updated_at < before,
            quotes.c.status.in_(UNSOLD),
            quotes.c.status.not_in(OPEN) | (quotes.c.valid_until < now.date() - ONE_DAY),
            ~exists().where(cut_tickets.c.quote_id == quotes.c.id),
            ~exists().where(sales.c.quote_id == quotes.c.id),
        )
        ids = self._some(old.order_by(quotes.c.updated_at).limit(most))
        self._drop(quote_revisions, quote_revisions.c.quote_id, ids)
        return self._drop(quotes, quotes.c.id, ids)

    def events(self, shop_id: str, before: datetime, most: int) -> int:
        """Events older than that which every active webhook has read, the oldest first."""
        c = events.c
        oldest = select(c.id, c.turn, c.at).where(c.shop_id == shop_id).order_by(c.turn, c.id)
        waits = ends.c.shop_id == shop_id, ends.c.state != "gone"
        read_to = select(ends.c.turn, ends.c.event_id).where(*waits)
        places = [tuple(row) for row in self._connection.execute(read_to)]
        ids = []
        for row in self._connection.execute(oldest.limit(most)):
            if row.at >= before or any((row.turn, row.id) > place for place in places):
                break
            ids.append(row.id)
        return self._drop(events, c.id, ids)

    def answers(self, before: datetime, most: int) -> int:
        """Answers kept for requests sent again that expired by then, of all shops."""
        old = select(*_PLACE).where(answers.c.expires_at <= before).limit(most)
        gone = delete(answers).where(tuple_(*_PLACE).in_(old))
        return self._connection.execute(gone).rowcount

    def keys(self, shop_id: str, before: datetime, most: int) -> int:
        """Keys that were out of force by then; the events still name them."""
        c = api_keys.c
        over = (c.revoked_at < before) | (c.expires_at < before)
        old = select(c.id).where(c.shop_id == shop_id, over).order_by(c.created_at, c.id)
        ids = self._some(old.limit(most))
        self._drop(answers, answers.c.key_id, ids)
        return self._drop(api_keys, c.id, ids)

    def customers(self, shop_id: str, sold_before: datetime, most: int) -> tuple[str, ...]:
        """The ids of quotes unchanged since then that name a customer still."""
        named = select(quotes.c.id).where(
            quotes.c.shop_id == shop_id,
            quotes.c.updated_at < sold_before,
            quotes.c.customer != _NOBODY,
        )
        return tuple(self._some(named.order_by(quotes.c.updated_at).limit(most)))

    def of_customer(self, shop_id: str, email: str) -> tuple[str, ...]:
        """The ids of all quotes of a customer with this address, in any spelling of case."""
        wanted = email.strip().lower()
        near = select(quotes.c.id, quotes.c.customer).where(
            quotes.c.shop_id == shop_id,
            func.lower(quotes.c.customer).contains(wanted, autoescape=True),
        )
        rows = self._connection.execute(near)
        return tuple(
            row.id for row in rows if json.loads(row.customer).get("email", "").lower() == wanted
        )

    def forget_customer(self, shop_id: str, quote_ids: Iterable[str]) -> int:
        """Take the customer out of these quotes, and out of what was sent for them."""
        count = 0
        for quote_id in quote_ids:
            mine = quotes.c.shop_id == shop_id, quotes.c.id == quote_id
            values = {"customer": _NOBODY, "version": quotes.c.version + 1}
            count += self._connection.execute(update(quotes).where(*mine).values(values)).rowcount
            self._forget_sent(quote_id)
        return count

    def forget_answers(self, shop_id: str, email: str) -> int:
        """Forget answers that are kept for requests sent again and have this address in them."""
        keys = select(api_keys.c.id).where(api_keys.c.shop_id == shop_id)
        said = func.lower(answers.c.body).contains(email.strip().lower(), autoescape=True)
        gone = delete(answers).where(and_(answers.c.key_id.in_(keys), said))
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

    def _drop(self, table: Table, column: Any, ids: list[Any]) -> int:
        if not ids:
            return 0
        return self._connection.execute(delete(table).where(column.in_(ids))).rowcount


def without_customer(sent: bytes) -> bytes:
    """A document as it was sent, without its customer; every number as it was written.

    >>> without_customer(b'{"customer": {"name": "M. Okafor"}, "jobs": [{"n": 16.37500}]}')
    b'{"jobs":[{"n":16.37500}]}'
    """
    document = json.loads(sent, parse_float=_as_written, parse_int=_as_written)
    if not isinstance(document, dict) or "customer" not in document:
        return sent
    del document["customer"]
    return orjson.dumps(document)


def _as_written(number: str) -> orjson.Fragment:
    return orjson.Fragment(number)
