"""Money of whole documents at random: nothing is lost between lines, discounts, tax and total."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.wire.figures import plain
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, Estimate, estimate_job, total_of
from service.domain.estimates.sweep import MouldingSweep
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import PLAIN as NOTHING_SPECIAL
from service.domain.jobs.job import Conditions, JobSpec
from service.domain.materials.catalogue import Moulding
from service.domain.prices.lines import Line
from service.domain.prices.totals import FEE
from service.domain.shop import Taxation, TaxRate
from tests.domain.bench_shop import special
from tests.domain.estimates.test_sweep import differences
from tests.domain.estimates.workings.test_sizes import every_working, wrong, wrong_in_print
from tests.domain.explained import all_workings
from tests.domain.random_jobs import conditions, special_specs
from tests.domain.sample_jobs import PLAIN, spec

F = Fraction
RATES = (
    TaxRate(category="goods", name="state", percent=F("6.25")),
    TaxRate(category="goods", name="county", percent=F("1.005")),
    TaxRate(category="labour", name="state", percent=F("4")),
    TaxRate(category="goods", name="river", percent=F("8.255"), place="upriver"),
)

SHOPS = [
    special(taxation=Taxation(rates=RATES, untaxed=("labour",), rounded=rounded, included=included))
    for rounded in ("invoice", "line")
    for included in (False, True)
]


def worked(specs: list[JobSpec], shop: Basis, under: Conditions) -> Estimate:
    done = [estimate_job(assemble(one, shop.shop, shop.catalogue), shop) for one in specs]
    return Estimate(shop, tuple(done), total_of(done, shop, under), under)


def cents(lines: tuple[Line, ...], *, fees: bool) -> int:
    return sum(line.amount.minor for line in lines if (line.component == FEE) == fees)


@settings(max_examples=200)
@given(st.lists(special_specs(), min_size=1, max_size=3), st.sampled_from(SHOPS), conditions())
def test_nothing_is_lost_between_the_lines_and_the_total(
    specs: list[JobSpec], shop: Basis, under: Conditions
) -> None:
    try:
        whole = worked(specs, shop, under)
    except JobRefused:
        return
    for one in whole.jobs:
        goods, fees = cents(one.lines, fees=False), cents(one.lines, fees=True)
        assert one.subtotal.minor == goods + fees
        by_hand = sum(reduction.amount.minor for reduction in one.reductions)
        broken = one.discount.minor - by_hand
        assert 2 * abs(100 * broken - goods * one.percent_off) <= 100
        assert 0 <= one.discount.minor <= goods  # fees are never discounted
        if one.left:
            assert sum(one.left) == one.subtotal.minor - one.discount.minor
            assert min(one.left) >= 0
    totals = whole.totals
    assert totals.subtotal.minor == sum(one.subtotal.minor for one in whole.jobs)
    off = sum(one.discount.minor for one in whole.jobs)
    off += sum(reduction.amount.minor for reduction in totals.reductions)
    assert totals.discount.minor == off
    assert sum(each.minor for each in totals.off) == sum(r.amount.minor for r in totals.reductions)
    left, tax = totals.subtotal.minor - totals.discount.minor, totals.tax
    relief = totals.relief.minor if totals.relief else 0
    assert totals.total.minor == left - relief + (0 if tax.included else tax.total.minor)
    assert sum(line.amount.minor for line in tax.lines) == tax.total.minor
    if under.exempt:
        assert tax.total.minor == 0
        assert relief == 0 or tax.included


@settings(max_examples=150)
@given(special_specs(), st.sampled_from(SHOPS))
def test_a_sweep_with_discounts_and_fees_equals_its_estimates(
    any_spec: JobSpec, shop: Basis
) -> None:
    try:
        swept = assemble(any_spec, shop.shop, shop.catalogue)
        MouldingSweep(swept, shop)
    except JobRefused:
        return
    assert differences(swept, shop, shop.catalogue.of_type(Moulding)) == []


@settings(max_examples=150)
@given(st.lists(special_specs(), min_size=1, max_size=2), st.sampled_from(SHOPS), conditions())
def test_every_formula_of_a_special_document_comes_to_its_result(
    specs: list[JobSpec], shop: Basis, under: Conditions
) -> None:
    try:
        whole = worked(specs, shop, under)
    except JobRefused:
        return
    assert wrong(every_working(whole)) == []
    rows = plain(all_workings(whole))
    assert wrong_in_print(rows) == []
    figures = [row["figure"] for row in rows]
    assert len(set(figures)) == len(figures)


@pytest.mark.parametrize("shop", SHOPS, ids=lambda shop: str(shop.shop.taxation.rounded))
def test_every_amount_of_the_totals_is_explained(shop: Basis) -> None:
    hurried = spec(PLAIN, fees=("rush", "packing"), quantity=5)
    figures = {row.figure for row in all_workings(worked([hurried], shop, NOTHING_SPECIAL))}
    for at in range(len(RATES) - 1):  # the last one is of another place
        assert {f"/totals/taxes/{at}/base", f"/totals/taxes/{at}/amount"} <= figures
    assert {"/totals/tax", "/totals/total", "/totals/subtotal", "/jobs/0/discount"} <= figures
    assert {"/jobs/0/lines/6/quantity", "/jobs/0/goods", "/jobs/0/lines/0/left"} <= figures


def test_the_sliding_markup_is_shown_as_a_cost_and_a_factor() -> None:
    # GILT costs 1.00 a foot, so it is in the first bracket: 1.00 x 3.333.
    framed = replace(PLAIN.frames[0], fillet="GILT")
    whole = worked([spec(PLAIN, frames=(framed,))], SHOPS[0], NOTHING_SPECIAL)
    at = [line.component for line in whole.jobs[0].lines].index("fillet")
    rows = {row["figure"]: row for row in plain(all_workings(whole))}
    row = rows[f"/jobs/0/lines/{at}/rate"]
    assert row["inputs"] == {"cost": "1", "factor": "3.333"}
    assert row["result"] == "3.333"
