"""Stored webhook endpoints, messages and delivery attempts."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ColumnElement,
    ForeignKey,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
    and_,
    delete,
    insert,
    or_,
    select,
    update,
)

from schemas.events.records import Attempt, Endpoint, EventPlace, Message, MessageState
from service.persistence.sql.metadata import ID, WORDS, metadata
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Document, Instant, Written

webhook_endpoints = Table(
    "webhook_endpoints",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("url", Text, nullable=False),
    Column("kinds", Written(WORDS), nullable=False),
    Column("description", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("generation", Integer, nullable=False),
    Column("former_until", Instant, nullable=True),
    Column("turn", BigInteger, nullable=False),
    Column("event_id", BigInteger, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("version", BigInteger, nullable=False),
    CheckConstraint("state IN ('active', 'paused', 'gone')", name="state"),
    Index(None, "shop_id", "created_at"),
)

webhook_messages = Table(
    "webhook_messages",
    metadata,
    Column("id", ID, primary_key=True),
    Column("endpoint_id", ID, ForeignKey("webhook_endpoints.id"), nullable=False),
    Column("event_id", BigInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Document, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("state", Text, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("retries", Integer, nullable=False),
    Column("due_at", Instant, nullable=True),
    Column("delivered_at", Instant, nullable=True),
    UniqueConstraint("endpoint_id", "event_id"),
    CheckConstraint("state IN ('pending', 'delivered', 'failed')", name="state"),
    Index(None, "endpoint_id", "state", "due_at"),
    Index(None, "endpoint_id", "id"),
    Index(None, "created_at"),
)

webhook_attempts = Table(
    "webhook_attempts",
    metadata,
    Column("message_id", ID, ForeignKey("webhook_messages.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", Instant, nullable=False),
    Column("status", Integer, nullable=True),
    Column("error", Text, nullable=False),
    Column("milliseconds", Integer, nullable=False),
)


_CHANGES = ("url", "description", "state", "generation", "former_until")
_MESSAGE = tuple(column.name for column in webhook_messages.c)
_ATTEMPT = ("number", "at", "status", "error", "milliseconds")


class SqlWebhooks:
    """The SQL implementation of the `Webhooks` port."""

    def __init__(self, session: Session) -> None:
        self._connection = session.connection

    def add(self, endpoint: Endpoint) -> None:
        """Store a new endpoint."""
        self._connection.execute(insert(webhook_endpoints), _row(endpoint))

    def save(self, endpoint: Endpoint) -> bool:
        """Store a changed endpoint as its next version; return False if changed meanwhile."""
        mine = update(webhook_endpoints).where(
            _is(endpoint), webhook_endpoints.c.version == endpoint.version
        )
        values = {name: getattr(endpoint, name) for name in _CHANGES}
        values |= {"kinds": tuple(sorted(endpoint.kinds)), "version": endpoint.version + 1}
        return self._connection.execute(mine.values(values)).rowcount == 1

    def remove(self, shop_id: str, endpoint_id: str) -> None:
        """Delete an endpoint with its messages.

        Raises:
            NotFound: the shop has no such endpoint.
        """
        mine = select(webhook_endpoints.c.id).where(
            webhook_endpoints.c.shop_id == shop_id, webhook_endpoints.c.id == endpoint_id
        )
        theirs = select(webhook_messages.c.id).where(webhook_messages.c.endpoint_id == endpoint_id)
        # Wait for a worker that is queueing or recording, so that nothing of it is left.
        found(self._connection.execute(mine.with_for_update()).one_or_none(), "such webhook")
        self._connection.execute(theirs.with_for_update())
        self._connection.execute(
            delete(webhook_attempts).where(webhook_attempts.c.message_id.in_(theirs))
        )
        self._connection.execute(
            delete(webhook_messages).where(webhook_messages.c.endpoint_id == endpoint_id)
        )
        self._connection.execute(
            delete(webhook_endpoints).where(webhook_endpoints.c.id == endpoint_id)
        )

    def by_id(self, shop_id: str, endpoint_id: str) -> Endpoint:
        """Return the endpoint with this id.

        Raises:
            NotFound: the shop has none.
        """
        statement = select(webhook_endpoints).where(
            webhook_endpoints.c.shop_id == shop_id, webhook_endpoints.c.id == endpoint_id
        )
        return _endpoint(found(self._connection.execute(statement).one_or_none(), "such webhook"))

    def of_shop(self, shop_id: str) -> tuple[Endpoint, ...]:
        """Return all endpoints of a shop, oldest first."""
        return self._endpoints(webhook_endpoints.c.shop_id == shop_id)

    def active(self) -> tuple[Endpoint, ...]:
        """Return the active endpoints of all shops."""
        return self._endpoints(webhook_endpoints.c.state == "active")

    def advance(self, endpoint: Endpoint, place: EventPlace) -> bool:
        """Store that the feed is read up to `place`; return False if another has read further."""
        old = endpoint.place
        mine = and_(
            webhook_endpoints.c.id == endpoint.id,
            webhook_endpoints.c.turn == old.turn,
            webhook_endpoints.c.event_id == old.id,
        )
        values = {"turn": place.turn, "event_id": place.id}
        return (
            self._connection.execute(update(webhook_endpoints).where(mine).values(values)).rowcount
            == 1
        )

    def shut(self, endpoint: Endpoint) -> None:
        """Deactivate an endpoint that says it is gone."""
        values = {"state": "gone", "version": webhook_endpoints.c.version + 1}
        mine = update(webhook_endpoints).where(_is(endpoint), webhook_endpoints.c.state == "active")
        self._connection.execute(mine.values(values))

    def queue(self, message: Message) -> None:
        """Store a message for delivery."""
        self._connection.execute(insert(webhook_messages), _values(message))

    def take_due(
        self, endpoint_id: str, now: datetime, until: datetime, most: int
    ) -> tuple[Message, ...]:
        """Return due messages, oldest first. No other worker takes them before `until`."""
        due = select(webhook_messages).where(
            webhook_messages.c.endpoint_id == endpoint_id,
            webhook_messages.c.state == "pending",
            webhook_messages.c.due_at <= now,
        )
        due = (
            due.order_by(webhook_messages.c.due_at, webhook_messages.c.id)
            .limit(most)
            .with_for_update(skip_locked=True)
        )
        messages = tuple(_message(row) for row in self._connection.execute(due))
        if messages:
            mine = webhook_messages.c.id.in_([message.id for message in messages])
            self._connection.execute(update(webhook_messages).where(mine).values(due_at=until))
        return messages

    def record(self, message: Message, attempt: Attempt) -> None:
        """Store an attempt and the new state of its message."""
        values = {name: getattr(attempt, name) for name in _ATTEMPT}
        changed = ("state", "attempts", "retries", "due_at", "delivered_at")
        now = {name: getattr(message, name) for name in changed}
        mine = and_(
            webhook_messages.c.id == message.id, webhook_messages.c.attempts == message.attempts - 1
        )
        done = self._connection.execute(update(webhook_messages).where(mine).values(now))
        if done.rowcount == 1:  # else the endpoint was removed, or another was quicker
            self._connection.execute(insert(webhook_attempts), {"message_id": message.id, **values})

    def message(self, endpoint_id: str, message_id: str) -> Message:
        """Return the message with this id.

        Raises:
            NotFound: the endpoint has none.
        """
        statement = select(webhook_messages).where(
            webhook_messages.c.endpoint_id == endpoint_id, webhook_messages.c.id == message_id
        )
        return _message(found(self._connection.execute(statement).one_or_none(), "such message"))

    def attempts(self, message_id: str) -> tuple[Attempt, ...]:
        """Return the delivery attempts of a message, in order."""
        statement = (
            select(webhook_attempts)
            .where(webhook_attempts.c.message_id == message_id)
            .order_by(webhook_attempts.c.number)
        )
        rows = self._connection.execute(statement)
        return tuple(Attempt(**{name: getattr(row, name) for name in _ATTEMPT}) for row in rows)

    def messages(
        self, endpoint_id: str, state: MessageState | None, limit: int, before: str | None
    ) -> tuple[Message, ...]:
        """Return an endpoint's messages with ids below `before`, newest first."""
        statement = select(webhook_messages).where(webhook_messages.c.endpoint_id == endpoint_id)
        if state is not None:
            statement = statement.where(webhook_messages.c.state == state)
        if before is not None:
            statement = statement.where(webhook_messages.c.id < before)
        rows = self._connection.execute(
            statement.order_by(webhook_messages.c.id.desc()).limit(limit)
        )
        return tuple(_message(row) for row in rows)

    def again(self, endpoint_id: str, message_id: str, now: datetime, held: datetime) -> bool:
        """Have a message delivered again, whatever its state.

        Args:
            endpoint_id: its endpoint.
            message_id: its id.
            now: the current time.
            held: a pending message due before this may be in flight and is left alone.

        Returns:
            True if it will be delivered again.
        """
        mine = and_(
            webhook_messages.c.endpoint_id == endpoint_id, webhook_messages.c.id == message_id
        )
        free = or_(webhook_messages.c.state != "pending", webhook_messages.c.due_at > held)
        return self._resend(and_(mine, free), now) == 1

    def failed_again(self, endpoint_id: str, since: datetime, now: datetime) -> int:
        """Have every message that failed since then delivered again, and return their number."""
        mine = and_(
            webhook_messages.c.endpoint_id == endpoint_id, webhook_messages.c.created_at >= since
        )
        return self._resend(and_(mine, webhook_messages.c.state == "failed"), now)

    def forget(self, before: datetime, most: int) -> int:
        """Delete up to `most` old messages that are not pending, and return their number."""
        old = select(webhook_messages.c.id).where(
            webhook_messages.c.created_at < before, webhook_messages.c.state != "pending"
        )
        old = (
            old.order_by(webhook_messages.c.created_at)
            .limit(most)
            .with_for_update(skip_locked=True)
        )
        ids = self._connection.execute(old).scalars().all()
        if ids:
            self._connection.execute(
                delete(webhook_attempts).where(webhook_attempts.c.message_id.in_(ids))
            )
            self._connection.execute(delete(webhook_messages).where(webhook_messages.c.id.in_(ids)))
        return len(ids)

    def _resend(self, which: ColumnElement[bool], now: datetime) -> int:
        values = {"state": "pending", "retries": 0, "due_at": now, "delivered_at": None}
        return self._connection.execute(
            update(webhook_messages).where(which).values(values)
        ).rowcount

    def _endpoints(self, which: ColumnElement[bool]) -> tuple[Endpoint, ...]:
        statement = (
            select(webhook_endpoints)
            .where(which)
            .order_by(webhook_endpoints.c.created_at, webhook_endpoints.c.id)
        )
        return tuple(_endpoint(row) for row in self._connection.execute(statement))


def _is(endpoint: Endpoint) -> ColumnElement[bool]:
    return and_(
        webhook_endpoints.c.shop_id == endpoint.shop_id, webhook_endpoints.c.id == endpoint.id
    )


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
