"""Books: loaded whole, kept until the shop changes, and the price list of the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from sqlalchemy import Engine, event

from schemas.prices.lists import standing
from service.app.prices.book import BookShelf, price_list_in_force
from service.domain.errors import NotFound, NotPriced
from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import Consumable
from service.domain.measure.length import Length
from service.domain.measure.money import Currency
from service.domain.measure.ruler import Ruler
from service.domain.prices.book import ShopBook
from service.domain.prices.lists import PriceList
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitsOfWork

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
CORNER = Shop(
    code="corner",
    name="Corner",
    currency="USD",
    time_zone="UTC",
    ruler=Ruler("in", Length.inches("0.0625")),
)
TIMES = LabourStandard("bench", Fraction(40), ())


class HandWound:
    """A monotonic clock that goes on only when it is told to."""

    def __init__(self) -> None:
        self.seconds = 100.0

    def __call__(self) -> float:
        return self.seconds


@pytest.fixture
def clock() -> HandWound:
    return HandWound()


@pytest.fixture
def shelf(units: UnitsOfWork, clock: HandWound) -> BookShelf:
    with units.writing() as uow:
        uow.shops.add("s1", CORNER)
        for code, day in (("winter", date(2026, 1, 1)), ("spring", date(2026, 3, 1))):
            uow.price_lists.put("s1", PriceList(code, Currency("USD"), day, ()))
        uow.price_lists.publish("s1", "winter", NOW)
        uow.labour_standards.put("s1", TIMES, in_use=True)
        uow.catalogue.put("s1", [Consumable(code="S1", description="Tape")], NOW)
        uow.commit()
    return BookShelf(units, 1.0, clock)


def _rename(units: UnitsOfWork, name: str) -> None:
    with units.writing() as uow:
        uow.shops.save("s1", replace(CORNER, name=name))
        uow.commit()


def test_a_book_holds_all_of_a_shop_but_no_draft(shelf: BookShelf) -> None:
    book = shelf.book("s1")
    assert (book.shop_id, book.version, book.shop) == ("s1", 2, CORNER)
    assert list(book.catalogue.items) == ["S1"]
    assert book.catalogue.version == 2
    assert [one.code for one in book.price_lists] == ["winter"]
    assert book.labour == TIMES


def test_a_book_is_kept_until_its_shop_changes(shelf: BookShelf, units: UnitsOfWork) -> None:
    first = shelf.book("s1")
    assert shelf.book("s1") is first
    _rename(units, "Other")
    assert shelf.book("s1").shop.name == "Other"


def test_a_recent_book_is_trusted_for_the_time_set_and_no_longer(
    shelf: BookShelf, units: UnitsOfWork, clock: HandWound
) -> None:
    first = shelf.recent_book("s1")
    _rename(units, "Other")
    clock.seconds += 0.9
    assert shelf.recent_book("s1") is first
    clock.seconds += 0.2
    assert shelf.recent_book("s1").shop.name == "Other"


def test_a_busy_shops_recent_book_costs_no_query(
    shelf: BookShelf, engine: Engine, clock: HandWound
) -> None:
    shelf.recent_book("s1")
    seen: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *a: seen.append(a[2]))
    shelf.recent_book("s1")
    assert seen == []
    clock.seconds += 2
    shelf.recent_book("s1")
    asked = [statement for statement in seen if not statement.startswith("BEGIN")]
    assert len(asked) == 1
    assert "shops.version" in asked[0]
    assert "settings" not in asked[0]


def test_a_time_of_zero_asks_every_time(units: UnitsOfWork, clock: HandWound) -> None:
    with units.writing() as uow:
        uow.shops.add("s1", CORNER)
        uow.commit()
    shelf = BookShelf(units, 0.0, clock)
    shelf.recent_book("s1")
    _rename(units, "Other")
    assert shelf.recent_book("s1").shop.name == "Other"


def test_there_is_no_book_of_a_shop_that_is_not_there(shelf: BookShelf) -> None:
    for ask in (shelf.book, shelf.recent_book):
        with pytest.raises(NotFound):
            ask("nowhere")


def test_a_shop_without_times_cannot_price_them(shelf: BookShelf) -> None:
    book = replace(shelf.book("s1"), labour_in_use=None)
    with pytest.raises(NotPriced, match="no labour standard"):
        _ = book.labour


def _book(shelf: BookShelf, *days: tuple[str, date]) -> ShopBook:
    lists = tuple(PriceList(code, Currency("USD"), day, ()) for code, day in days)
    return replace(shelf.book("s1"), price_lists=lists)


def test_the_list_in_force_is_the_latest_that_has_begun(shelf: BookShelf) -> None:
    first, second, third = date(2026, 1, 1), date(2026, 3, 1), date(2026, 3, 1)
    book = _book(shelf, ("winter", first), ("spring", second), ("spring-b", third))
    one_day = timedelta(days=1)
    assert price_list_in_force(book, first).code == "winter"
    assert price_list_in_force(book, second - one_day).code == "winter"
    assert price_list_in_force(book, second).code == "spring-b"
    with pytest.raises(NotPriced, match="2025-12-31"):
        price_list_in_force(book, first - one_day)


def test_a_list_stands_by_its_day_and_its_state(shelf: BookShelf, units: UnitsOfWork) -> None:
    with units.writing() as uow:
        uow.price_lists.put("s1", PriceList("summer", Currency("USD"), date(2026, 6, 1), ()))
        uow.price_lists.publish("s1", "summer", NOW)
        uow.commit()
    with units.reading() as uow:
        records = uow.price_lists.all("s1")

    def stand(day: date) -> dict[str, str]:
        return {r.price_list.code: standing(r, records, day) for r in records}

    assert stand(date(2025, 1, 1)) == {"winter": "coming", "spring": "draft", "summer": "coming"}
    assert stand(date(2026, 5, 31)) == {"winter": "in_force", "spring": "draft", "summer": "coming"}
    assert stand(date(2026, 6, 1)) == {
        "winter": "superseded",
        "spring": "draft",
        "summer": "in_force",
    }
