"""Tax: the published rounding rule, several rates, on top or included, by line or by invoice."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measure.money import Currency
from service.domain.prices.tax import tax_on
from service.domain.shop import RATES_ROUNDED, TAX_ROUNDINGS, Taxation, TaxRate

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
    together = Taxation(rates=rates("10", "2.55"), rates_rounded="together")
    found = tax_on(amounts("1.00"), together, USD)
    assert found.total.text() == "0.13"
    assert [line.amount.text() for line in found.lines] == ["0.10", "0.03"]
    assert [line.base.text() for line in found.lines] == ["1.00", "1.00"]


def taken(lines, currency=USD, **settings: object):
    """The tax on lines of (category, amount), and each rate's part of it."""
    found = tax_on([(c, currency.of(text)) for c, text in lines], Taxation(**settings), currency)
    return found.total.text(), [line.amount.text() for line in found.lines]


def one_category(*texts: str):
    return [("goods", text) for text in texts]


def test_new_jersey_rounds_an_exact_tie_up():
    # published: nj.gov, "Calculating the tax": 20.00 at 6.625 % is 1.325, so 1.33.
    assert taken(one_category("20.00"), rates=rates("6.625"))[0] == "1.33"


def test_florida_rounds_by_the_third_decimal_since_its_brackets_are_gone():
    # published: Florida, Tax Information Publication 21A01-02: 0.74 at 6 % is 0.0444, so 0.04.
    assert taken(one_category("0.74"), rates=rates("6"))[0] == "0.04"


@pytest.mark.parametrize(("rounded", "tax_due"), [("invoice", "0.65"), ("line", "0.66")])
def test_australia_leaves_the_sum_or_each_supply_to_the_seller(rounded, tax_due):
    # published: GST Act 1999, s. 9-90 (austlii.edu.au); the figures are derived from it.
    lines = one_category("1.05", "2.15", "3.25")
    assert taken(lines, rates=rates("10"), rounded=rounded)[0] == tax_due


@pytest.mark.parametrize(("rounding", "tax_due"), [("half_down", "0.01"), ("half_up", "0.02")])
def test_new_zealand_lets_half_a_cent_be_dropped(rounding, tax_due):
    # published: Goods and Services Tax Act 1985, s. 19O: half a cent or less may be dropped. 0.10
    # at 15 % is 0.015.
    assert taken(one_category("0.10"), rates=rates("15"), rounding=rounding)[0] == tax_due
    assert taken(one_category("0.11"), rates=rates("15"), rounding=rounding)[0] == "0.02"


@pytest.mark.parametrize(
    ("rounding", "tax_due"), [("down", "99"), ("up", "100"), ("half_up", "100")]
)
def test_japan_allows_any_direction_once_for_each_rate_of_an_invoice(rounding, tax_due):
    # published: National Tax Agency, question 46 on invoices from 1 October 2023; figures derived:
    # 10 % of 997 yen is 99.7, of three lines of 333, 332 and 332.
    lines, yen = one_category("333", "332", "332"), Currency("JPY")
    assert taken(lines, yen, rates=rates("10"), rounding=rounding)[0] == tax_due


def test_quebec_prints_two_taxes_and_its_rate_has_three_decimals():
    # published: revenuquebec.ca, "Calculating the taxes": 100.00 is 5.00 + 9.98 = 114.98, and the
    # same in one step of 14.975 %.
    assert taken(one_category("100.00"), rates=rates("5", "9.975")) == ("14.98", ["5.00", "9.98"])
    assert taken(one_category("100.00"), rates=rates("14.975"))[0] == "14.98"


def test_ontarios_parts_are_rounded_together_or_each():
    # published: Canada Revenue Agency case 125136 (31.95 at 13 %, either way if it is consistent);
    # the sums are derived: 4.1535, or 1.5975 + 2.556.
    parts = {"rates": rates("5", "8")}
    assert taken(one_category("31.95"), **parts, rates_rounded="together")[0] == "4.15"
    assert taken(one_category("31.95"), **parts) == ("4.16", ["1.60", "2.56"])


@pytest.mark.parametrize(("gross", "net"), [("2.95", "2.56"), ("12.95", "11.26")])
def test_of_a_price_that_includes_two_taxes_the_net_is_what_they_leave(gross, net):
    # By hand, with 5 % and 10 %: 2.95 holds 0.128 + 0.257, and its net alone would round to 2.57.
    found, parts = taken(one_category(gross), included=True, rates=rates("5", "10"))
    assert (USD.of(gross) - USD.of(found)).text() == net
    assert sum(Fraction(part) for part in parts) == Fraction(found)


@pytest.mark.parametrize(
    ("percent", "gross", "held"),
    [("20", "60.00", "10.00"), ("5", "80.00", "3.81"), ("17.5", "24.00", "3.57")],
)
def test_the_published_vat_fractions(percent, gross, held):
    # published: HMRC, the VAT fraction: 1/6 at 20 %, 1/21 at 5 %, 7/47 at 17.5 %.
    assert taken(one_category(gross), included=True, rates=rates(percent))[0] == held


@pytest.mark.parametrize(("rounded", "tax_due"), [("line", "5.62"), ("invoice", "5.62")])
def test_two_rates_on_two_lines(rounded, tax_due):
    # published: an accounting service's documentation (developer.wafeq.com): 45.30 at 5 % is 2.27,
    # 33.45 at 10 % is 3.35; each has one line, so the invoice's bases are the same.
    both = {"rates": (*rates("5"), *rates("10", category="labour"))}
    lines = [("goods", "45.30"), ("labour", "33.45")]
    assert taken(lines, **both, rounded=rounded)[0] == tax_due
    assert taken(lines, **both, rates_rounded="together")[0] == "5.61"


def test_what_is_printed_of_each_rate_follows_from_its_base():
    # By hand: 177.00 at 5.5 % is 9.735 and at 0.75 % is 1.3275.
    found = taken(one_category("177.00"), rates=rates("5.5", "0.75"))
    assert found == ("11.07", ["9.74", "1.33"])


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


@given(
    MINORS,
    st.lists(PERCENTS, min_size=1, max_size=4),
    st.booleans(),
    st.booleans(),
    st.sampled_from(RATES_ROUNDED),
    st.sampled_from(TAX_ROUNDINGS),
)
def test_the_parts_of_the_tax_add_up_to_it(minors, percents, by_line, included, each, rounding):
    lines = [("goods", USD.minor(minor)) for minor in minors]
    taxation = Taxation(
        rates=tuple(TaxRate(category="goods", name=str(p), percent=p) for p in percents),
        rounded="line" if by_line else "invoice",
        included=included,
        rates_rounded=each,
        rounding=rounding,
    )
    found = tax_on(lines, taxation, USD)
    assert sum(line.amount.minor for line in found.lines) == found.total.minor
    assert found.included is included
    if included and rounding != "up":
        assert found.total.minor <= sum(minors)
