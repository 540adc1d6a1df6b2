"""Shops, price lists, labour standards and keys in storage. All of it is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest

from schemas.keys import KeyRecord
from service.domain.errors import Conflict, NotFound
from service.domain.labour.standard import LabourStandard, Operation
from service.domain.measure.length import Length
from service.domain.measure.money import Currency
from service.domain.measure.ruler import Ruler
from service.domain.prices.lists import Bracket, PriceList, PriceRule, QuantityBreak
from service.domain.shop import Bench, Shop
from service.persistence.unit_of_work import UnitsOfWork

NOW = datetime(2026, 3, 1, 9, 30, 0, 250, tzinfo=UTC)
CORNER = Shop(
    code="corner",
    name="Corner",
    currency="USD",
    time_zone="America/New_York",
    ruler=Ruler("in", Length.inches("0.0625")),
)
RULE = PriceRule(code="R1", component="frame", basis="linear_foot", method="rate", rate=Fraction(9))
TABLE = PriceRule(
    code="R2",
    component="mat",
    basis="united_inch",
    method="marginal",
    brackets=(Bracket(Fraction(40), Fraction(1, 3)), Bracket(None, Fraction("0.5"))),
)
TIMES = LabourStandard(
    "bench", Fraction("41.5"), (Operation("cut", "Cut rails", "rails", Fraction(1, 3)),)
)


@pytest.fixture
def shop_id(units: UnitsOfWork) -> str:
    with units.writing() as uow:
        uow.shops.add("s1", CORNER)
        uow.shops.add("s2", replace(CORNER, code="harbour"))
        uow.commit()
    return "s1"


def _list(code: str, day: date, *rules: PriceRule) -> PriceList:
    return PriceList(code, Currency("USD"), day, rules, [QuantityBreak(5, Fraction(10))])


def test_a_shop_is_found_by_id_and_by_code(units: UnitsOfWork, shop_id: str) -> None:
    with units.reading() as uow:
        assert uow.shops.by_id(shop_id) == uow.shops.by_code("corner")
        assert uow.shops.by_id(shop_id).shop == CORNER
        assert uow.shops.version(shop_id) == uow.shops.by_id(shop_id).version == 1


def test_a_shop_that_is_not_there_is_not_found(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        for ask in (uow.shops.by_id, uow.shops.by_code, uow.shops.version):
            with pytest.raises(NotFound):
                ask("nowhere")
        with pytest.raises(NotFound):
            uow.shops.save("s2", CORNER)  # another shop's code


def test_a_shops_code_is_its_own(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        with pytest.raises(Conflict, match="a shop corner already"):
            uow.shops.add("s3", CORNER)
        uow.shops.add("s3", replace(CORNER, code="hill"))  # the transaction goes on
        uow.commit()


def test_every_change_makes_a_new_version_once_a_commit(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        uow.shops.save(shop_id, replace(CORNER, bench=Bench(stops=False)))
        uow.price_lists.put(shop_id, _list("spring", date(2026, 3, 1), RULE))
        uow.labour_standards.put(shop_id, TIMES, in_use=True)
        uow.commit()
    with units.writing() as uow:
        uow.price_lists.publish(shop_id, "spring", NOW)
        uow.commit()
    with units.writing() as uow:
        uow.catalogue.put(shop_id, [], NOW)  # undone: never committed
    with units.reading() as uow:
        assert uow.shops.version(shop_id) == 3
        assert uow.shops.version("s2") == 1
        assert uow.shops.by_id(shop_id).shop.bench.stops is False


def test_price_lists_come_in_the_order_in_which_they_come_into_force(
    units: UnitsOfWork, shop_id: str
) -> None:
    with units.writing() as uow:
        for code, day in (("b", 2), ("d", 2), ("a", 3), ("c", 1)):
            uow.price_lists.put(shop_id, _list(code, date(2026, 3, day), RULE, TABLE))
        uow.price_lists.publish(shop_id, "d", NOW)
        uow.price_lists.publish(shop_id, "b", NOW + timedelta(seconds=1))
        uow.price_lists.publish(shop_id, "c", NOW)
        uow.commit()
    with units.reading() as uow:
        found = uow.price_lists.all(shop_id)
        assert [(r.price_list.code, r.state) for r in found] == [
            ("c", "published"),
            ("d", "published"),
            ("b", "published"),
            ("a", "draft"),
        ]
        assert found[0].published_at == NOW
        assert found[0].price_list.rules == (RULE, TABLE)
        assert found[0].price_list.breaks == (QuantityBreak(5, Fraction(10)),)
        assert found[0].price_list.currency == Currency("USD")
        assert found[0].price_list.first_day == date(2026, 3, 1)
        assert uow.price_lists.all("s2") == ()


def test_a_draft_may_change_and_a_published_list_may_not(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        uow.price_lists.put(shop_id, _list("spring", date(2026, 3, 1), RULE))
        uow.price_lists.put(shop_id, _list("spring", date(2026, 4, 1), TABLE))
        uow.price_lists.publish(shop_id, "spring", NOW)
        uow.price_lists.publish(shop_id, "spring", NOW + timedelta(days=1))
        with pytest.raises(Conflict, match="published and quotes were made by it"):
            uow.price_lists.put(shop_id, _list("spring", date(2026, 5, 1), RULE))
        record = uow.price_lists.by_code(shop_id, "spring")
        assert (record.price_list.first_day, record.published_at) == (date(2026, 4, 1), NOW)
        for shop, code in ((shop_id, "winter"), ("s2", "spring")):
            with pytest.raises(NotFound):
                uow.price_lists.by_code(shop, code)
            with pytest.raises(NotFound):
                uow.price_lists.publish(shop, code, NOW)


def test_one_labour_standard_is_in_use(units: UnitsOfWork, shop_id: str) -> None:
    apprentice = replace(TIMES, code="apprentice", cost_per_hour=Fraction(1, 7))
    with units.writing() as uow:
        with pytest.raises(NotFound, match="no labour standard in use"):
            uow.labour_standards.in_use(shop_id)
        uow.labour_standards.put(shop_id, TIMES, in_use=True)
        uow.labour_standards.put(shop_id, apprentice, in_use=False)
        assert uow.labour_standards.in_use(shop_id) == TIMES
        assert uow.labour_standards.all(shop_id) == (apprentice, TIMES)
        uow.labour_standards.put(shop_id, apprentice, in_use=True)
        assert uow.labour_standards.in_use(shop_id) == apprentice
        with pytest.raises(NotFound):
            uow.labour_standards.in_use("s2")


def test_keys_are_kept_revoked_and_their_use_noted(units: UnitsOfWork, shop_id: str) -> None:
    key = KeyRecord("k1", shop_id, "till", "0" * 64, frozenset({"price", "bench"}), NOW)
    later = NOW + timedelta(minutes=30)
    with units.writing() as uow:
        uow.keys.add(key)
        assert uow.keys.by_id("k1") == key
        assert uow.keys.of_shop(shop_id) == (key,)
        assert uow.keys.of_shop("s2") == ()
        uow.keys.used("k1", NOW, NOW - timedelta(hours=1))
        uow.keys.used("k1", later, later - timedelta(hours=1))  # too soon to be noted again
        assert uow.keys.by_id("k1").last_used_at == NOW
        uow.keys.used("k1", later, NOW)
        assert uow.keys.by_id("k1").last_used_at == later
        with pytest.raises(NotFound):
            uow.keys.revoke("s2", "k1", NOW)
        with pytest.raises(NotFound):
            uow.keys.revoke(shop_id, "k2", NOW)
        uow.keys.revoke(shop_id, "k1", NOW)
        uow.keys.revoke(shop_id, "k1", later)
        assert uow.keys.by_id("k1").revoked_at == NOW
