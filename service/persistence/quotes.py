"""Stored quotes: heads for lists, documents by revision, and the papers they rest on.

Papers are documents shared by many quotes, stored once under the SHA-256 of their content.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from operator import eq, ge, lt
from typing import Any
from uuid import UUID

from sqlalchemy import (
    CTE,
    BigInteger,
    BindParameter,
    Column,
    ColumnElement,
    Date,
    ForeignKey,
    Index,
    Insert,
    Integer,
    Select,
    String,
    Table,
    Text,
    UniqueConstraint,
    bindparam,
    exists,
    func,
    insert,
    or_,
    select,
    text,
    tuple_,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from schemas.events.records import NewEvent
from schemas.quotes.records import (
    DatedRevision,
    Footing,
    NewQuote,
    Page,
    Paper,
    QuoteFilter,
    QuoteHead,
    Revision,
    StoredQuote,
)
from schemas.quotes.searched import words_found
from schemas.wire.page import Cursor
from service.domain.errors import NotFound, Stale
from service.domain.quotes.life import EXPIRED, OPEN
from service.persistence.events.feed import FIELDS as EVENT_FIELDS
from service.persistence.events.feed import SqlEvents
from service.persistence.events.tables import events
from service.persistence.instants import change_instant, not_before
from service.persistence.keys.keyring import api_keys
from service.persistence.shop import QUOTE_SERIES, counters, shops
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.prepared import Prepared
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Document, Instant, Packed

quotes = Table(
    "quotes",
    metadata,
    Column("id", ID, primary_key=True),
    column("shop_id", ID, ForeignKey("shops.id")),
    column("serial", BigInteger),
    column("status", Text),
    column("revision", Integer),
    column("reference", Text),
    column("customer", Document),
    column("currency", String(3)),
    column("total_minor", BigInteger),
    column("created_at", Instant),
    column("updated_at", Instant),
    column("valid_until", Date),
    column("created_by", ID),
    column("version", BigInteger),
    column("deposit_minor", BigInteger),
    column("promised", Date, null=True),
    column("reason", Text),
    column("offered_from", Integer),
    Column("handover", Text, nullable=False, server_default=text("''")),
    Column("paid_minor", BigInteger, nullable=False, server_default=text("0")),
    Column("words", Text, nullable=False, server_default=text("''")),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "shop_id", "updated_at", "id"),
    Index(None, "shop_id", "reference", "created_at", "id"),
)


_HEAD = tuple(column for column in quotes.c if column is not quotes.c.words)
_NEXT = (
    update(counters)
    .where(counters.c.shop_id == bindparam("for_shop"), counters.c.series == QUOTE_SERIES)
    .values(
        last_value=counters.c.last_value + 1,
        stamped_at=not_before(bindparam("at", type_=Instant)),
    )
    .returning(counters.c.last_value, counters.c.stamped_at)
)


def _footing(shop: BindParameter[str]) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    """Return the conditions under which a quote may be stored: see `Footing`."""
    return (
        exists().where(shops.c.id == shop, shops.c.version == bindparam("book")),
        exists().where(
            api_keys.c.id == bindparam("key_id"),
            api_keys.c.version == bindparam("key"),
            or_(
                api_keys.c.revoked_at.is_(None),
                api_keys.c.revoked_at > bindparam("at", type_=Instant),
            ),
        ),
    )


_TAKE_NUMBER = Prepared(_NEXT.where(*_footing(bindparam("for_shop"))))
_INSERT = Prepared(insert(quotes).values({c: bindparam(c.name) for c in quotes.c}).inline())
Noted = Callable[["QuoteHead"], NewEvent]
"""Makes the event of a quote that is being stored."""


quote_revisions = Table(
    "quote_revisions",
    metadata,
    Column("quote_id", ID, ForeignKey("quotes.id"), primary_key=True),
    Column("revision", Integer, primary_key=True),
    column("request", Document),
    column("result", Packed),
    column("papers", Text),
    column("costs", Packed),
    column("created_at", Instant),
    column("choice", Text),
    column("figures", Packed, null=True),
)


_INSERT_REVISION = Prepared(
    insert(quote_revisions).values({c: bindparam(c.name) for c in quote_revisions.c}).inline()
)


def _place(table: Table, column: Column[Any]) -> BindParameter[Any]:
    """Return the parameter for a column in a statement that fills several tables."""
    return bindparam(f"{table.name}_{column.name}", type_=column.type)


def _named(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    """Return the values of a row under the names of their parameters."""
    return {f"{table.name}_{name}": value for name, value in row.items()}


def _at_once() -> Select[Any]:
    """Return the statement that stores a quote in PostgreSQL if its footing holds.

    The advisory lock is what `settle` waits for.
    """
    shop = _place(quotes, quotes.c.shop_id)
    stamp = change_instant(shop, _place(quotes, quotes.c.created_at))
    hold = func.pg_advisory_xact_lock(bindparam("held", type_=BigInteger))
    ready = select(stamp.label("at"), hold.label("hold")).where(*_footing(shop)).cte("ready")

    def added(table: Table, names: Iterable[str], source: CTE) -> Insert:
        columns = [table.c[name] for name in names]
        stamped = ("at", "created_at", "updated_at")
        values = [source.c.at if c.name in stamped else _place(table, c) for c in columns]
        return insert(table).from_select(columns, select(*values).select_from(source))

    names = [column.name for column in quotes.c]
    quote = added(quotes, names, ready).returning(quotes.c.created_at.label("at")).cte("quote")
    revision = added(quote_revisions, [c.name for c in quote_revisions.c], quote).cte("revision")
    event = added(events, EVENT_FIELDS, quote).cte("event")
    return select(quote.c.at).add_cte(revision, event)


_ADD_AT_ONCE = Prepared(_at_once())
_HOLD_CLASS = 1259 << 52


def _held(quote_id: str) -> int:
    """Return the key of the advisory lock that a new quote's transaction holds."""
    return _HOLD_CLASS | (UUID(quote_id).int & ((1 << 52) - 1))


_LATEST = (
    select(*_HEAD, quote_revisions.c.result, quote_revisions.c.costs)
    .join(
        quote_revisions,
        (quote_revisions.c.quote_id == quotes.c.id)
        & (quote_revisions.c.revision == quotes.c.revision),
    )
    .where(quotes.c.shop_id == bindparam("shop_id"))
)
_BY_ID = _LATEST.where(quotes.c.id == bindparam("quote_id"))
_BY_SERIAL = _LATEST.where(quotes.c.serial == bindparam("serial"))
_CHANGE = update(quotes).where(
    quotes.c.shop_id == bindparam("in_shop"),
    quotes.c.id == bindparam("which"),
    quotes.c.version == bindparam("seen"),
)
_CHANGED = (
    "status",
    "revision",
    "reference",
    "customer",
    "currency",
    "total_minor",
    "updated_at",
    "valid_until",
    "version",
    "deposit_minor",
    "promised",
    "reason",
    "offered_from",
    "handover",
    "paid_minor",
)
"""The columns that a change of a quote may set."""
_HOLD = (
    select(*_HEAD)
    .where(quotes.c.shop_id == bindparam("shop_id"), quotes.c.id == bindparam("quote_id"))
    .with_for_update()
)
_DATED = (
    select(
        quote_revisions.c.revision,
        quote_revisions.c.created_at,
        quote_revisions.c.result,
        quote_revisions.c.costs,
        quote_revisions.c.choice,
    )
    .join(quotes, quotes.c.id == quote_revisions.c.quote_id)
    .where(quotes.c.shop_id == bindparam("shop_id"), quotes.c.id == bindparam("quote_id"))
    .order_by(quote_revisions.c.revision)
)
_REVISION = (
    select(quote_revisions)
    .join(quotes, quotes.c.id == quote_revisions.c.quote_id)
    .where(
        quotes.c.shop_id == bindparam("shop_id"),
        quotes.c.id == bindparam("quote_id"),
        quote_revisions.c.revision == bindparam("revision"),
    )
)
_TO_FIND = (
    select(*_HEAD, quote_revisions.c.request)
    .join(
        quote_revisions,
        (quote_revisions.c.quote_id == quotes.c.id)
        & (quote_revisions.c.revision == quotes.c.revision),
    )
    .where(quotes.c.id == bindparam("quote_id"))
    .with_for_update(of=quotes)
)
_STAMPED = Instant()
Place = tuple[str, int]
"""A revision: its quote's id, and its number."""
_AT_A_TIME = 50
"""The number of revisions fetched together; one takes some 30 kB."""


class SqlQuotes:
    """The SQL implementation of the `Quotes` port."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._papers = SqlPapers(session)

    def add(
        self, new: NewQuote, on: Footing | None = None, noted: Noted | None = None
    ) -> QuoteHead:
        """Store a quote under the shop's next number, with the event that `noted` makes of it.

        In PostgreSQL a quote that brings its serial is stored by one statement; see `serials.py`.

        Raises:
            NotFound: there is no such shop.
            Stale: what it is based `on` has changed.
        """
        connection = self._session.connection
        if new.serial is not None and on is not None and noted is not None:
            return self._add_at_once(new, new.serial, on, noted)
        serial, at = self._next(new.shop_id, new.created_at, on)
        head = _first_head(new, serial, at)
        _INSERT.run(connection, _row(head, new.revision))
        self._papers.keep(new.revision.papers)
        _INSERT_REVISION.run(connection, _revision_row(head, new.revision))
        if noted is not None:
            SqlEvents(self._session).add(noted(head))
        return head

    def _add_at_once(self, new: NewQuote, serial: int, on: Footing, noted: Noted) -> QuoteHead:
        """Store a quote, its revision and its event by one statement of PostgreSQL's."""
        head = _first_head(new, serial, new.created_at)
        self._papers.keep(new.revision.papers)
        event, revision = noted(head), _revision_row(head, new.revision)
        values = {
            **_named(quotes, _row(head, new.revision)),
            **_named(quote_revisions, revision),
            **_named(events, {name: getattr(event, name) for name in EVENT_FIELDS}),
            **on._asdict(),
            "held": _held(new.id),
        }
        taken = _ADD_AT_ONCE.first(self._session.connection, values)
        if taken is None:
            raise _changed_meanwhile()
        at = _STAMPED.process_result_value(taken[0], self._session.connection.dialect)
        return _first_head(new, serial, at or new.created_at)

    def settle(self, shop_id: str, quote_id: str) -> QuoteHead:
        """Return a new quote's head, once no transaction is storing it any more.

        Raises:
            NotFound: it is not stored.
        """
        connection = self._session.connection
        if connection.dialect.name == "postgresql":  # in SQLite this unit is the only writer
            connection.execute(select(func.pg_advisory_xact_lock(_held(quote_id))))
        return self.by_id(shop_id, quote_id).head

    def _next(self, shop_id: str, at: datetime, on: Footing | None) -> tuple[int, datetime]:
        """Return the shop's next number, and the instant at which it is taken."""
        connection = self._session.connection
        values: dict[str, Any] = {"for_shop": shop_id, "at": at}
        if on is None:
            row = connection.execute(_NEXT, values).one_or_none()
            if row is None:
                raise NotFound("there is no such shop")
            return row.last_value, row.stamped_at
        taken = _TAKE_NUMBER.first(connection, values | on._asdict())
        if taken is None:
            raise _changed_meanwhile()
        stamped = _STAMPED.process_result_value(taken[1], connection.dialect)
        return int(taken[0]), stamped or at

    def by_id(self, shop_id: str, quote_id: str) -> StoredQuote:
        """Return the quote with this id.

        Raises:
            NotFound: the shop has none.
        """
        return self._stored(_BY_ID, {"shop_id": shop_id, "quote_id": quote_id}, "such quote")

    def by_serial(self, shop_id: str, serial: int) -> StoredQuote:
        """Return the quote with this serial.

        Raises:
            NotFound: the shop has none.
        """
        values = {"shop_id": shop_id, "serial": serial}
        return self._stored(_BY_SERIAL, values, "quote of that number")

    def hold(self, shop_id: str, quote_id: str) -> QuoteHead:
        """Return the quote with this id, locked until this unit of work ends.

        Raises:
            NotFound: the shop has none.
        """
        values = {"shop_id": shop_id, "quote_id": quote_id}
        row = self._session.connection.execute(_HOLD, values).one_or_none()
        return head_of(found(row, "such quote"))

    def change(self, was: QuoteHead, now: QuoteHead) -> None:
        """Update a quote if it is unchanged.

        Raises:
            Stale: another transaction changed it meanwhile.
        """
        values = {name: getattr(now, name) for name in _CHANGED}
        where = {"in_shop": was.shop_id, "which": was.id, "seen": was.version}
        changed = self._session.connection.execute(_CHANGE.values(**values), where)
        if changed.rowcount != 1:
            state = self.by_id(was.shop_id, was.id).head.status
            raise Stale(
                f"quote {was.number} was changed by somebody else just now and is {state} by now; "
                "nothing was done, read it again",
                facts={"state": state},
            )

    def add_revision(self, head: QuoteHead, revision: Revision, choice: str = "") -> None:
        """Add a revision to a quote; `head` already counts it."""
        row = _revision_row(head, revision, choice)
        self._papers.keep(revision.papers)
        _INSERT_REVISION.run(self._session.connection, row)
        self._keep_words(head, revision)

    def revisions(self, shop_id: str, quote_id: str) -> tuple[DatedRevision, ...]:
        """Return every revision of a quote, the first one first."""
        values = {"shop_id": shop_id, "quote_id": quote_id}
        rows = self._session.connection.execute(_DATED, values)
        return tuple(DatedRevision(*row) for row in rows)

    def revision(self, shop_id: str, quote_id: str, revision: int) -> Revision:
        """Return one revision with all its documents.

        Raises:
            NotFound: the shop has no such quote, or the quote no such revision.
        """
        values = {"shop_id": shop_id, "quote_id": quote_id, "revision": revision}
        row = self._session.connection.execute(_REVISION, values).one_or_none()
        row = found(row, f"revision {revision} of such a quote")
        return revision_of(row, self._papers.found(row.papers))

    def latest_of(self, heads: Sequence[QuoteHead]) -> Iterator[Revision]:
        """Yield the latest revision of each of these quotes, in their order, fetched in batches."""
        kept = quote_revisions.c
        for start in range(0, len(heads), _AT_A_TIME):
            some = heads[start : start + _AT_A_TIME]
            wanted = tuple_(kept.quote_id, kept.revision).in_([(h.id, h.revision) for h in some])
            rows = {
                row.quote_id: row
                for row in self._session.connection.execute(select(quote_revisions).where(wanted))
            }
            ordered = [rows[head.id] for head in some]
            papers = self._papers.found_all([row.papers for row in ordered])
            for row, own in zip(ordered, papers, strict=True):
                yield revision_of(row, own)

    def without_figures(self, after: Place, most: int) -> list[tuple[Place, Revision]]:
        """Return revisions of all shops that keep no figures, in the order of their places."""
        kept = quote_revisions.c
        place = tuple_(kept.quote_id, kept.revision)
        missing = (
            select(quote_revisions)
            .where(kept.figures.is_(None), place > after)
            .order_by(kept.quote_id, kept.revision)
            .limit(most)
        )
        rows = self._session.connection.execute(missing).all()
        papers = self._papers.found_all([row.papers for row in rows])
        return [
            ((row.quote_id, row.revision), revision_of(row, own))
            for row, own in zip(rows, papers, strict=True)
        ]

    def keep_figures(self, place: Place, figures: bytes) -> None:
        """Give a revision the figures that it lacks."""
        kept = quote_revisions.c
        here = kept.quote_id == place[0], kept.revision == place[1], kept.figures.is_(None)
        change = update(quote_revisions).where(*here).values(figures=figures)
        self._session.connection.execute(change)

    def without_words(self, after: str, most: int) -> list[str]:
        """Return the ids of quotes, of all shops, that no search finds yet, in their order."""
        missing = select(quotes.c.id).where(quotes.c.id > after, quotes.c.words == "")
        rows = self._session.connection.execute(missing.order_by(quotes.c.id).limit(most))
        return list(rows.scalars())

    def find_by_words(self, quote_id: str) -> None:
        """Have a quote found by what it is now; nothing is done if there is none."""
        row = self._session.connection.execute(_TO_FIND, {"quote_id": quote_id}).one_or_none()
        if row is not None:
            self._keep_words(head_of(row), row)

    def _keep_words(self, head: QuoteHead, revision: Any) -> None:
        change = update(quotes).where(quotes.c.id == head.id)
        self._session.connection.execute(change.values(words=_words(head, revision)))

    def page(
        self,
        shop_id: str,
        wanted: QuoteFilter,
        limit: int,
        after: Cursor | None = None,
        today: date | None = None,
    ) -> Page:
        """Return a page of quotes, newest first.

        Quotes added meanwhile never shift a later page.
        """
        statement = _filtered(shop_id, wanted, today)
        rows, following = newest_first(self._session.connection, statement, quotes, limit, after)
        return Page(tuple(head_of(row) for row in rows), following)

    def _stored(self, statement: Any, values: dict[str, Any], what: str) -> StoredQuote:
        row = found(self._session.connection.execute(statement, values).one_or_none(), what)
        return StoredQuote(head_of(row), row.result, row.costs)


def _filtered(shop_id: str, wanted: QuoteFilter, today: date | None) -> Select[Any]:
    statement = select(*_HEAD).where(quotes.c.shop_id == shop_id)
    status = wanted.status
    if today is not None and status == EXPIRED:
        past = quotes.c.valid_until < today
        statement, status = statement.where(quotes.c.status.in_(OPEN), past), None
    elif today is not None and status in OPEN:
        statement = statement.where(quotes.c.valid_until >= today)
    for field, compare, value in (
        (quotes.c.status, eq, status),
        (quotes.c.reference, eq, wanted.reference),
        (quotes.c.updated_at, ge, wanted.updated_since),
        (quotes.c.created_at, ge, wanted.created_from),
        (quotes.c.created_at, lt, wanted.created_to),
    ):
        if value is not None:
            statement = statement.where(compare(field, value))
    return statement.where(*(quotes.c.words.contains(part, autoescape=True) for part in wanted.q))


def head_of(row: Any) -> QuoteHead:
    """Return the head of a quote from a row of the table."""
    return QuoteHead(
        id=row.id,
        shop_id=row.shop_id,
        serial=row.serial,
        status=row.status,
        revision=row.revision,
        reference=row.reference,
        customer=row.customer,
        currency=row.currency,
        total_minor=row.total_minor,
        created_at=row.created_at,
        updated_at=row.updated_at,
        valid_until=row.valid_until,
        created_by=row.created_by,
        version=row.version,
        deposit_minor=row.deposit_minor,
        promised=row.promised,
        reason=row.reason,
        offered_from=row.offered_from,
        handover=row.handover,
        paid_minor=row.paid_minor,
    )


def revision_of(row: Any, papers: tuple[Paper, ...]) -> Revision:
    """Return a revision from a row of the table and the papers that it names."""
    return Revision(row.request, row.result, papers, row.costs, row.figures)


def _first_head(new: NewQuote, serial: int, at: datetime) -> QuoteHead:
    return QuoteHead(
        id=new.id,
        shop_id=new.shop_id,
        serial=serial,
        status=new.status,
        revision=1,
        reference=new.reference,
        customer=new.customer,
        currency=new.currency,
        total_minor=new.total_minor,
        created_at=at,
        updated_at=at,
        valid_until=new.valid_until,
        created_by=new.created_by,
        deposit_minor=new.deposit_minor,
    )


def _changed_meanwhile() -> Stale:
    return Stale("the shop's prices or the key were changed just now")


def _row(head: QuoteHead, revision: Revision) -> dict[str, Any]:
    row = {column.name: getattr(head, column.name) for column in _HEAD}
    return row | {"words": _words(head, revision)}


def _words(head: QuoteHead, revision: Any) -> str:
    """Return what a quote is found by; `revision` has the request of its latest one."""
    return words_found(head.number, head.reference, head.customer, revision.request)


def _revision_row(head: QuoteHead, revision: Revision, choice: str = "") -> dict[str, Any]:
    return {
        "quote_id": head.id,
        "revision": head.revision,
        "request": revision.request,
        "result": revision.result,
        "papers": " ".join(f"{paper.kind}:{paper.digest}" for paper in revision.papers),
        "costs": revision.costs,
        "created_at": head.updated_at,
        "choice": choice,
        "figures": revision.figures,
    }


papers = Table(
    "papers",
    metadata,
    Column("digest", String(64), primary_key=True),
    column("document", Document),
)


_INSERT_PAPERS = {
    "sqlite": sqlite.insert(papers).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(papers).on_conflict_do_nothing(),
}


class SqlPapers:
    """The papers of stored quotes over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def keep(self, brought: Iterable[Paper]) -> None:
        """Store the papers that are not stored yet."""
        session = self._session
        known = session.known_papers
        new = {p.digest: p.document for p in brought if p.digest not in known}
        if new:
            rows = [{"digest": digest, "document": text} for digest, text in sorted(new.items())]
            session.connection.execute(_INSERT_PAPERS[session.connection.dialect.name], rows)
            session.new_papers.update(new)

    def found(self, names: str) -> tuple[Paper, ...]:
        """Return the papers of a stored list of "kind:digest", in its order."""
        return self.found_all([names])[0]

    def found_all(self, lists: Sequence[str]) -> list[tuple[Paper, ...]]:
        """Return the papers of several such lists, each in its order.

        Shared papers are read once.
        """
        named = [[name.partition(":") for name in names.split()] for names in lists]
        digests = {digest for names in named for _, _, digest in names}
        wanted = select(papers).where(papers.c.digest.in_(sorted(digests)))
        documents = {row.digest: row.document for row in self._session.connection.execute(wanted)}
        return [
            tuple(Paper(kind, digest, documents[digest]) for kind, _, digest in names)
            for names in named
        ]
