"""The share of a sheet that is billed, by area or by what the sheet yields, worked by hand.

The pieces are invented; one over the pieces that straight cuts give, up to the next share that is
sold: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.estimates.costs import job_cost
from service.domain.jobs.job import JobSpec
from service.domain.jobs.use import sheet_share
from service.domain.materials.catalogue import Catalogue
from service.domain.shop import Billing
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import art, done

F = Fraction
BY_YIELD = Billing(sheet_share_by="yield")


@pytest.mark.parametrize(
    ("outside", "by_area", "by_yield"),
    [
        # A 21 x 21 takes 441 of 1,280 sq in, and nothing of its size is left of a 32 x 40.
        ("21 x 21", F(1, 2), F(1)),
        # Two of 30 x 20 come from a sheet, four of 20 x 16; 3 of 32 x 13 go up to a half.
        ("30 x 20", F(1, 2), F(1, 2)),
        ("20 x 16", F(1, 4), F(1, 4)),
        ("32 x 13", F(1, 2), F(1, 2)),
        ("17 x 17", F(1, 4), F(1, 2)),
        # Beyond the 32 x 40 the smallest sheet that holds it is the 40 x 60.
        ("33 x 35", F(1, 2), F(1)),
    ],
)
def test_a_sheet_is_shared_by_area_or_by_what_it_yields(outside, by_area, by_yield):
    # common practice, no source: one over the pieces that a guillotine cuts, up to the next share.
    white = basis().catalogue.items["WHITE"]
    assert sheet_share(white, size(outside), Billing()) == by_area
    assert sheet_share(white, size(outside), BY_YIELD) == by_yield


def test_price_and_cost_follow_the_share_by_yield():
    # Foam 21 x 21 from a 40 x 60: one row of two lies along 60 and one along 40, two pieces: half,
    # 12.00 of 24.00 and a cost of 4.00 of 8.00. By area it takes 441 of 2,400 sq in: a quarter.
    backed = JobSpec(artwork=art("21 x 21"), presentation="full_bleed", backing="FOAM")
    for billing, share, price, cost in (
        (Billing(), F(1, 4), "6.00", 2),
        (BY_YIELD, F(1, 2), "12.00", 4),
    ):
        shop = basis(billing=billing)
        made = done(backed, shop=shop)
        (line,) = [line for line in made.lines if line.component == "backing"]
        assert (line.quantity, line.amount.text()) == (share, price)
        (foam,) = [each for each in job_cost(made, shop).materials if each.use.item.code == "FOAM"]
        assert (foam.quantity, foam.amount) == (share, cost)


def test_a_sawn_sheet_loses_a_kerf_at_every_cut():
    # Two of 30 x 40 fill a 40 x 60 if they are scored; a saw's 1/8 in leaves room for one.
    foam = basis().catalogue.items["FOAM"]
    assert sheet_share(foam, size("30 x 40"), BY_YIELD) == F(1, 2)
    assert sheet_share(foam, size("30 x 40"), BY_YIELD, inch("1/8")) == 1
    shop = basis(billing=BY_YIELD)
    sawn = {**shop.catalogue.items, "FOAM": replace(foam, cut_by="saw")}
    bench = replace(shop, catalogue=Catalogue(sawn, shop.catalogue.costs))
    backed = JobSpec(artwork=art("30 x 40"), presentation="full_bleed", backing="FOAM")
    (line,) = [line for line in done(backed, shop=bench).lines if line.component == "backing"]
    assert line.quantity == 1


def test_a_sheet_loses_its_edge_trim_before_it_is_shared():
    trimmed = replace(basis().catalogue.items["WHITE"], edge_trim=inch("1/4"))
    assert sheet_share(trimmed, size("20 x 16"), BY_YIELD) == F(1, 2)
