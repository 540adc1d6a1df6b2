"""Tickets in storage: numbers, lots, stale writers, open minutes, lists by an index."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from sqlalchemy import Engine, event

from schemas.quotes.records import NewQuote, QuoteFilter, QuoteHead, Revision
from schemas.tickets.records import NewTicket, StoredTicket, TicketFilter
from schemas.wire.page import Cursor
from service.domain.errors import NotFound, Stale
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.domain.tickets.progress import Lot, moved, spoiled
from service.persistence.unit_of_work import UnitsOfWork
from service.wiring import TimeOrderedIds

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
PAPERS = Revision(b"{}", b'{"a":1}', (), b"{}")
LOTS = (Lot(number=1, like=1, quantity=3), Lot(number=2, like=2, quantity=1))
new_id = TimeOrderedIds()


@pytest.fixture
def quote(units: UnitsOfWork) -> QuoteHead:
    shop = Shop(
        code="corner",
        name="Corner",
        currency="USD",
        time_zone="UTC",
        ruler=Ruler("in", Length.inches("0.0625")),
    )
    with units.writing() as uow:
        uow.shops.add("s1", shop)
        uow.shops.add("s2", replace(shop, code="harbour"))
        head = uow.quotes.add(new_quote())
        uow.commit()
    return head


def new_quote(shop_id: str = "s1", **more: str) -> NewQuote:
    return NewQuote(
        id=new_id(),
        shop_id=shop_id,
        status=more.get("status", "issued"),
        reference="W-1",
        customer=b"{}",
        currency="USD",
        total_minor=100,
        created_at=NOW,
        valid_until=date(2026, 12, 25),
        created_by="k1",
        revision=PAPERS,
        deposit_minor=50,
    )


def new_ticket(quote: QuoteHead, job: int = 0, minutes: Fraction = Fraction(10, 3)) -> NewTicket:
    return NewTicket(
        id=new_id(),
        shop_id=quote.shop_id,
        quote_id=quote.id,
        job=job,
        jobs=2,
        label="16⅜",
        quantity=3,
        minutes=minutes,
        document='{"w":"16⅜", "n": 1.10}'.encode(),
        lots=LOTS,
        created_at=NOW,
        promised=date(2026, 12, 1),
    )


def store(units: UnitsOfWork, *new: NewTicket) -> list[StoredTicket]:
    with units.writing() as uow:
        uow.tickets.add(new, uow.tickets.numbers("s1", len(new)))
        uow.commit()
    with units.reading() as uow:
        return [uow.tickets.by_id("s1", one.id) for one in new]


def test_a_ticket_comes_back_with_its_bytes_and_lots(units: UnitsOfWork, quote: QuoteHead) -> None:
    one, two = store(units, new_ticket(quote), new_ticket(quote, 1))
    assert (one.head.number, two.head.number) == ("T100014", "T100023")
    assert (one.head.quote_number, one.head.reference) == (quote.number, "W-1")
    assert one.document == '{"w":"16⅜", "n": 1.10}'.encode()
    assert one.lots == LOTS
    assert (one.head.minutes, one.head.promised) == (Fraction(10, 3), date(2026, 12, 1))
    with units.reading() as uow:
        assert uow.tickets.by_serial("s1", 10_002) == two
        assert uow.tickets.of_quote("s1", quote.id) == (one.head, two.head)
        assert uow.tickets.of_quote("s2", quote.id) == ()
        for ask in (
            lambda: uow.tickets.by_id("s2", one.head.id),
            lambda: uow.tickets.by_serial("s2", 10_001),
            lambda: uow.tickets.by_serial("s1", 10_003),
        ):
            with pytest.raises(NotFound):
                ask()
    with units.writing() as uow, pytest.raises(NotFound):
        uow.tickets.numbers("nowhere", 1)


def test_numbers_given_out_at_once_never_clash(units: UnitsOfWork, quote: QuoteHead) -> None:
    def ask(count: int) -> range:
        with units.writing() as uow:
            found = uow.tickets.numbers(quote.shop_id, count)
            uow.commit()
        return found

    with ThreadPoolExecutor(6) as pool:
        given = [serial for found in pool.map(ask, [1, 2, 3] * 8) for serial in found]
    assert sorted(given) == list(range(10_001, 10_001 + 48))


def test_a_change_of_a_ticket_that_was_changed_is_stale(
    units: UnitsOfWork, quote: QuoteHead
) -> None:
    (was,) = store(units, new_ticket(quote))
    lots = spoiled(moved(was.lots, 1, "start"), 1, 2, "slipped")
    now = replace(was.head, status="in_work", version=2, updated_at=NOW + timedelta(hours=1))
    with units.writing() as uow:
        uow.tickets.change(was, now, lots)
        uow.commit()
    with units.reading() as uow:
        assert uow.tickets.by_id("s1", was.head.id) == StoredTicket(now, was.document, lots)
    with units.writing() as uow, pytest.raises(Stale) as stale:
        uow.tickets.change(was, now, lots)
    assert stale.value.facts["state"] == "in_work"


def test_a_change_of_a_quote_that_was_changed_is_stale(
    units: UnitsOfWork, quote: QuoteHead
) -> None:
    now = replace(quote, status="declined", version=2, reason="Too dear.", revision=2)
    with units.writing() as uow:
        assert uow.quotes.hold("s1", quote.id) == quote
        uow.quotes.change(quote, now)
        uow.quotes.add_revision(now, replace(PAPERS, result=b'{"a":2}'))
        uow.commit()
    with units.reading() as uow:
        assert uow.quotes.by_id("s1", quote.id).head == now
        assert [r.result for r in uow.quotes.revisions("s1", quote.id)] == [b'{"a":1}', b'{"a":2}']
        assert uow.quotes.revisions("s2", quote.id) == ()
    with units.writing() as uow, pytest.raises(Stale) as stale:
        uow.quotes.change(quote, now)
    assert stale.value.facts["state"] == "declined"
    with units.writing() as uow, pytest.raises(NotFound):
        uow.quotes.hold("s2", quote.id)


def test_a_list_on_a_day_shows_the_states_of_that_day(units: UnitsOfWork, quote: QuoteHead) -> None:
    with units.writing() as uow:
        draft = uow.quotes.add(new_quote(status="draft"))
        done = uow.quotes.add(new_quote(status="done"))
        uow.commit()

    def ids(status: str, today: date | None) -> set[str]:
        with units.reading() as uow:
            page = uow.quotes.page("s1", QuoteFilter(status=status), 10, None, today)
        return {head.id for head in page.heads}

    last, after = date(2026, 12, 25), date(2026, 12, 26)
    assert ids("expired", last) == set()
    assert (ids("issued", last), ids("draft", last)) == ({quote.id}, {draft.id})
    assert ids("expired", after) == {quote.id, draft.id}
    assert ids("issued", after) == ids("draft", after) == set()
    assert ids("done", after) == {done.id}
    assert ids("issued", None) == {quote.id}


def test_open_minutes_are_an_exact_sum_of_what_waits_or_is_in_work(
    units: UnitsOfWork, quote: QuoteHead
) -> None:
    with units.writing() as uow:
        other = uow.quotes.add(new_quote())
        uow.commit()
    kept = store(
        units,
        new_ticket(quote, 0, Fraction(1, 3)),
        new_ticket(quote, 1, Fraction(1, 7)),
        new_ticket(other, 0, Fraction(100)),
        new_ticket(other, 1, Fraction(1000)),
    )
    for was, status in zip(kept, ("waiting", "in_work", "done", "withdrawn"), strict=True):
        with units.writing() as uow:
            uow.tickets.change(was, replace(was.head, status=status, version=2), was.lots)
            uow.commit()
    with units.reading() as uow:
        assert uow.tickets.open_minutes("s1") == Fraction(1, 3) + Fraction(1, 7)
        assert uow.tickets.open_minutes("s2") == 0


def test_lists_never_read_the_documents_and_use_an_index(sqlite_engine: Engine) -> None:
    seen: list[tuple[str, object]] = []
    event.listen(sqlite_engine, "before_cursor_execute", lambda *a: seen.append((a[2], a[3])))
    cursor = Cursor(NOW, "x")
    with UnitsOfWork(sqlite_engine).reading() as uow:
        uow.tickets.page("s1", TicketFilter(), 50, cursor)
        uow.tickets.page("s1", TicketFilter(status="waiting"), 50, cursor)
    plans = []
    for statement, values in [one for one in seen if one[0].startswith("SELECT")]:
        assert "document" not in statement
        with sqlite_engine.connect() as connection:
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)  # type: ignore[arg-type]
            plans.append(" ".join(row.detail for row in rows))
    for plan, index in zip(plans, ("created_at_id", "status_created_at_id"), strict=True):
        assert f"USING INDEX ix_cut_tickets_shop_id_{index}" in plan
        assert "SCAN" not in plan
        assert "TEMP B-TREE" not in plan
