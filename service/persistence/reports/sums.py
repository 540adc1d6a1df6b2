"""Sums for reports: one statement each, over the facts of the requested periods.

A statement joins the periods, as rows of VALUES, with the facts inside each. The index by shop and
time finds these, so a report's cost depends on its own periods and not on all stored history.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    CTE,
    ColumnElement,
    Integer,
    Select,
    and_,
    case,
    column,
    func,
    null,
    or_,
    select,
    values,
)

from schemas.quotes.records import QuoteHead
from schemas.reports.facts import (
    CutSum,
    MadeSum,
    MaterialSum,
    PaidSum,
    PartSum,
    ShelfRow,
    SoldSum,
    WorkRow,
)
from schemas.tickets.records import NewSpoilage, StoredSpoilage
from service.domain.payments import OWED
from service.domain.quotes.life import ACCEPTED, DECLINED, DONE, IN_WORK, ISSUED, standing
from service.domain.reports import Bucket
from service.domain.tickets.progress import AT_WORK, FINISHED, TAKEN_BACK, WAITING
from service.persistence.events.tables import events
from service.persistence.payments import payments
from service.persistence.quotes import head_of, quotes
from service.persistence.reports.facts import (
    plan_items,
    sale_materials,
    sale_parts,
    sales,
    spoilages,
)
from service.persistence.sql.session import Session
from service.persistence.sql.types import Instant
from service.persistence.tickets import cut_tickets

GIVEN = (ISSUED, ACCEPTED, IN_WORK, DONE, DECLINED)
"""The stored states of quotes that were issued to the customer."""
_Made = tuple[int, str, str, date, int, int]
"""Period, currency, stored state, last day, number of quotes, and their total."""


class SqlFigures:
    """The SQL implementation of the `Figures` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def made(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime, today: date
    ) -> tuple[MadeSum, ...]:
        """Return sums of quotes by creation date, in their states of `today`.

        A quote untouched since `as_of` is as it was then; the state of any other is read from its
        last event up to then.
        """
        found: dict[tuple[int, str, str], list[int]] = {}
        for n, currency, status, last, count, total in (
            *self._untouched(shop_id, buckets, as_of, today),
            *self._as_they_were(shop_id, buckets, as_of),
        ):
            key = n, currency, standing(status, last, today)
            tally = found.setdefault(key, [0, 0, 0])
            tally[0] += count
            tally[1] += total
            tally[2] += count if status in GIVEN else 0
        return tuple(MadeSum(*key, *tally) for key, tally in sorted(found.items()))

    def _untouched(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime, today: date
    ) -> Iterable[_Made]:
        periods = _periods(buckets)
        past = case((quotes.c.valid_until < today, 1), else_=0)
        groups = (periods.c.n, quotes.c.currency, quotes.c.status, past)
        statement = (
            select(*groups, func.count(), func.sum(quotes.c.total_minor))
            .join(quotes, _within(periods, buckets, quotes.c.created_at))
            .where(quotes.c.shop_id == shop_id, quotes.c.updated_at <= as_of)
            .group_by(*groups)
        )
        for n, currency, status, late, count, total in self._rows(statement):
            yield n, currency, status, date.min if late else date.max, count, int(total)

    def _as_they_were(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime
    ) -> Iterable[_Made]:
        """Yield quotes touched since `as_of`.

        One whose events were deleted counts in its current state.
        """
        periods = _periods(buckets)
        until_then = and_(
            events.c.shop_id == shop_id,
            events.c.subject_id == quotes.c.id,
            events.c.subject == "quote",
            events.c.at <= as_of,
        )
        now = (
            quotes.c.currency,
            quotes.c.status,
            quotes.c.total_minor,
            quotes.c.valid_until,
        )
        statement = (
            select(periods.c.n, quotes.c.id, *now, events.c.after)
            .join(quotes, _within(periods, buckets, quotes.c.created_at))
            .outerjoin(events, until_then)
            .where(
                quotes.c.shop_id == shop_id,
                quotes.c.created_at <= as_of,
                quotes.c.updated_at > as_of,
            )
            .order_by(quotes.c.id, events.c.turn, events.c.id)
        )
        for row in {row.id: row for row in self._rows(statement)}.values():
            was: dict[str, Any] = json.loads(row.after) if row.after else {}
            last = row.valid_until
            if "valid_until" in was:
                last = date.fromisoformat(was["valid_until"])
            status, total = was.get("status", row.status), was.get("total_minor", row.total_minor)
            yield row.n, was.get("currency", row.currency), status, last, 1, total

    def sold(self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime) -> tuple[SoldSum, ...]:
        """Return sums of quotes by date of acceptance, unless reversed by `as_of`."""
        periods = _periods(buckets)
        known = and_(sales.c.cost_minor.is_not(None), sales.c.cost_currency == sales.c.currency)
        net = sales.c.total_minor - sales.c.tax_minor
        sums = (
            func.count(),
            func.sum(sales.c.total_minor),
            func.sum(sales.c.tax_minor),
            func.sum(case((known, 1), else_=0)),
            func.sum(case((known, net), else_=0)),
            func.sum(case((known, sales.c.cost_minor), else_=0)),
        )
        groups = (periods.c.n, sales.c.currency)
        statement = _sold(select(*groups, *sums), buckets, periods, shop_id, as_of)
        rows = self._rows(statement.group_by(*groups).order_by(*groups))
        return tuple(SoldSum(n, currency, *map(int, parts)) for n, currency, *parts in rows)

    def parts(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime, *, items: bool
    ) -> tuple[PartSum, ...]:
        """Return revenue by component, and by item too if `items`."""
        periods = _periods(buckets)
        item = sale_parts.c.item if items else null().label("item")
        groups = [periods.c.n, sales.c.currency, sale_parts.c.component]
        groups += [sale_parts.c.item] if items else []
        counted = func.count(sales.c.quote_id.distinct())
        first = select(*groups[:3], item, counted, func.sum(sale_parts.c.net_minor))
        statement = _sold(first, buckets, periods, shop_id, as_of).join(
            sale_parts, sale_parts.c.quote_id == sales.c.quote_id
        )
        rows = self._rows(statement.group_by(*groups).order_by(*groups))
        return tuple(
            PartSum(n, currency, component, code or "", count, int(net))
            for n, currency, component, code, count, net in rows
        )

    def materials(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime
    ) -> tuple[MaterialSum, ...]:
        """Return the materials used."""
        periods = _periods(buckets)
        groups = (periods.c.n, sale_materials.c.item, sale_materials.c.basis)
        first = select(*groups, func.count(), func.sum(sale_materials.c.millionths))
        statement = _sold(first, buckets, periods, shop_id, as_of).join(
            sale_materials, sale_materials.c.quote_id == sales.c.quote_id
        )
        rows = self._rows(statement.group_by(*groups).order_by(*groups))
        return tuple(
            MaterialSum(n, item, basis, count, int(total)) for n, item, basis, count, total in rows
        )

    def cut(self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime) -> tuple[CutSum, ...]:
        """Return what plans committed and not undone by `as_of` make of each item.

        The areas are added up here, since they do not fit into the integers of SQL.
        """
        periods, facts = _periods(buckets), plan_items.c
        amounts = (facts.new_stock, facts.racked, facts.taken, facts.made, facts.kept)
        stands = or_(facts.undone_at.is_(None), facts.undone_at > as_of)
        statement = (
            select(periods.c.n, facts.item, facts.kind, *amounts)
            .join(plan_items, _within(periods, buckets, facts.committed_at))
            .where(facts.shop_id == shop_id, facts.committed_at <= as_of, stands)
        )
        sums: dict[tuple[int, str, str], list[int]] = {}
        for n, item, kind, *parts in self._rows(statement):
            whole = sums.setdefault((n, item, kind), [0] * (1 + len(amounts)))
            for place, part in enumerate((1, *parts)):
                whole[place] += int(part)
        return tuple(CutSum(*group, *sums[group]) for group in sorted(sums))

    def spoiled(self, shop_id: str, start: datetime, end: datetime) -> tuple[StoredSpoilage, ...]:
        """Return spoiled pieces, the first ones first."""
        statement = (
            select(spoilages, cut_tickets.c.serial, quotes.c.serial.label("quote_serial"))
            .join(cut_tickets, cut_tickets.c.id == spoilages.c.ticket_id)
            .join(quotes, quotes.c.id == cut_tickets.c.quote_id)
            .where(spoilages.c.shop_id == shop_id, spoilages.c.at >= start, spoilages.c.at < end)
            .order_by(spoilages.c.at, spoilages.c.ticket_id, spoilages.c.piece)
        )
        return tuple(_spoilage(row) for row in self._rows(statement))

    def given_up(self, quote_id: str) -> tuple[StoredSpoilage, ...]:
        """Return what was cut of a quote's tickets that a change of order gave up."""
        statement = (
            select(spoilages, cut_tickets.c.serial, quotes.c.serial.label("quote_serial"))
            .join(cut_tickets, cut_tickets.c.id == spoilages.c.ticket_id)
            .join(quotes, quotes.c.id == cut_tickets.c.quote_id)
            .where(cut_tickets.c.quote_id == quote_id, cut_tickets.c.status == TAKEN_BACK)
            .order_by(spoilages.c.at, spoilages.c.ticket_id, spoilages.c.piece)
        )
        return tuple(_spoilage(row) for row in self._rows(statement))

    def open_work(self, shop_id: str, as_of: datetime) -> tuple[WorkRow, ...]:
        """Return tickets that were waiting or in work at `as_of`, by promised day.

        A ticket does not change once it is done or withdrawn, so its last change gives that time.
        """
        still = cut_tickets.c.status.in_((WAITING, AT_WORK))
        since = and_(
            cut_tickets.c.status.in_((FINISHED, TAKEN_BACK)), cut_tickets.c.updated_at > as_of
        )
        statement = _work(shop_id).where(cut_tickets.c.created_at <= as_of)
        rows = [*self._rows(statement.where(still)), *self._rows(statement.where(since))]
        work = (_work_row(row) for row in rows)
        return tuple(sorted(work, key=lambda row: (row.promised or date.max, row.serial)))

    def done_work(self, shop_id: str, start: datetime, end: datetime) -> tuple[WorkRow, ...]:
        """Return the tickets finished in the period."""
        changed = cut_tickets.c.updated_at
        statement = _work(shop_id).where(
            cut_tickets.c.status == FINISHED, changed >= start, changed < end
        )
        return tuple(_work_row(row) for row in self._rows(statement))

    def paid(self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime) -> tuple[PaidSum, ...]:
        """Return sums of payments by when the till reported them."""
        periods = _periods(buckets)
        groups = (periods.c.n, payments.c.currency, payments.c.paid_by)
        statement = (
            select(*groups, func.count(), func.sum(payments.c.amount_minor))
            .select_from(periods)
            .join(payments, _within(periods, buckets, payments.c.at))
            .where(payments.c.shop_id == shop_id, payments.c.at <= as_of)
            .group_by(*groups)
            .order_by(*groups)
        )
        rows = self._rows(statement)
        return tuple(PaidSum(n, code, way, many, int(sum_)) for n, code, way, many, sum_ in rows)

    def outstanding(self, shop_id: str) -> tuple[QuoteHead, ...]:
        """Return the quotes on which the customer or the shop owes something, by number."""
        owed = quotes.c.status.in_(OWED) & (quotes.c.total_minor != quotes.c.paid_minor)
        held = quotes.c.status.not_in(OWED) & (quotes.c.paid_minor != 0)
        statement = select(quotes).where(quotes.c.shop_id == shop_id, or_(owed, held))
        return tuple(head_of(row) for row in self._rows(statement.order_by(quotes.c.serial)))

    def uncollected(self, shop_id: str) -> tuple[ShelfRow, ...]:
        """Return the finished tickets that are not collected, the longest standing first."""
        since = func.coalesce(cut_tickets.c.ready_at, cut_tickets.c.updated_at, type_=Instant())
        columns = (
            *(cut_tickets.c.serial, quotes.c.serial.label("quote_serial"), quotes.c.reference),
            *(cut_tickets.c.label, cut_tickets.c.shelf, since.label("since")),
        )
        statement = (
            select(*columns)
            .join(quotes, quotes.c.id == cut_tickets.c.quote_id)
            .where(
                cut_tickets.c.shop_id == shop_id,
                cut_tickets.c.status == FINISHED,
                cut_tickets.c.collected_at.is_(None),
            )
            .order_by(since, cut_tickets.c.serial)
        )
        return tuple(ShelfRow(*row) for row in self._rows(statement))

    def _rows(self, statement: Select[Any]) -> Iterable[Any]:
        return self._session.connection.execute(statement).all()


def _spoilage(row: Any) -> StoredSpoilage:
    new = NewSpoilage(**{c.name: getattr(row, c.name) for c in spoilages.c})
    return StoredSpoilage(new, row.serial, row.quote_serial)


def _periods(buckets: Sequence[Bucket]) -> CTE:
    """Return the periods as rows: index, start, and the first instant after the end."""
    rows = [(n, bucket.start, bucket.end) for n, bucket in enumerate(buckets)]
    columns = (column("n", Integer), column("starts", Instant()), column("ends", Instant()))
    return values(*columns, name="given").data(rows).cte("periods")


def _within(
    periods: CTE, buckets: Sequence[Bucket], at: ColumnElement[datetime]
) -> ColumnElement[bool]:
    """Return the condition for facts within a period.

    The overall bounds are redundant, but let the database estimate the row count: it can estimate
    from constants, not from the values of other rows.
    """
    together = and_(at >= buckets[0].start, at < buckets[-1].end)
    return and_(at >= periods.c.starts, at < periods.c.ends, together)


def _sold(
    first: Select[Any], buckets: Sequence[Bucket], periods: CTE, shop_id: str, as_of: datetime
) -> Select[Any]:
    """Return the query for sales of the periods that stood at `as_of`."""
    stood = or_(sales.c.withdrawn_at.is_(None), sales.c.withdrawn_at > as_of)
    return (
        first.select_from(periods)
        .join(sales, _within(periods, buckets, sales.c.accepted_at))
        .where(sales.c.shop_id == shop_id, sales.c.accepted_at <= as_of, stood)
    )


def _work(shop_id: str) -> Select[Any]:
    return (
        select(
            cut_tickets.c.serial,
            quotes.c.serial.label("quote_serial"),
            quotes.c.reference,
            cut_tickets.c.label,
            cut_tickets.c.status,
            cut_tickets.c.minutes,
            cut_tickets.c.promised,
            cut_tickets.c.updated_at,
        )
        .join(quotes, quotes.c.id == cut_tickets.c.quote_id)
        .where(cut_tickets.c.shop_id == shop_id)
    )


def _work_row(row: Any) -> WorkRow:
    names = [name for name in WorkRow._fields if name != "finished_at"]
    finished = row.updated_at if row.status in (FINISHED, TAKEN_BACK) else None
    return WorkRow(**{name: getattr(row, name) for name in names}, finished_at=finished)
