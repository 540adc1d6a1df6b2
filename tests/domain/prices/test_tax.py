"""Tax: the published rounding rule, several rates, on top or included, by line or by invoice."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measure.money import Currency
from service.domain.prices.tax import tax_on
from service.domain.shop import Taxation, TaxRate

USD = Currency("USD")
CENT = Decimal("0.01")


def rates(*percents: str, category: str = "goods") -> tuple[TaxRate, ...]:
    return tuple(
        TaxRate(category=category, name=f"rate {at}", percent=Fraction(percent))
        for at, percent in enumerate(percents)
    )


def amounts(*texts: str, category: str = "goods"):
    return [(category, USD.of(text)) for text in texts]


def tax(lines, *percents: str, rounded: str = "invoice", included: bool = False) -> str:
    taxation = Taxation(rates=rates(*percents), rounded=rounded, included=included)
    return tax_on(lines, taxation, USD).total.text()


@pytest.mark.parametrize(
    ("amount", "percent", "total"),
    [
        ("100.00", "8.255", "8.26"),  # G3: 8.255, third decimal 5, up
        ("100.00", "8.254", "8.25"),  # G3: 8.254, third decimal 4, stays
        ("100.00", "1.6491", "1.65"),  # third decimal 9
        ("100.00", "1.644999", "1.64"),  # third decimal 4; twice rounded it were 1.65
    ],
)
def test_the_published_rule_reads_the_third_decimal_as_computed(amount, percent, total):
    # published: Streamlined Sales and Use Tax Agreement s. 324, as enacted in R.I. Gen. Laws
    # 44-18.1-25; the figures are derived from it.
    assert tax(amounts(amount), percent) == total


@pytest.mark.parametrize(
    ("line", "many", "percent", "by_line", "by_invoice"),
    [
        ("10.05", 3, "7.25", "2.19", "2.19"),
        ("1.10", 3, "8.25", "0.27", "0.27"),
        ("0.33", 5, "8", "0.15", "0.13"),
    ],
)
def test_line_and_invoice_may_differ_by_some_cents(line, many, percent, by_line, by_invoice):
    # Derived by hand.
    lines = amounts(*[line] * many)
    assert tax(lines, percent, rounded="line") == by_line
    assert tax(lines, percent, rounded="invoice") == by_invoice


@pytest.mark.parametrize(("line", "tax_by_line"), [("1.33", "0.81"), ("1.32", "0.78")])
def test_line_by_line_each_goes_to_the_nearer_penny_and_never_just_down(line, tax_by_line):
    # published: HMRC VAT Notice 700, 17.5, and its manual VATREC12010: a line may go to the nearer
    # 1p, and must not be rounded down to a whole penny. 20 % of 1.33 is 0.266, of 1.32 0.264.
    assert tax(amounts(*[line] * 3), "20", rounded="line") == tax_by_line


def test_state_and_local_rates_are_rounded_together_and_shared_without_losing_a_cent():
    # s. 324: the rule may be applied to state plus local together. 10 % and 2.55 % of 1.00 are
    # 0.1255, so 0.13; apart they would be 0.10 + 0.03.
    found = tax_on(amounts("1.00"), Taxation(rates=rates("10", "2.55")), USD)
    assert found.total.text() == "0.13"
    assert [line.amount.text() for line in found.lines] == ["0.10", "0.03"]
    assert [line.base.text() for line in found.lines] == ["1.00", "1.00"]


@pytest.mark.parametrize(("total", "held"), [("120.00", "20.00"), ("100.00", "16.67")])
def test_a_price_that_includes_tax_holds_percent_over_a_hundred_and_percent(total, held):
    # The VAT fraction: 20/120 = 1/6 of the price (general arithmetic, no source needed).
    assert tax(amounts(total), "20", included=True) == held


def test_categories_have_rates_of_their_own_and_untaxed_ones_none():
    taxation = Taxation(rates=(*rates("8"), *rates("5", category="labour")), untaxed=("exempt",))
    lines = [*amounts("100.00"), *amounts("40.00", category="labour"), *amounts("9", category="")]
    lines += amounts("7.00", category="exempt")
    found = tax_on(lines, taxation, USD)
    assert found.total.text() == "10.00"
    assert found.unknown == ()
    assert [(line.percent, line.base.text()) for line in found.lines] == [
        (8, "100.00"),
        (5, "40.00"),
    ]


def test_a_category_without_a_rate_is_said_to_be_unknown_and_never_guessed():
    found = tax_on(amounts("5.00", category="gifts"), Taxation(rates=rates("8")), USD)
    assert found.unknown == ("gifts",)
    assert found.total.minor == 0
    assert found.lines == ()


def test_a_rate_of_nothing_is_known():
    found = tax_on(amounts("5.00"), Taxation(rates=rates("0")), USD)
    assert (found.unknown, found.total.minor) == ((), 0)
    assert [line.amount.minor for line in found.lines] == [0]


PERCENTS = st.integers(0, 30_000).map(lambda n: Fraction(n, 1000))
MINORS = st.lists(st.integers(0, 10**6), min_size=1, max_size=12)


@given(MINORS, PERCENTS, st.booleans())
def test_tax_on_top_is_decimal_arithmetic_rounded_half_up(minors, percent, by_line):
    lines = [("goods", USD.minor(minor)) for minor in minors]
    taxation = Taxation(
        rates=(TaxRate(category="goods", name="one", percent=percent),),
        rounded="line" if by_line else "invoice",
    )
    rate = Decimal(percent.numerator) / Decimal(percent.denominator) / 100
    bases = minors if by_line else [sum(minors)]
    expected = sum((Decimal(minor) / 100 * rate).quantize(CENT, ROUND_HALF_UP) for minor in bases)
    assert Decimal(tax_on(lines, taxation, USD).total.text()) == expected


@given(MINORS, st.lists(PERCENTS, min_size=1, max_size=4), st.booleans(), st.booleans())
def test_the_parts_of_the_tax_add_up_to_it(minors, percents, by_line, included):
    lines = [("goods", USD.minor(minor)) for minor in minors]
    taxation = Taxation(
        rates=tuple(TaxRate(category="goods", name=str(p), percent=p) for p in percents),
        rounded="line" if by_line else "invoice",
        included=included,
    )
    found = tax_on(lines, taxation, USD)
    assert sum(line.amount.minor for line in found.lines) == found.total.minor
    assert found.included is included
    if included:
        assert found.total.minor <= sum(minors)
