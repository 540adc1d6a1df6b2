"""Costs, margin and markup, for the shop alone."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.quotes.answer import costs_document
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import estimate_request
from service.domain.estimates.costs import job_cost, margin, markup
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.money import Currency
from service.domain.shop import Taxation, TaxRate
from tests.domain.bench_shop import basis
from tests.domain.random_jobs import job_specs
from tests.domain.sample_jobs import BARE, PLAIN, SHOP, done, spec

USD = Currency("USD")
F = Fraction


def test_a_jobs_cost_is_its_materials_and_its_minutes():
    found = done(BARE)
    cost = job_cost(found, SHOP)
    (oak,) = cost.materials
    assert (oak.quantity, oak.amount) == (4, 8)  # 46 1/2 in billed as 4 ft at 2.00
    assert cost.labour == found.minutes * 30 / 60
    assert cost.total == USD.of("8.00") + USD.half_up(cost.labour)


def test_materials_cost_for_every_piece_and_set_ups_once():
    one, twelve = (job_cost(done(quantity=n), SHOP) for n in (1, 12))
    assert sum(c.amount for c in twelve.materials) == 12 * sum(c.amount for c in one.materials)
    assert twelve.labour < 12 * one.labour


def test_where_one_cost_is_not_known_the_total_is_not():
    costs = {code: cost for code, cost in SHOP.catalogue.costs.items() if code != "CLEAR"}
    shop = replace(SHOP, catalogue=Catalogue(SHOP.catalogue.items, costs))
    cost = job_cost(done(shop=shop), shop)
    assert cost.total is None
    unknown = [part.use.item.code for part in cost.materials if part.known is None]
    assert unknown == ["CLEAR"]


@settings(max_examples=100)
@given(st.lists(job_specs(), min_size=1, max_size=3))
def test_what_is_printed_of_the_costs_adds_up(specs):
    try:
        whole = estimate_request(specs, SHOP)
    except JobRefused:
        return
    shown = costs_document(whole)
    for job in shown.jobs:
        assert job.cost is None or F(job.materials) + F(job.labour) == F(job.cost)
    if shown.cost is not None:
        assert sum(F(job.cost) for job in shown.jobs) == F(shown.cost)


def test_the_margin_of_a_job_is_the_same_whatever_its_neighbours_are():
    rates = (TaxRate(category="goods", name="VAT", percent=F(20)),)
    shop = basis(taxation=Taxation(included=True, rates=rates, untaxed=("labour",)))
    alone = costs_document(estimate_request([BARE], shop)).jobs[0]
    for others in ([PLAIN], [spec(quantity=7), PLAIN]):
        assert costs_document(estimate_request([BARE, *others], shop)).jobs[0] == alone


@pytest.mark.parametrize(
    ("percent", "printed"),
    [(25, 20), (33, 25), (40, 28), (50, 33), (75, 43), (100, 50), (150, 60), (200, 67), (300, 75)],
)
def test_the_published_table_of_markup_and_margin(percent, printed):
    # published: brrinc.org, G = m/(1 + m); it prints whole percents, 40 -> 28 for 28.6.
    price, cost = USD.minor(10_000 + 100 * percent), USD.minor(10_000)
    found = margin(price, cost)
    assert found is not None
    assert abs(100 * found - printed) < 1
    assert found == F(percent, 100 + percent)
    assert markup(price, cost) == 1 + F(percent, 100)


@pytest.mark.parametrize(("cost", "price"), [("3.00", "4.50"), ("40.00", "60.00")])
def test_half_again_is_a_margin_of_a_third(cost, price):
    # Published (a price guide): cost 3.00 and 50 % is 4.50.
    assert margin(USD.of(price), USD.of(cost)) == F(1, 3)


def test_a_target_margin_of_33_percent_on_3_00_is_4_48():
    # F6: 3.00/0.67 = 4.48 (its page rounds to 4.50).
    price = USD.half_up(F(3) / (1 - F("0.33")))
    assert price.text() == "4.48"
    found = margin(price, USD.of("3.00"))
    assert found is not None
    assert round(found, 2) == F("0.33")


def test_no_price_has_no_margin_and_no_cost_no_markup():
    assert margin(USD.minor(0), USD.minor(5)) is None
    assert markup(USD.minor(5), USD.minor(0)) is None
