"""Services of the price list and free lines: priced by hand here, from invented rules.

Bands of distance for a delivery, a least charge for hanging at the customer's, and free days of
storage are common practice, no source. The arithmetic is worked by hand beside each.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from service.domain.errors import BadValue, JobRefused
from service.domain.jobs.asked import AskedLine
from service.domain.jobs.job import Discount
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.money import Currency
from service.domain.prices.asked import price_asked
from service.domain.prices.lines import Terms
from service.domain.prices.lists import Bracket, PriceList, PriceRule, QuantityBreak
from service.domain.prices.totals import job_money
from service.domain.shop import Billing

DELIVERY = PriceRule(
    code="delivery",
    component="service",
    item="delivery",
    basis="mile",
    method="whole",
    brackets=(
        Bracket(Fraction(5), Fraction(20)),
        Bracket(Fraction(15), Fraction(35)),
        Bracket(None, Fraction(60)),
    ),
    tax_category="fee",
)
HANGING = PriceRule(
    code="hanging",
    component="service",
    item="hanging",
    basis="hour",
    method="rate",
    rate=Fraction(55),
    minimum=Fraction(40),
)
STORAGE = PriceRule(
    code="storage",
    component="service",
    item="storage",
    basis="day",
    method="rate",
    rate=Fraction("0.75"),
    above=Fraction(30),
)
LIST = PriceList(
    "p",
    Currency("USD"),
    date(2026, 1, 1),
    (DELIVERY, HANGING, STORAGE),
    (QuantityBreak(2, Fraction(10)),),
)


def asked(service: str, quantity: str = "1") -> AskedLine:
    return AskedLine(service=service, quantity=Fraction(quantity))


def free(price: str, quantity: str = "1") -> AskedLine:
    return AskedLine(description="x", unit_price=Fraction(price), quantity=Fraction(quantity))


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        (asked("delivery", "5"), "20.00"),  # the bracket's end belongs to it
        (asked("delivery", "5.01"), "35.00"),
        (asked("delivery", "40"), "60.00"),
        (asked("hanging", "0.5"), "40.00"),  # 27.50 is below the least charge
        (asked("hanging", "1.25"), "68.75"),  # 1.25 x 55
        (asked("storage", "42"), "9.00"),  # 12 days x 0.75
        (free("12.50", "3"), "37.50"),
        (free("0.335", "3"), "1.01"),  # 1.005, half up
    ],
)
def test_a_line_by_hand(line: AskedLine, amount: str) -> None:
    (priced,) = price_asked([line], LIST)
    assert priced.amount.text() == amount


def test_days_that_are_free_have_no_line() -> None:
    assert price_asked([asked("storage", "30")], LIST) == []


def test_a_service_that_is_not_on_the_list_is_named_with_those_that_are() -> None:
    with pytest.raises(JobRefused) as caught:
        price_asked([free("1"), asked("polish")], LIST)
    (fault,) = caught.value.faults()
    assert (fault.pointer, fault.code) == ("/lines/1/service", "unknown_service")
    assert "delivery, hanging, storage" in fault.detail


def test_breaks_and_discounts_leave_them_alone_unless_they_are_named() -> None:
    lines = price_asked([free("100"), asked("delivery")], LIST)
    terms = Terms(LIST, Billing(), Catalogue({}, {}), 2)
    half = Discount(reason="r", percent=Fraction(50))
    assert job_money(lines, terms, [half], fees=True).discount.text() == "0.00"
    named = Discount(reason="r", percent=Fraction(50), component="sundry")
    assert job_money(lines, terms, [named], fees=True).discount.text() == "50.00"


@pytest.mark.parametrize(
    ("bad", "pointer"),
    [
        ({"description": "x"}, "/unit_price"),
        ({"service": "delivery", "unit_price": Fraction(3)}, "/unit_price"),
        ({"unit_price": Fraction(3)}, "/description"),
        ({"service": "delivery", "quantity": Fraction(0)}, "/quantity"),
        ({"service": "delivery", "minutes": Fraction("0.001")}, "/minutes"),
    ],
)
def test_a_line_is_one_thing_and_whole(bad: dict[str, object], pointer: str) -> None:
    with pytest.raises(BadValue) as caught:
        AskedLine(**bad)  # type: ignore[arg-type]
    assert caught.value.where == pointer


@pytest.mark.parametrize(
    ("bad", "pointer"),
    [
        ({"basis": "united_inch"}, "/basis"),
        ({"item": ""}, "/item"),
        ({"method": "markup", "brackets": ()}, "/method"),
        ({"component": "mat"}, "/basis"),
    ],
)
def test_a_rule_of_a_service_is_checked(bad: dict[str, object], pointer: str) -> None:
    plain: dict[str, object] = {
        "code": "s",
        "component": "service",
        "item": "s",
        "basis": "mile",
        "method": "rate",
        "rate": Fraction(1),
    }
    with pytest.raises(BadValue) as caught:
        PriceRule(**{**plain, **bad})  # type: ignore[arg-type]
    assert caught.value.where == pointer
