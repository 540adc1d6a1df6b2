"""Golden cases of money and time, through rules, tax and bench time.

A row is: case, source and mark, why our conventions give it, what goes in, what comes out.
"""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from service.domain.estimates.calculation import Basis, estimate
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import JobSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.use import billed_united_inches
from service.domain.labour.standard import LabourStandard, Operation
from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.money import Currency
from service.domain.prices.lists import Bracket, PriceList, PriceRule
from service.domain.shop import Taxation, TaxRate
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import BARE, PLAIN, SHOP, mat

F = Fraction
USD = Currency("USD")


def priced(*rules: PriceRule, costs: tuple[ItemCost, ...] = (), **more: object) -> Basis:
    """The invented shop with these rules alone; what they leave out is free and takes no time."""
    named = {rule.component for rule in rules}
    free = [
        PriceRule(code=f"free {part}", component=part, basis="piece", method="rate")
        for part in ("frame", "mat", "glazing", "mounting", "backing")
        if part not in named
    ]
    kept = {cost.item: (cost,) for cost in costs}
    return replace(
        SHOP,
        catalogue=Catalogue(SHOP.catalogue.items, kept),
        price_list=PriceList("golden", USD, date(2026, 1, 1), [*rules, *free]),
        **{"standard": LabourStandard("none", F(0), ()), **more},
    )


def subtotal(spec: JobSpec, shop: Basis) -> str:
    return estimate([assemble(spec, shop.shop, shop.catalogue)], shop).totals.subtotal.text()


def bench(minutes: str, an_hour: str) -> str:
    """So many minutes of a job at so much an hour, through a labour rule."""
    rule = PriceRule(
        code="hour", component="labour", basis="minute", method="rate", rate=F(an_hour) / 60
    )
    time = Operation("work", "work", "job", F(minutes))
    return subtotal(BARE, priced(rule, standard=LabourStandard("golden", F(0), (time,))))


@pytest.mark.parametrize(
    ("minutes", "an_hour", "amount"),
    [
        ("390", "65", "422.50"),  # 6.5 h x 65
        ("15", "50", "12.50"),  # a quarter of an hour at 50/h
        ("15", "60", "15.00"),  # a quarter of an hour at 60/h
    ],
)
def test_amounts_of_bench_time(minutes, an_hour, amount):
    # Common practice, worked by hand. A rate an hour is a sixtieth a minute, kept as a fraction, so
    # nothing is lost on the way.
    assert bench(minutes, an_hour) == amount


@pytest.mark.parametrize(
    ("cost", "percent", "price"),
    [
        ("3.00", "50", "4.50"),
        ("40", "50", "60.00"),
        ("240", "44", "345.60"),
        ("440", "44", "633.60"),
    ],
)
def test_markups(cost, percent, price):
    # Common practice, worked by hand: cost + 50 %; overhead of 20 % and then profit of 20 % are
    # 1.2 x 1.2 = 1.44 times the cost.
    rule = PriceRule(
        code="markup", component="frame", basis="piece", method="markup", rate=1 + F(percent) / 100
    )
    assert subtotal(BARE, priced(rule, costs=(ItemCost("OAK", "piece", F(cost)),))) == price


def test_extra_openings_are_those_after_the_first():
    # published: board 8.00, extra openings 3.00 each, quoted 20.00 for five openings.
    board = PriceRule(code="board", component="mat", basis="piece", method="rate", rate=F(8))
    extra = PriceRule(
        code="extra", component="mat", basis="opening", method="rate", rate=F(3),
        charge="openings", above=F(1),
    )  # fmt: skip
    five = replace(PLAIN, openings=Grid(1, 5, inch("1")), mats=(mat("2"),))
    assert subtotal(five, priced(board, extra)) == "20.00"


def test_forty_eight_windows_for_a_lump():
    # Published, a forum of framers: 48 equal windows for 40; a minimum holds it up.
    lump = PriceRule(
        code="lump", component="mat", basis="opening", method="rate", rate=F("0.01"),
        minimum=F(40),
    )  # fmt: skip
    many = replace(PLAIN, openings=Grid(6, 8, inch("1")), artwork=Artwork(size("3 x 3")))
    assert subtotal(many, priced(lump)) == "40.00"


@pytest.mark.parametrize(("united", "amount"), [("45", "26.00"), ("45 1/16", "40.00")])
def test_45_united_inches_are_in_the_45_bracket_and_a_sixteenth_more_is_not(united, amount):
    # common practice, no source. 45 1/16 united inches are billed as 46.
    table = (Bracket(F(45), F(26)), Bracket(None, F(40)))
    rule = PriceRule(
        code="t", component="glazing", basis="united_inch", method="whole", brackets=table
    )
    width = inch(united) - inch("25")
    spec = replace(BARE, artwork=Artwork(replace(size("1 x 25"), width=width)),
                   glazing=PLAIN.glazing)  # fmt: skip
    assert subtotal(spec, priced(rule)) == amount


@pytest.mark.parametrize(
    ("size_", "united"), [("24 x 36", 60), ("24 x 72", 96), ("16 x 20", 36), ("10 x 30", 40)]
)
def test_published_united_inches_are_billed_as_they_are(size_, united):
    # published: metaglossary.com, "United Inches"; 16 + 20 from a footage chart.
    assert billed_united_inches(size(size_), SHOP.shop.billing) == united


def taxed(percent: str, price: str, pieces: int, rounded: str) -> tuple[str, str]:
    """Tax and total on so many jobs of one line each at `price`."""
    rate = TaxRate(category="goods", name="Sales tax", percent=F(percent))
    shop = basis(taxation=Taxation(rates=(rate,), rounded=rounded))
    rule = PriceRule(code="one", component="frame", basis="piece", method="rate", rate=F(price))
    shop = replace(priced(rule), shop=shop.shop)
    jobs = [assemble(BARE, shop.shop, shop.catalogue)] * pieces
    totals = estimate(jobs, shop).totals
    return totals.tax.total.text(), totals.total.text()


@pytest.mark.parametrize(
    ("percent", "price", "pieces", "rounded", "tax", "total"),
    [
        ("8.255", "100.00", 1, "invoice", "8.26", "108.26"),  # half up to the cent
        ("8.254", "100.00", 1, "invoice", "8.25", "108.25"),  # half up to the cent
        ("7.25", "10.05", 3, "line", "2.19", "32.34"),  # derived from the same rule
        ("7.25", "10.05", 3, "invoice", "2.19", "32.34"),
        ("8.25", "1.10", 3, "line", "0.27", "3.57"),
        ("8.25", "1.10", 3, "invoice", "0.27", "3.57"),
        ("8", "0.33", 5, "line", "0.15", "1.80"),
        ("8", "0.33", 5, "invoice", "0.13", "1.78"),
    ],
)
def test_whole_quotes_are_taxed_by_the_published_rule(percent, price, pieces, rounded, tax, total):
    # published: Streamlined Sales and Use Tax Agreement s. 324 in R.I. Gen. Laws 44-18.1-25;
    # the figures are worked out from it.
    assert taxed(percent, price, pieces, rounded) == (tax, total)
