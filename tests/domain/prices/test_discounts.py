"""Discounts, fees, exemptions and places, on the demo's prices, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.demo import demo_catalogue, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import BadValue, JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job, total_of
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import Conditions, Discount, Job
from service.domain.materials.catalogue import Moulding
from service.domain.measure.length import Length, Size
from service.domain.measure.money import Currency
from service.domain.prices.discounts import take_off
from service.domain.prices.totals import FEE, job_money
from service.domain.shop import Taxation, TaxRate

USD = Currency("USD")
BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
OAK = BASIS.catalogue.items["MLD-OAK125"]
TEN = Discount(reason="trade", percent=Fraction(10))


def job(width: int = 16, height: int = 20, **more: object) -> Job:
    assert isinstance(OAK, Moulding)
    art = Artwork(Size(Length.inches(width), Length.inches(height)))
    plain = Job(label="", quantity=1, artwork=art, presentation="full_bleed", frames=(Frame(OAK),))
    return replace(plain, **more)  # type: ignore[arg-type]


def lines(done: JobEstimate) -> dict[str, str]:
    return {line.component: line.amount.text() for line in done.lines}


def test_discounts_come_off_one_after_the_other() -> None:
    # 16 x 20, moulding 1 1/4: (2 x 36 1/4 + 10) / 12 = 6.875 -> 7 ft at 2.85 x 2.9 = 8.265:
    # 57.855 to the nearest 0.05 = 57.85. Goods = frame + bench time.
    amount = Discount(reason="scratch", amount=Fraction(5), component="frame")
    done = estimate_job(job(discounts=(TEN, amount)), BASIS)
    frame = next(line for line in done.lines if line.component == "frame")
    assert frame.amount.text() == "57.85"
    goods = done.subtotal.minor
    first = (goods + 5) // 10  # ten percent, half up
    ten, five = done.reductions
    assert (ten.base.minor, ten.amount.minor) == (goods, first)
    assert five.amount.minor == 500
    assert done.discount.minor == first + 500
    assert sum(done.left) == goods - first - 500
    # What five dollars are taken off is what is left of the frame alone.
    assert five.base.minor < frame.amount.minor
    assert done.left[0] == five.base.minor - 500


def test_the_break_comes_first_and_fees_are_left_alone() -> None:
    many = job(quantity=10, fees=("rush",), discounts=(TEN,))
    done = estimate_job(many, BASIS)
    assert lines(done)["fee"] == "35.00"  # once, for ten pieces
    goods = done.subtotal.minor - 3500
    broken = goods - (goods * 10 + 50) // 100  # ten pieces: 10 % off
    (reduction,) = done.reductions
    assert reduction.base.minor == broken
    assert done.left[-1] == 3500


def test_a_fee_that_is_always_laid_on_comes_with_the_size() -> None:
    assert FEE not in lines(estimate_job(job(40, 60), BASIS))  # 100 united inches are not over
    done = estimate_job(job(41, 60), BASIS)
    fee = done.lines[-1]
    assert (fee.component, fee.item, fee.amount.text()) == (FEE, "oversize", "0.60")
    assert fee.description == "Oversize: each united inch over 100"


def test_a_fee_the_list_does_not_know_is_refused() -> None:
    with pytest.raises(JobRefused) as refused:
        estimate_job(job(fees=("rush", "gold", "oversize", "rush")), BASIS)
    assert [(f.pointer, f.code) for f in refused.value.faults()] == [
        ("/fees/1", "unknown_fee"),
        ("/fees/2", "unknown_fee"),  # nobody asks for it: it is laid on
        ("/fees/3", "twice"),
    ]


@pytest.mark.parametrize(
    ("discount", "code"),
    [
        (Discount(reason="x", amount=Fraction(10**6)), "discount_too_large"),
        (Discount(reason="x", amount=Fraction("0.001")), "bad_money"),
        (Discount(reason="x", amount=Fraction(1), component="mat"), "discount_too_large"),
    ],
)
def test_a_discount_that_cannot_be_taken_off_is_refused(discount: Discount, code: str) -> None:
    with pytest.raises(JobRefused) as refused:
        estimate_job(job(discounts=(discount,)), BASIS)
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code) == ("/discounts/0/amount", code)


@pytest.mark.parametrize(
    "wrong",
    [
        {"reason": "x"},
        {"reason": "x", "percent": Fraction(1), "amount": Fraction(1)},
        {"reason": " ", "percent": Fraction(1)},
        {"reason": "x", "percent": Fraction(0)},
        {"reason": "x", "percent": Fraction(101)},
        {"reason": "x", "amount": Fraction(0)},
    ],
)
def test_a_discount_that_makes_no_sense_is_none(wrong: dict[str, object]) -> None:
    with pytest.raises(BadValue):
        Discount(**wrong)  # type: ignore[arg-type]


def test_a_documents_discount_is_shared_over_its_jobs() -> None:
    jobs = [estimate_job(job(), BASIS), estimate_job(job(8, 10, fees=("rush",)), BASIS)]
    plain = total_of(jobs, BASIS)
    done = total_of(jobs, BASIS, Conditions(discounts=(TEN,)))
    (reduction,) = done.reductions
    assert reduction.base == plain.subtotal - USD.of("35.00")
    assert sum(off.minor for off in done.off) == reduction.amount.minor == done.discount.minor
    assert done.total == done.subtotal - done.discount + done.tax.total


def test_an_exempt_customer_pays_no_tax_on_top() -> None:
    jobs = [estimate_job(job(), BASIS)]
    done = total_of(jobs, BASIS, Conditions(exempt="school"))
    assert done.tax.total.minor == 0
    assert done.total == done.subtotal


def test_an_exempt_customer_does_not_pay_the_tax_that_prices_hold() -> None:
    # 5.5 + 0.75 = 6.25 % included: of 106.25 the tax is 6.25, so 100 is paid.
    taxation = replace(BASIS.shop.taxation, included=True)
    basis = replace(BASIS, shop=replace(BASIS.shop, taxation=taxation))
    jobs = [estimate_job(job(), basis)]
    taxed = total_of(jobs, basis)
    done = total_of(jobs, basis, Conditions(exempt="resale"))
    assert done.relief == taxed.tax.total
    assert done.total == taxed.total - taxed.tax.total == done.net()


def test_tax_is_that_of_the_place() -> None:
    # Three lines of 10.05 at 7.25 %: 30.15 x 7.25 % = 2.185875 -> 2.19 (derived).
    rates = (
        TaxRate(category="goods", name="here", percent=Fraction(5)),
        TaxRate(category="goods", name="there", percent=Fraction("7.25"), place="there"),
    )
    taxation = Taxation(rates=rates, untaxed=("labour", "fee"))
    basis = replace(BASIS, shop=replace(BASIS.shop, taxation=taxation))
    done = [estimate_job(job(), basis)]
    goods = next(line.amount.minor for line in done[0].lines if line.component == "frame")
    here, there = total_of(done, basis), total_of(done, basis, Conditions(place="there"))
    assert here.tax.total.minor == (goods * 5 + 50) // 100
    assert there.tax.total.minor == (goods * 725 + 5000) // 10000
    with pytest.raises(JobRefused, match="no tax rates for elsewhere; it has places there"):
        total_of(done, basis, Conditions(place="elsewhere"))


@given(
    amounts=st.lists(st.integers(min_value=0, max_value=10**6), min_size=1, max_size=8),
    percents=st.lists(st.fractions(min_value=Fraction(1, 100), max_value=100), max_size=4),
)
@settings(max_examples=100, deadline=None)
def test_nothing_is_lost_and_nothing_goes_below_zero(
    amounts: list[int], percents: list[Fraction]
) -> None:
    left, off = list(amounts), 0
    for percent in percents:
        discount = Discount(reason="x", percent=percent)
        off += take_off(left, range(len(left)), discount, USD, "").amount.minor
    assert sum(amounts) == sum(left) + off
    assert min(left) >= 0


def test_the_long_way_comes_to_the_same_as_the_short_one() -> None:
    for quantity in (1, 5, 10, 25):
        done = estimate_job(job(quantity=quantity), BASIS)
        terms = BASIS.terms(quantity)
        short, long = job_money(done.lines, terms), job_money(done.lines, terms, fees=True)
        assert short[:3] == long[:3]
        shares = short.discount.shared(tuple(line.amount.minor for line in done.lines))
        by_hand = [n.amount.minor - s.minor for n, s in zip(done.lines, shares, strict=True)]
        assert list(long.left) == by_hand
