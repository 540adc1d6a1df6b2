"""Requests with an Idempotency-Key: claimed in a short transaction, finished with their effect."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import (
    Column,
    ColumnElement,
    ForeignKey,
    Index,
    Integer,
    Select,
    String,
    Table,
    Text,
    and_,
    delete,
    func,
    or_,
    select,
    tuple_,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Document, Instant

_FIELDS = ("key_id", "name", "fingerprint", "claim", "claimed_at", "lapses_at", "expires_at")


idempotent_requests = Table(
    "idempotent_requests",
    metadata,
    Column("key_id", ID, ForeignKey("api_keys.id"), primary_key=True),
    Column("name", Text, primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("claim", String(64), nullable=False),
    Column("claimed_at", Instant, nullable=False),
    Column("lapses_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False),
    Column("status", Integer, nullable=True),
    Column("headers", Document, nullable=True),
    Column("body", Document, nullable=True),
    Index(None, "expires_at"),
)


_PLACE = (idempotent_requests.c.key_id, idempotent_requests.c.name)


class SqlOnceRequests:
    """The SQL implementation of the `OnceRequests` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def claim(self, request: OnceRequest) -> bool:
        """Store a new request; return False if this key already has one of that name."""
        connection = self._session.connection
        dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
        statement = dialect.insert(idempotent_requests).values(_row(request))
        statement = statement.on_conflict_do_nothing(index_elements=list(_PLACE))
        done = connection.execute(statement.returning(idempotent_requests.c.claim)).scalar()
        return done is not None

    def take_over(self, request: OnceRequest, there: OnceRequest) -> bool:
        """Replace `there`, the request that was found, with `request`.

        Return False if it was replaced, finished or kept alive meanwhile.
        """
        values = {**_row(request), "status": None, "headers": None, "body": None}
        running = and_(
            idempotent_requests.c.status.is_(None),
            idempotent_requests.c.lapses_at == there.lapses_at,
        )
        expired = idempotent_requests.c.expires_at <= request.claimed_at
        return self._change(and_(_held(request, there.claim), or_(running, expired)), values)

    def beat(self, claims: Collection[Claim], lapses_at: datetime) -> None:
        """Extend the time after which these requests lapse, for those still in progress."""
        place = tuple_(*_PLACE, idempotent_requests.c.claim)
        held = and_(place.in_(sorted(map(tuple, claims))), idempotent_requests.c.status.is_(None))
        self._change(held, {"lapses_at": lapses_at})

    def find(self, key_id: str, name: str) -> OnceRequest:
        """Return this key's request of that name.

        Raises:
            NotFound: there is none.
        """
        return self._found(select(idempotent_requests), key_id, name)

    def settle(self, key_id: str, name: str) -> OnceRequest:
        """Return this key's request of that name, once nobody is changing it.

        Raises:
            NotFound: there is none.
        """
        return self._found(select(idempotent_requests).with_for_update(), key_id, name)

    def finish(self, request: OnceRequest, answer: KeptAnswer) -> bool:
        """Store the answer; return False if the request is no longer held by its claim."""
        values = {"status": answer.status, "headers": answer.headers, "body": answer.body}
        return self._change(
            and_(_held(request, request.claim), idempotent_requests.c.status.is_(None)), values
        )

    def release(self, request: OnceRequest) -> None:
        """Delete a request that came to nothing, unless another holds it or it is done."""
        mine = and_(_held(request, request.claim), idempotent_requests.c.status.is_(None))
        self._session.connection.execute(delete(idempotent_requests).where(mine))

    def forget(self, before: datetime, most: int) -> int:
        """Delete up to `most` requests that expired by `before`, and return their number.

        Rows that another transaction is deleting are skipped, so that two never wait for each
        other.
        """
        old = select(*_PLACE).where(idempotent_requests.c.expires_at <= before).limit(most)
        return self._remove(old)

    def forget_beyond(self, key_id: str, kept: int, most: int) -> int:
        """Delete up to `most` of a key's oldest finished requests beyond `kept`.

        Return their number.
        """
        connection = self._session.connection
        mine = select(*_PLACE).where(idempotent_requests.c.key_id == key_id)
        counted = select(func.count()).select_from(mine.limit(kept + most).subquery())
        beyond = connection.execute(counted).scalar_one() - kept
        if beyond <= 0:
            return 0
        done = mine.where(idempotent_requests.c.status.is_not(None)).order_by(
            idempotent_requests.c.claimed_at
        )
        return self._remove(done.limit(beyond))

    def _found(self, statement: Select[Any], key_id: str, name: str) -> OnceRequest:
        statement = statement.where(
            idempotent_requests.c.key_id == key_id, idempotent_requests.c.name == name
        )
        row = found(self._session.connection.execute(statement).one_or_none(), "such request")
        return _request(row)

    def _remove(self, which: Select[tuple[str, str]]) -> int:
        """Delete the selected rows that no other transaction is deleting.

        They are selected first: a subquery inside DELETE may be evaluated again for each row in
        PostgreSQL, and would then delete more than asked for.
        """
        connection = self._session.connection
        rows = connection.execute(which.with_for_update(skip_locked=True)).all()
        places = [tuple(row) for row in rows]
        if places:
            connection.execute(delete(idempotent_requests).where(tuple_(*_PLACE).in_(places)))
        return len(places)

    def _change(self, which: ColumnElement[bool], values: dict[str, Any]) -> bool:
        done = self._session.connection.execute(
            update(idempotent_requests).where(which).values(values)
        )
        return done.rowcount == 1


def _held(request: OnceRequest, claim: str) -> ColumnElement[bool]:
    return and_(
        idempotent_requests.c.key_id == request.key_id,
        idempotent_requests.c.name == request.name,
        idempotent_requests.c.claim == claim,
    )


def _row(request: OnceRequest) -> dict[str, Any]:
    return {name: getattr(request, name) for name in _FIELDS}


def _request(row: Any) -> OnceRequest:
    answer = None if row.status is None else KeptAnswer(row.status, row.headers, row.body)
    return OnceRequest(**{name: getattr(row, name) for name in _FIELDS}, answer=answer)


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """An answer to be repeated byte for byte; `headers` is a JSON object."""

    status: int
    headers: bytes
    body: bytes


class Claim(NamedTuple):
    """The identity of a claimed request, and the token of whoever holds it."""

    key_id: str
    name: str
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnceRequest:
    """A request with an idempotency key.

    `name` is the caller's name for it, `fingerprint` the SHA-256 of its content. `claim` is the
    token of whoever works on it; after `lapses_at` another may take over. `answer` is set once it
    is done; after `expires_at` everything may be deleted.
    """

    key_id: str
    name: str
    fingerprint: str
    claim: str
    claimed_at: datetime
    lapses_at: datetime
    expires_at: datetime
    answer: KeptAnswer | None = None
