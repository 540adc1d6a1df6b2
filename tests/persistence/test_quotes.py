"""Quotes in storage: documents byte for byte, pages that hold still."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from sqlalchemy import Engine, event, text

from schemas.quotes.records import NewQuote, Paper, QuoteFilter, QuoteHead, Revision
from schemas.wire.page import Cursor
from service.domain.errors import NotFound
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitsOfWork
from service.wiring import TimeOrderedIds

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
SHARED = (Paper("shop", "ab" * 32, b'{"name": "a"}'), Paper("item", "cd" * 32, b"[ ]"))
PAPERS = Revision(b'{"a": 1.10}', '{"w":"16⅜"}'.encode(), SHARED, b'{"cost":"1.00"}')
new_id = TimeOrderedIds()


@pytest.fixture
def shop_id(units: UnitsOfWork) -> str:
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
        uow.commit()
    return "s1"


def _new(shop_id: str, at: datetime = NOW, status: str = "draft", reference: str = "") -> NewQuote:
    return NewQuote(
        id=new_id(),
        shop_id=shop_id,
        status=status,
        reference=reference,
        customer=b'{"name": "A. Sample"}',
        currency="USD",
        total_minor=18_450,
        created_at=at,
        valid_until=date(2026, 3, 31),
        created_by="k1",
        revision=PAPERS,
    )


def _add(units: UnitsOfWork, *new: NewQuote) -> list[QuoteHead]:
    with units.writing() as uow:
        heads = [uow.quotes.add(one) for one in new]
        uow.commit()
    return heads


def test_a_quote_is_found_by_id_and_by_serial(units: UnitsOfWork, shop_id: str) -> None:
    (head,) = _add(units, _new(shop_id, reference="W-1021"))
    assert (head.serial, head.number, head.revision) == (10_001, "Q100014", 1)
    with units.reading() as uow:
        stored = uow.quotes.by_id(shop_id, head.id)
        assert stored == uow.quotes.by_serial(shop_id, 10_001)
        assert stored.head == head
        assert (stored.result, stored.costs) == (PAPERS.result, PAPERS.costs)
        assert uow.quotes.revision(shop_id, head.id, 1) == PAPERS


def test_another_shops_quote_does_not_exist(units: UnitsOfWork, shop_id: str) -> None:
    (head,) = _add(units, _new(shop_id))
    with units.reading() as uow:
        for ask in (
            lambda: uow.quotes.by_id("s2", head.id),
            lambda: uow.quotes.by_serial("s2", head.serial),
            lambda: uow.quotes.revision("s2", head.id, 1),
            lambda: uow.quotes.revision(shop_id, head.id, 2),
        ):
            with pytest.raises(NotFound):
                ask()
        assert uow.quotes.page("s2", QuoteFilter(), 10).heads == ()
    with units.writing() as uow, pytest.raises(NotFound):
        uow.quotes.add(_new("nowhere"))


def test_each_shop_counts_for_itself_and_a_quote_undone_leaves_no_gap(
    units: UnitsOfWork, shop_id: str
) -> None:
    _add(units, _new(shop_id), _new(shop_id))
    with units.writing() as uow:
        assert uow.quotes.add(_new(shop_id)).serial == 10_003  # not committed
    assert _add(units, _new(shop_id))[0].serial == 10_003
    assert _add(units, _new("s2"))[0].serial == 10_001


def test_quotes_made_at_once_get_different_numbers(units: UnitsOfWork, shop_id: str) -> None:
    def make(_: int) -> int:
        return _add(units, _new(shop_id))[0].serial

    with ThreadPoolExecutor(8) as pool:
        serials = sorted(pool.map(make, range(40)))
    assert serials == list(range(10_001, 10_041))


def test_a_quote_takes_three_statements_and_one_more_for_papers_that_are_new(
    engine: Engine, units: UnitsOfWork, shop_id: str
) -> None:
    seen: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *a: seen.append(a[2].split()[0]))
    for _ in range(2):
        with units.writing() as uow:
            uow.quotes.add(_new(shop_id))
            uow.commit()
    told = [word for word in seen if word != "BEGIN"]
    assert told == ["UPDATE", "INSERT", "INSERT", "INSERT", "UPDATE", "INSERT", "INSERT"]


def test_papers_of_a_unit_that_was_not_committed_are_stored_by_the_next(
    units: UnitsOfWork, shop_id: str
) -> None:
    with units.writing() as uow:
        uow.quotes.add(_new(shop_id))
    (head,) = _add(units, _new(shop_id))
    with units.reading() as uow:
        assert uow.quotes.revision(shop_id, head.id, 1) == PAPERS


def test_another_process_finds_the_papers_that_are_there(
    engine: Engine, units: UnitsOfWork, shop_id: str
) -> None:
    _add(units, _new(shop_id))
    (head,) = _add(UnitsOfWork(engine), _new(shop_id))
    with units.reading() as uow:
        assert uow.quotes.revision(shop_id, head.id, 1) == PAPERS


def test_pages_show_every_quote_once_newest_first(units: UnitsOfWork, shop_id: str) -> None:
    # Several at the same instant, so that the id has to decide.
    heads = _add(units, *(_new(shop_id, NOW + timedelta(seconds=n // 4)) for n in range(23)))
    want = sorted(heads, key=lambda h: (h.created_at, h.id), reverse=True)
    seen: list[QuoteHead] = []
    after: Cursor | None = None
    for size in (5, 5, 5, 5, 3):
        with units.reading() as uow:
            page = uow.quotes.page(shop_id, QuoteFilter(), 5, after)
        assert len(page.heads) == size
        seen += page.heads
        after = page.after
    assert seen == want
    assert after is None


def test_a_page_that_ends_with_the_last_quote_leads_nowhere(
    units: UnitsOfWork, shop_id: str
) -> None:
    _add(units, *(_new(shop_id) for _ in range(4)))
    with units.reading() as uow:
        assert uow.quotes.page(shop_id, QuoteFilter(), 4).after is None
        assert uow.quotes.page(shop_id, QuoteFilter(), 3).after is not None


def test_quotes_that_arrive_meanwhile_do_not_shift_later_pages(
    units: UnitsOfWork, shop_id: str
) -> None:
    old = _add(units, *(_new(shop_id, NOW + timedelta(seconds=n)) for n in range(6)))
    with units.reading() as uow:
        first = uow.quotes.page(shop_id, QuoteFilter(), 3)
    _add(units, *(_new(shop_id, NOW + timedelta(seconds=10 + n)) for n in range(5)))
    with units.reading() as uow:
        second = uow.quotes.page(shop_id, QuoteFilter(), 3, first.after)
    assert [*first.heads, *second.heads] == old[::-1]


def test_filters_agree_with_the_same_filter_in_python(units: UnitsOfWork, shop_id: str) -> None:
    draw = Random(20260301)
    heads = _add(
        units,
        *(
            _new(
                shop_id,
                NOW + timedelta(minutes=minute),
                draw.choice(["draft", "accepted"]),
                draw.choice(["", "W-1", "w-1"]),
            )
            for minute in sorted(draw.choices(range(60), k=60))
        ),
    )
    middle, end = NOW + timedelta(minutes=20), NOW + timedelta(minutes=40)
    for wanted, keep in (
        (QuoteFilter(status="draft"), lambda h: h.status == "draft"),
        (QuoteFilter(reference="W-1"), lambda h: h.reference == "W-1"),
        (QuoteFilter(updated_since=middle), lambda h: h.updated_at >= middle),
        (QuoteFilter(created_from=middle), lambda h: h.created_at >= middle),
        (QuoteFilter(created_to=end), lambda h: h.created_at < end),
        (
            QuoteFilter(status="accepted", created_from=middle, created_to=end),
            lambda h: h.status == "accepted" and middle <= h.created_at < end,
        ),
    ):
        with units.reading() as uow:
            found = uow.quotes.page(shop_id, wanted, 100).heads
        assert {h.id for h in found} == {h.id for h in heads if keep(h)}
        assert 0 < len(found) < len(heads)


def test_lists_never_read_the_documents_and_use_an_index(
    sqlite_engine: Engine,
) -> None:
    seen: list[tuple[str, object]] = []
    event.listen(sqlite_engine, "before_cursor_execute", lambda *a: seen.append((a[2], a[3])))
    cursor = Cursor(NOW, "x")
    with UnitsOfWork(sqlite_engine).reading() as uow:
        uow.quotes.page("s1", QuoteFilter(), 50, cursor)
        uow.quotes.page("s1", QuoteFilter(status="draft"), 50, cursor)
        uow.quotes.page("s1", QuoteFilter(reference="W-1"), 50)
    plans = []
    for statement, values in [one for one in seen if one[0].startswith("SELECT")]:
        assert "quote_revisions" not in statement
        with sqlite_engine.connect() as connection:
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)  # type: ignore[arg-type]
            plans.append(" ".join(row.detail for row in rows))
    for plan, index in zip(
        plans, ("created_at_id", "status_created_at_id", "reference_created_at_id"), strict=True
    ):
        assert f"USING INDEX ix_quotes_shop_id_{index}" in plan
        assert "SCAN" not in plan
    assert "TEMP B-TREE" not in " ".join(plans)


def test_documents_are_text_that_people_can_read(
    engine: Engine, units: UnitsOfWork, shop_id: str
) -> None:
    _add(units, _new(shop_id))
    with engine.connect() as connection:
        assert (
            connection.execute(text("SELECT result FROM quote_revisions")).scalar() == '{"w":"16⅜"}'
        )
