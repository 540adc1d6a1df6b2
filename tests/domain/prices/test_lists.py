"""Price lists: which rule wins, what is no rule, and breaks."""

from datetime import date
from fractions import Fraction

import pytest

from service.domain.errors import BadValue
from service.domain.measure.money import Currency
from service.domain.prices.lists import (
    BASES,
    SERVICE_BASES,
    Bracket,
    PriceList,
    PriceRule,
    QuantityBreak,
)

F = Fraction
TABLE = (Bracket(F(36), F(18)), Bracket(None, F(26)))


def rule(code: str, **more: object) -> PriceRule:
    given = {"component": "frame", "basis": "linear_foot", "method": "rate", "rate": F(1)}
    return PriceRule(code=code, **{**given, **more})


def price_list(*rules: PriceRule, breaks: tuple[QuantityBreak, ...] = ()) -> PriceList:
    return PriceList("list", Currency("USD"), date(2026, 1, 1), rules, breaks)


def codes(prices: PriceList, *what: str) -> list[str]:
    return [found.code for found in prices.rules_for(*what)]


def test_an_item_goes_over_its_group_and_a_group_over_the_component():
    prices = price_list(rule("any"), rule("wood", group="wood"), rule("oak", item="OAK"))
    assert codes(prices, "frame", "OAK", "wood") == ["oak"]
    assert codes(prices, "frame", "PINE", "wood") == ["wood"]
    assert codes(prices, "frame", "SLIM", "metal") == ["any"]
    assert codes(prices, "mat", "OAK", "wood") == []


def test_a_way_of_supply_goes_over_any_but_not_over_a_closer_name():
    prices = price_list(rule("any"), rule("chop", supply="chop"), rule("oak", item="OAK"))
    assert codes(prices, "frame", "PINE", "wood", "chop") == ["chop"]
    assert codes(prices, "frame", "PINE", "wood", "join") == ["any"]
    assert codes(prices, "frame", "OAK", "wood", "chop") == ["oak"]


def test_rules_of_different_charges_add_up_in_the_lists_order():
    prices = price_list(rule("windows", charge="openings"), rule("board"), rule("oak", item="OAK"))
    assert codes(prices, "frame", "OAK", "wood") == ["windows", "oak"]
    assert codes(prices, "frame", "OAK", "wood") == ["windows", "oak"]


def test_an_item_without_a_group_is_not_priced_by_an_empty_group():
    prices = price_list(rule("wood", group="wood"))
    assert codes(prices, "frame", "OAK", "") == []


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"component": "wall"}, "/component"),
        ({"basis": "furlong"}, "/basis"),
        ({"method": "guess"}, "/method"),
        ({"rate": F(-1)}, "/rate"),
        ({"above": F(-1)}, "/above"),
        ({"minimum": F(-1)}, "/minimum"),
        ({"set_up": F(-1)}, "/set_up"),
        ({"rounding_step": F(-1)}, "/rounding_step"),
        ({"brackets": TABLE}, "/brackets"),
        ({"method": "whole"}, "/brackets"),
        ({"method": "marginal"}, "/brackets"),
        ({"method": "whole", "brackets": (Bracket(F(36), F(1)),)}, "/brackets/0/up_to"),
        ({"method": "whole", "brackets": (Bracket(None, F(1)), *TABLE)}, "/brackets/0/up_to"),
        ({"method": "whole", "brackets": (Bracket(F(36), F(1)), *TABLE)}, "/brackets/1/up_to"),
        ({"method": "whole", "brackets": (Bracket(F(0), F(1)), *TABLE)}, "/brackets/0/up_to"),
        ({"method": "whole", "brackets": (Bracket(F(3), F(-1)), *TABLE)}, "/brackets/0/rate"),
        ({"basis": "minute"}, "/basis"),
        ({"component": "labour"}, "/basis"),
        ({"component": "labour", "basis": "minute", "method": "markup"}, "/method"),
    ],
)
def test_what_is_no_rule_is_refused(more, pointer):
    with pytest.raises(BadValue) as refused:
        rule("bad", **more)
    assert refused.value.where == pointer


@pytest.mark.parametrize("basis", sorted(set(BASES) - {"minute", *SERVICE_BASES[1:]}))
def test_a_frame_may_be_priced_on_any_basis_of_material(basis):
    assert rule("ok", basis=basis).basis == basis


def test_labour_may_have_a_rate_or_a_table():
    rule("hour", component="labour", basis="minute")
    rule("table", component="labour", basis="minute", method="marginal", brackets=TABLE)


def test_two_rules_of_one_code_or_for_one_thing_are_refused():
    for second in (rule("one", component="mat"), rule("two")):
        with pytest.raises(BadValue, match="prices the same as one") as refused:
            price_list(rule("one"), second)
        assert refused.value.where == "/rules/1"


def test_quantity_breaks_start_where_they_say():
    breaks = (QuantityBreak(10, F(15)), QuantityBreak(5, F(10)))
    prices = price_list(breaks=breaks)
    assert [prices.percent_off(n) for n in (1, 4, 5, 9, 10, 100)] == [0, 0, 10, 10, 15, 15]
    assert price_list().percent_off(100) == 0


@pytest.mark.parametrize(("quantity", "percent"), [(1, 5), (0, 5), (5, 101), (5, -1)])
def test_a_break_takes_0_to_100_percent_from_two_on(quantity, percent):
    with pytest.raises(BadValue):
        QuantityBreak(quantity, F(percent))
