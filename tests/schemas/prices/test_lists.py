"""Price list documents go in and out alike, and say where a rule is wrong."""

from datetime import date
from fractions import Fraction

import pytest

from schemas.prices.lists import dump_price_list, load_price_list
from service.domain.errors import BadValue, JobRefused
from service.domain.measure.money import Currency
from service.domain.prices.lists import Bracket, PriceList, PriceRule, QuantityBreak

RULES = (
    PriceRule(
        code="mats",
        component="mat",
        basis="united_inch",
        method="whole",
        brackets=(Bracket(Fraction(20), Fraction("8.5")), Bracket(None, Fraction(60))),
        minimum=Fraction(5),
        set_up=Fraction("1.25"),
        rounding_step=Fraction("0.05"),
    ),
    PriceRule(
        code="more openings",
        component="mat",
        charge="openings",
        basis="opening",
        method="rate",
        rate=Fraction(3),
        above=Fraction(1),
        tax_category="labour",
    ),
    PriceRule(
        code="oak joined",
        component="frame",
        item="M1",
        supply="join",
        basis="linear_foot",
        method="markup",
        rate=Fraction("3.75"),
    ),
)
LIST = PriceList(
    "2026-autumn",
    Currency("USD"),
    date(2026, 9, 1),
    RULES,
    [QuantityBreak(5, Fraction("7.5"))],
)


def test_a_price_list_comes_back_from_its_document_as_it_was():
    document = dump_price_list(LIST)
    again = load_price_list(document)
    assert (again.code, again.currency, again.first_day) == (
        LIST.code,
        LIST.currency,
        date(2026, 9, 1),
    )
    assert again.rules == LIST.rules
    assert again.breaks == LIST.breaks
    assert dump_price_list(again) == document


def test_numbers_are_decimal_text_and_an_open_end_is_null():
    document = dump_price_list(LIST)
    assert document["rules"][0]["brackets"] == [
        {"up_to": "20", "rate": "8.5"},
        {"up_to": None, "rate": "60"},
    ]
    assert document["first_day"] == "2026-09-01"
    assert document["currency"] == "USD"
    assert document["quantity_breaks"] == [{"from_quantity": 5, "percent": "7.5"}]


def test_a_rate_that_never_ends_in_decimals_is_not_written():
    third = PriceRule(code="t", component="mat", basis="piece", method="rate", rate=Fraction(1, 3))
    with pytest.raises(BadValue, match="does not end in decimals"):
        dump_price_list(PriceList("x", Currency("USD"), date(2026, 1, 1), [third]))


def faults_of(document: object) -> list[tuple[str, str]]:
    with pytest.raises(JobRefused) as refused:
        load_price_list(document)
    return [(fault.pointer, fault.code) for fault in refused.value.faults()]


def changed(at: int, **fields: object) -> dict[str, object]:
    document = dump_price_list(LIST)
    document["rules"][at].update(fields)
    return document


@pytest.mark.parametrize(
    ("at", "fields", "pointer", "code"),
    [
        (0, {"basis": "gallon"}, "/rules/0/basis", "bad_choice"),
        (0, {"minimum": "-1"}, "/rules/0/minimum", "bad_number"),
        (0, {"minimum": 0.5}, "/rules/0/minimum", "bad_number"),
        (0, {"brackets": []}, "/rules/0/brackets", "bad_value"),
        (1, {"rate": "1/3"}, "/rules/1/rate", "bad_number"),
        (1, {"code": "mats"}, "/rules/1", "bad_value"),
        (2, {"supply": "chopped"}, "/rules/2/supply", "bad_choice"),
        (2, {"minimun": "1"}, "/rules/2/minimun", "unknown_field"),
    ],
)
def test_a_wrong_rule_is_pointed_to(at, fields, pointer, code):
    assert faults_of(changed(at, **fields)) == [(pointer, code)]


def test_brackets_that_do_not_rise_are_pointed_to():
    brackets = [{"up_to": "20", "rate": "1"}, {"up_to": "10", "rate": "2"}, {"rate": "3"}]
    assert faults_of(changed(0, brackets=brackets)) == [("/rules/0/brackets/1/up_to", "bad_value")]


@pytest.mark.parametrize("currency", ["usd", "XXX", "MGA", 840, None, "US DOLLAR"])
def test_a_currency_that_amounts_cannot_be_kept_in_is_refused(currency):
    (fault,) = faults_of({**dump_price_list(LIST), "currency": currency})
    assert fault[0] == "/currency"
