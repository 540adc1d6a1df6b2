"""Prices: every rule against a plain decimal reckoning of its own, and its figures by hand."""

from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Context, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.jobs.use import Use
from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.money import Currency
from service.domain.prices.lines import (
    Line,
    Slice,
    Terms,
    cost_of,
    price_labour,
    price_line,
    price_uses,
)
from service.domain.prices.lists import Bracket, PriceList, PriceRule
from service.domain.shop import Billing
from tests.domain.bench_shop import size
from tests.domain.sample_jobs import SHOP, done, mat
from tests.proofs import examples

F = Fraction
USD, JPY, BHD = Currency("USD"), Currency("JPY"), Currency("BHD")


def rule(**more: object) -> PriceRule:
    given = {"code": "r", "component": "mat", "basis": "united_inch", "method": "rate"}
    return PriceRule(**{**given, **more})


def line(priced: PriceRule, quantity: Fraction, pieces: int = 1, currency: Currency = USD) -> Line:
    return price_line(
        rule=priced, component="mat", item="WHITE", description="", pointer="", layer=0,
        basis=priced.basis, quantity=quantity, rate=priced.rate, pieces=pieces, currency=currency,
    )  # fmt: skip


def naive(priced: PriceRule, quantity: Decimal, pieces: int, digits: int) -> Decimal:
    """The amount as a person with a decimal calculator works it out."""

    def d(number: Fraction) -> Decimal:
        return Decimal(number.numerator) / Decimal(number.denominator)

    amount = quantity * d(priced.rate)
    if priced.method == "whole":
        fitting = [b for b in priced.brackets if b.up_to is None or quantity <= d(b.up_to)]
        amount = d(fitting[0].rate)
    if priced.method == "marginal":
        amount, start = Decimal(0), Decimal(0)
        for bracket in priced.brackets:
            end = quantity if bracket.up_to is None else d(bracket.up_to)
            amount += max(min(quantity, end) - start, Decimal(0)) * d(bracket.rate)
            start = end
    amount = max(amount, d(priced.minimum))
    if priced.rounding_step:
        steps = (amount / d(priced.rounding_step)).quantize(Decimal(1), ROUND_HALF_UP)
        amount = steps * d(priced.rounding_step)
    minor = Decimal(1).scaleb(-digits)
    each = amount.quantize(minor, ROUND_HALF_UP)
    return each * pieces + d(priced.set_up).quantize(minor, ROUND_HALF_UP)


def decimals(most: int, places: int) -> st.SearchStrategy[Fraction]:
    return st.integers(0, most * 10**places).map(lambda n: Fraction(n, 10**places))


@st.composite
def rules(draw: st.DrawFn) -> PriceRule:
    method = draw(st.sampled_from(["rate", "whole", "marginal"]))
    ends = sorted(draw(st.sets(st.integers(1, 120), max_size=4)))
    brackets = (*(Bracket(F(end), draw(decimals(90, 3))) for end in ends),
                Bracket(None, draw(decimals(90, 3))))  # fmt: skip
    return rule(
        method=method,
        rate=draw(decimals(50, 4)) if method == "rate" else F(0),
        brackets=() if method == "rate" else brackets,
        minimum=draw(st.just(F(0)) | decimals(40, 3)),
        set_up=draw(st.just(F(0)) | decimals(20, 3)),
        rounding_step=draw(st.sampled_from([F(0), F("0.05"), F("0.25"), F(1), F("0.3"), F(5)])),
    )


@settings(max_examples=examples(400))
@given(rules(), decimals(150, 2), st.integers(1, 30), st.sampled_from([USD, JPY, BHD]))
def test_every_rule_comes_to_what_plain_decimals_come_to(priced, quantity, pieces, currency):
    with localcontext(Context(prec=60)):
        expected = naive(
            priced, Decimal(quantity.numerator) / quantity.denominator, pieces, currency.digits
        )
        found = line(priced, quantity, pieces, currency)
        assert Decimal(found.amount.text()) == expected


TABLE = (Bracket(F(36), F(18)), Bracket(F(45), F(26)), Bracket(None, F(40)))


@pytest.mark.parametrize(
    ("quantity", "amount"),
    [("1", "18.00"), ("36", "18.00"), ("36.01", "26.00"), ("45", "26.00"), ("45.01", "40.00")],
)
def test_a_bracket_holds_its_upper_end(quantity, amount):
    # common practice, no source: 45.0 united inches are in the 45 bracket, 45.01 in the next.
    found = line(rule(method="whole", brackets=TABLE), F(quantity))
    assert found.amount.text() == amount
    assert found.rate == F(amount)


def test_a_marginal_table_shows_its_slices():
    found = line(rule(method="marginal", brackets=TABLE), F(50))
    assert found.slices == (Slice(F(36), F(18)), Slice(F(9), F(26)), Slice(F(5), F(40)))
    assert found.amount.text() == f"{36 * 18 + 9 * 26 + 5 * 40}.00"
    assert found.rate == 40


def test_the_minimum_comes_before_the_step_and_the_set_up_once_a_job():
    priced = rule(rate=F("0.10"), minimum=F("7.10"), rounding_step=F("0.25"), set_up=F(5))
    found = line(priced, F(20), pieces=3)
    assert found.each.text() == "7.00"
    assert found.amount.text() == "26.00"


def test_a_tie_of_the_step_goes_up():
    assert line(rule(rate=F("0.125"), rounding_step=F("0.25")), F(1)).each.text() == "0.25"


def use(**more: object) -> Use:
    item = SHOP.catalogue.items[str(more.pop("code", "OAK"))]
    return Use(**{"component": "frame", "item": item, "pointer": "/frames/0", **more})


def terms(*priced: PriceRule, billing: Billing | None = None, pieces: int = 1) -> Terms:
    prices = PriceList("list", USD, date(2026, 1, 1), priced)
    return Terms(prices, billing or SHOP.shop.billing, SHOP.catalogue, pieces)


def test_a_markup_is_on_the_cost_of_the_basis_that_the_item_is_bought_by():
    # Published: markup on cost of 50 % is a factor of 1.5 (3.00 -> 4.50).
    frame = rule(component="frame", basis="piece", method="markup", rate=F("1.5"))
    oak = use(footage=2 * size("12 x 12").width)
    (found,), faults = price_uses([oak], terms(frame))
    assert faults == []
    assert (found.basis, found.quantity, found.rate) == ("linear_foot", 2, F(3))
    assert found.amount.text() == "6.00"


def test_a_markup_takes_the_first_cost_that_the_use_has_a_quantity_on():
    costs = {"OAK": (ItemCost("OAK", "sheet", F(9)), ItemCost("OAK", "linear_foot", F(2)))}
    catalogue = Catalogue(SHOP.catalogue.items, costs)
    oak = use(footage=size("12 x 12").width)
    found = cost_of(oak, SHOP.shop.billing, catalogue)
    assert found is not None
    assert found.cost == 2
    assert cost_of(use(code="PLAIN"), SHOP.shop.billing, catalogue) is None


def test_a_markup_takes_the_cost_on_its_own_basis_where_there_is_one():
    # By hand: 20 x 24 is 3.33 square feet, billed 3.5, and over a quarter of 32 x 40, so half.
    costs = (ItemCost("WHITE", "square_foot", F(2)), ItemCost("WHITE", "sheet", F(12)))
    catalogue = Catalogue(SHOP.catalogue.items, {"WHITE": costs})
    white = use(code="WHITE", component="mat", size=size("20 x 24"))
    for basis, quantity, rate in (("sheet", F(1, 2), 36), ("square_foot", F(7, 2), 6)):
        by = rule(component="mat", basis=basis, method="markup", rate=F(3))
        (found,), _ = price_uses([white], replace(terms(by), catalogue=catalogue))
        assert (found.basis, found.quantity, found.rate) == (basis, quantity, rate)


def test_a_cost_of_a_sheet_is_that_of_the_sheet_that_the_piece_is_cut_from():
    # By hand: 30 x 33 does not lie on 32 x 40 by its width of 33 unless it is turned; 33 x 41 needs
    # the larger sheet, of which it is more than half.
    costs = tuple(
        ItemCost("WHITE", "sheet", F(cost), size(sheet))
        for sheet, cost in (("32 x 40", 12), ("40 x 60", 25))
    )
    catalogue = Catalogue(SHOP.catalogue.items, {"WHITE": costs})
    by = rule(component="mat", basis="sheet", method="markup", rate=F(2))
    for piece, rate, share in (
        ("30 x 33", 24, F(1)),
        ("33 x 41", 50, F(1)),
        ("33 x 33", 50, F(1, 2)),
    ):
        white = use(code="WHITE", component="mat", size=size(piece))
        (found,), _ = price_uses([white], replace(terms(by), catalogue=catalogue))
        assert (found.rate, found.quantity) == (rate, share)


def test_a_rule_by_the_foot_of_perimeter_goes_by_its_own_step():
    # By hand: 20 x 24 has 88 in round it, 7 1/3 feet.
    by = rule(component="mat", basis="perimeter_foot", rate=F(1))
    white = use(code="WHITE", component="mat", size=size("20 x 24"))
    for step, feet in ((F(1), F(8)), (F(1, 4), F("7.5"))):
        (found,), _ = price_uses([white], terms(by, billing=Billing(perimeter_foot_step=step)))
        assert found.quantity == feet


def test_what_no_rule_prices_is_a_fault_and_so_is_a_markup_without_a_cost():
    no_cost = Catalogue(SHOP.catalogue.items, {})
    frame = rule(component="frame", method="markup", rate=F(4))
    marked_up = replace(terms(frame), catalogue=no_cost)
    oak = use(footage=size("12 x 12").width)
    for on in (terms(), marked_up):
        lines, faults = price_uses([oak], on)
        assert lines == []
        assert [(fault.pointer, fault.code) for fault in faults] == [("/frames/0", "not_priced")]


def test_units_up_to_above_are_free():
    windows = rule(basis="opening", rate=F(4), above=F(1))
    board = {"code": "WHITE", "component": "mat", "size": size("16 x 20")}
    for openings, amounts in ((1, []), (2, ["4.00"]), (5, ["16.00"])):
        lines, faults = price_uses([use(**board, openings=openings)], terms(windows))
        assert faults == []
        assert [found.amount.text() for found in lines] == amounts


def test_a_basis_that_a_use_has_nothing_on_makes_no_line():
    lines, faults = price_uses([use(size=None)], terms(rule(component="frame")))
    assert (lines, faults) == ([], [])


def labour(minutes: str, **more: object) -> str | None:
    priced = rule(component="labour", basis="minute", rate=F("0.90"), **more)
    found = price_labour(F(minutes), terms(priced, pieces=7))
    return None if found is None else found.amount.text()


def test_bench_time_is_one_line_for_all_pieces_up_to_the_shops_step():
    assert labour("59.25") == "54.00"
    assert labour("0") is None
    assert price_labour(F(60), terms()) is None


def test_minutes_that_are_free_are_taken_off():
    assert labour("59.25", above=F(30)) == "27.00"
    assert labour("30", above=F(30)) is None


def test_a_jobs_lines_are_those_of_its_uses_and_its_bench():
    found = done(mats=(mat("2"),))
    components = [(each.component, each.item) for each in found.lines]
    assert components == [
        ("frame", "OAK"), ("mat", "WHITE"), ("glazing", "CLEAR"), ("mounting", "WHITE"),
        ("backing", "FOAM"), ("mounting", "HINGE"), ("labour", ""),
    ]  # fmt: skip
    assert all(each.taxable for each in found.lines)
