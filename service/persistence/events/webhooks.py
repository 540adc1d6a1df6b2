"""Webhooks over SQL.

Several workers may deliver at once: whoever takes a message puts its next attempt off in a short
transaction, and sends only after that. A worker that dies leaves the message to be taken again.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, and_, delete, insert, or_, select, update

from schemas.events.records import Attempt, Endpoint, Message, MessageState
from schemas.events.records_events import EventPlace
from service.persistence.events.tables_webhooks import webhook_attempts as tries
from service.persistence.events.tables_webhooks import webhook_endpoints as ends
from service.persistence.events.tables_webhooks import webhook_messages as mail
from service.persistence.sql.session import Session, found

_CHANGES = ("url", "description", "state", "generation", "former_until")
_MESSAGE = tuple(column.name for column in mail.c)
_ATTEMPT = ("number", "at", "status", "error", "milliseconds")


class SqlWebhooks:
    """The port `Webhooks` over SQL."""

    def __init__(self, session: Session) -> None:
        self._connection = session.connection

    def add(self, endpoint: Endpoint) -> None:
        """Store a new endpoint."""
        self._connection.execute(insert(ends), _row(endpoint))

    def save(self, endpoint: Endpoint) -> bool:
        """Store a changed one as its next version; False where it is another by now."""
        mine = update(ends).where(_is(endpoint), ends.c.version == endpoint.version)
        values = {name: getattr(endpoint, name) for name in _CHANGES}
        values |= {"kinds": tuple(sorted(endpoint.kinds)), "version": endpoint.version + 1}
        return self._connection.execute(mine.values(values)).rowcount == 1

    def remove(self, shop_id: str, endpoint_id: str) -> None:
        """Forget an endpoint with its messages.

        Raises:
            NotFound: the shop has none such.
        """
        mine = select(ends.c.id).where(ends.c.shop_id == shop_id, ends.c.id == endpoint_id)
        theirs = select(mail.c.id).where(mail.c.endpoint_id == endpoint_id)
        # A worker that queues or records just now is waited for, so that nothing of it is left.
        found(self._connection.execute(mine.with_for_update()).one_or_none(), "such webhook")
        self._connection.execute(theirs.with_for_update())
        self._connection.execute(delete(tries).where(tries.c.message_id.in_(theirs)))
        self._connection.execute(delete(mail).where(mail.c.endpoint_id == endpoint_id))
        self._connection.execute(delete(ends).where(ends.c.id == endpoint_id))

    def by_id(self, shop_id: str, endpoint_id: str) -> Endpoint:
        """The endpoint with this id.

        Raises:
            NotFound: the shop has none.
        """
        statement = select(ends).where(ends.c.shop_id == shop_id, ends.c.id == endpoint_id)
        return _endpoint(found(self._connection.execute(statement).one_or_none(), "such webhook"))

    def of_shop(self, shop_id: str) -> tuple[Endpoint, ...]:
        """All endpoints of a shop, oldest first."""
        return self._endpoints(ends.c.shop_id == shop_id)

    def active(self) -> tuple[Endpoint, ...]:
        """The active endpoints of all shops."""
        return self._endpoints(ends.c.state == "active")

    def advance(self, endpoint: Endpoint, place: EventPlace) -> bool:
        """Note that the feed is read up to `place`; False where another has read on already."""
        old = endpoint.place
        mine = and_(ends.c.id == endpoint.id, ends.c.turn == old.turn, ends.c.event_id == old.id)
        values = {"turn": place.turn, "event_id": place.id}
        return self._connection.execute(update(ends).where(mine).values(values)).rowcount == 1

    def shut(self, endpoint: Endpoint) -> None:
        """Send nothing more to an endpoint that says it is gone."""
        values = {"state": "gone", "version": ends.c.version + 1}
        mine = update(ends).where(_is(endpoint), ends.c.state == "active")
        self._connection.execute(mine.values(values))

    def queue(self, message: Message) -> None:
        """Store a message to be delivered."""
        self._connection.execute(insert(mail), _values(message))

    def take_due(
        self, endpoint_id: str, now: datetime, until: datetime, most: int
    ) -> tuple[Message, ...]:
        """Messages that are due, oldest first, held until `until` so that no other takes them."""
        due = select(mail).where(
            mail.c.endpoint_id == endpoint_id, mail.c.state == "pending", mail.c.due_at <= now
        )
        due = due.order_by(mail.c.due_at, mail.c.id).limit(most).with_for_update(skip_locked=True)
        messages = tuple(_message(row) for row in self._connection.execute(due))
        if messages:
            mine = mail.c.id.in_([message.id for message in messages])
            self._connection.execute(update(mail).where(mine).values(due_at=until))
        return messages

    def record(self, message: Message, attempt: Attempt) -> None:
        """Store an attempt, and its message as it is now."""
        values = {name: getattr(attempt, name) for name in _ATTEMPT}
        changed = ("state", "attempts", "retries", "due_at", "delivered_at")
        now = {name: getattr(message, name) for name in changed}
        mine = and_(mail.c.id == message.id, mail.c.attempts == message.attempts - 1)
        done = self._connection.execute(update(mail).where(mine).values(now))
        if done.rowcount == 1:  # else the endpoint was removed, or another was quicker
            self._connection.execute(insert(tries), {"message_id": message.id, **values})

    def message(self, endpoint_id: str, message_id: str) -> Message:
        """The message with this id.

        Raises:
            NotFound: the endpoint has none.
        """
        statement = select(mail).where(mail.c.endpoint_id == endpoint_id, mail.c.id == message_id)
        return _message(found(self._connection.execute(statement).one_or_none(), "such message"))

    def attempts(self, message_id: str) -> tuple[Attempt, ...]:
        """What was tried with a message, in order."""
        statement = select(tries).where(tries.c.message_id == message_id).order_by(tries.c.number)
        rows = self._connection.execute(statement)
        return tuple(Attempt(**{name: getattr(row, name) for name in _ATTEMPT}) for row in rows)

    def messages(
        self, endpoint_id: str, state: MessageState | None, limit: int, before: str | None
    ) -> tuple[Message, ...]:
        """An endpoint's messages, newest first, below the id `before`."""
        statement = select(mail).where(mail.c.endpoint_id == endpoint_id)
        if state is not None:
            statement = statement.where(mail.c.state == state)
        if before is not None:
            statement = statement.where(mail.c.id < before)
        rows = self._connection.execute(statement.order_by(mail.c.id.desc()).limit(limit))
        return tuple(_message(row) for row in rows)

    def again(self, endpoint_id: str, message_id: str, now: datetime, held: datetime) -> bool:
        """Have a message delivered anew, whatever came of it.

        Args:
            endpoint_id: its endpoint.
            message_id: which it is.
            now: the time.
            held: a pending one that is due before then may be on its way and is left alone.

        Returns:
            whether it is delivered anew.
        """
        mine = and_(mail.c.endpoint_id == endpoint_id, mail.c.id == message_id)
        free = or_(mail.c.state != "pending", mail.c.due_at > held)
        return self._resend(and_(mine, free), now) == 1

    def failed_again(self, endpoint_id: str, since: datetime, now: datetime) -> int:
        """Have every failed message since then delivered anew, and say how many it are."""
        mine = and_(mail.c.endpoint_id == endpoint_id, mail.c.created_at >= since)
        return self._resend(and_(mine, mail.c.state == "failed"), now)

    def forget(self, before: datetime, most: int) -> int:
        """Forget up to `most` messages older than that which are not pending."""
        old = select(mail.c.id).where(mail.c.created_at < before, mail.c.state != "pending")
        old = old.order_by(mail.c.created_at).limit(most).with_for_update(skip_locked=True)
        ids = self._connection.execute(old).scalars().all()
        if ids:
            self._connection.execute(delete(tries).where(tries.c.message_id.in_(ids)))
            self._connection.execute(delete(mail).where(mail.c.id.in_(ids)))
        return len(ids)

    def _resend(self, which: ColumnElement[bool], now: datetime) -> int:
        values = {"state": "pending", "retries": 0, "due_at": now, "delivered_at": None}
        return self._connection.execute(update(mail).where(which).values(values)).rowcount

    def _endpoints(self, which: ColumnElement[bool]) -> tuple[Endpoint, ...]:
        statement = select(ends).where(which).order_by(ends.c.created_at, ends.c.id)
        return tuple(_endpoint(row) for row in self._connection.execute(statement))


def _is(endpoint: Endpoint) -> ColumnElement[bool]:
    return and_(ends.c.shop_id == endpoint.shop_id, ends.c.id == endpoint.id)


def _row(endpoint: Endpoint) -> dict[str, Any]:
    names = ("id", "shop_id", "created_at", "version", *_CHANGES)
    row = {name: getattr(endpoint, name) for name in names}
    place = endpoint.place
    return {
        **row,
        "kinds": tuple(sorted(endpoint.kinds)),
        "turn": place.turn,
        "event_id": place.id,
    }


def _endpoint(row: Any) -> Endpoint:
    names = ("id", "shop_id", "created_at", "version", *_CHANGES)
    place = EventPlace(row.turn, row.event_id)
    return Endpoint(
        **{name: getattr(row, name) for name in names}, kinds=frozenset(row.kinds), place=place
    )


def _values(message: Message) -> dict[str, Any]:
    return {name: getattr(message, name) for name in _MESSAGE}


def _message(row: Any) -> Message:
    return Message(**{name: getattr(row, name) for name in _MESSAGE})
