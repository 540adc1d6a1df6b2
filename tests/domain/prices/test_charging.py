"""Price levels, price endings and the minimum of an order, by hand and at random."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.estimates.answer import estimate_document
from schemas.quotes.figures.documents import keep, worked_now, worked_then
from schemas.quotes.figures.records import read_figures
from schemas.wire.figures import plain
from schemas.wire.record import encode
from service.domain.errors import BadValue, JobRefused
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.estimates.sweep import MouldingSweep
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import PLAIN as NOTHING_SPECIAL
from service.domain.jobs.job import Conditions, JobSpec
from service.domain.materials.catalogue import Moulding
from service.domain.shop import Charging, LevelFactor, PriceEnding, PriceLevel
from tests.domain.bench_shop import special
from tests.domain.estimates.workings.test_sizes import every_working, wrong, wrong_in_print
from tests.domain.explained import all_workings
from tests.domain.random_jobs import conditions, special_specs
from tests.domain.sample_jobs import BARE, PLAIN

F = Fraction
TRADE = PriceLevel(
    code="trade",
    name="Trade",
    factors=(LevelFactor(factor=F("0.8")), LevelFactor(factor=F("0.75"), component="frame")),
)
AT_LINE = Charging(ending=PriceEnding(at="line", step=F(1), ending=F("0.95")))
AT_JOB = Charging(ending=PriceEnding(at="job", step=F(5)))
AT_ORDER = Charging(
    order_minimum=F(60), ending=PriceEnding(at="order", step=F(10), ending=F("9.5"))
)
SHOPS = [special(charging=charging, levels=(TRADE,)) for charging in (AT_LINE, AT_JOB, AT_ORDER)]


@pytest.mark.parametrize(
    ("step", "ending", "given", "ended"),
    [("1", "0.95", "12.30", "12.95"), ("1", "0.95", "12.95", "12.95"),
     ("1", "0.95", "12.96", "13.95"), ("5", "0", "12.30", "15.00"), ("10", "9.5", "9.51", "19.50"),
     ("0.25", "0", "0.01", "0.25"), ("1", "0.95", "0.00", "0.00"), ("1", "0.95", "0.10", "0.95")],
)  # fmt: skip
def test_a_price_ends_at_the_next_such_amount_and_never_below(step, ending, given, ended):
    # By hand; the practice is marketing, and studies of it find no consistent effect.
    rule = PriceEnding(at="line", step=F(step), ending=F(ending))
    assert F(rule.ended(int(F(given) * 100), 100), 100) == F(ended)


@pytest.mark.parametrize(("step", "ending"), [("0", "0"), ("1", "1"), ("1", "-0.1")])
def test_an_ending_that_makes_no_sense_is_refused(step, ending):
    with pytest.raises(BadValue):
        PriceEnding(at="line", step=F(step), ending=F(ending))


def worked(specs: list[JobSpec], shop: Basis, under: Conditions = NOTHING_SPECIAL) -> Estimate:
    return estimate_request(specs, shop, under)


def test_a_level_is_a_factor_on_each_component():
    shop = special(levels=(TRADE,))
    usual, trade = worked([PLAIN], shop), worked([PLAIN], shop, Conditions(level="trade"))
    for before, after in zip(usual.jobs[0].lines, trade.jobs[0].lines, strict=True):
        factor = {"frame": F("0.75"), "fee": F(1)}.get(before.component, F("0.8"))
        assert after.factor == factor
        assert abs(after.each.units() - before.each.units() * factor) <= F(1, 100)
    assert plain(estimate_document(trade))["totals"]["price_level"] == "trade"
    with pytest.raises(JobRefused) as refused:
        worked([PLAIN], shop, Conditions(level="school"))
    assert [fault.pointer for fault in refused.value.faults()] == ["/price_level"]


def test_an_order_is_brought_to_its_minimum_by_a_line_of_its_own():
    shop = special(charging=Charging(order_minimum=F(500)))
    done = worked([BARE], shop)
    assert {line.item for line in done.totals.lines} == {"order_minimum"}
    assert done.totals.subtotal.units() - done.totals.discount.units() == 500
    taxed = {each.rule.tax_category for each in done.jobs[0].lines}
    assert {line.rule.tax_category for line in done.totals.lines} <= taxed
    assert worked([BARE], special(charging=Charging(order_minimum=F(1)))).totals.lines == ()


@settings(max_examples=60)
@given(st.lists(special_specs(), min_size=1, max_size=2), st.sampled_from(SHOPS), conditions(),
       st.booleans())  # fmt: skip
def test_what_is_added_ends_as_it_should_and_is_explained(specs, shop, under, trade):
    try:
        whole = worked(specs, shop, replace(under, level="trade" if trade else ""))
    except JobRefused:
        return
    ending = shop.shop.charging.ending
    left = whole.totals.subtotal.minor - whole.totals.discount.minor
    if ending.at == "order" and left:
        assert (left - ending.ending * 100) % (ending.step * 100) == 0
        assert left >= shop.shop.charging.order_minimum * 100
    for job in whole.jobs:
        if ending.at == "job" and job.subtotal.minor:
            assert (job.subtotal.units() - ending.ending) % ending.step == 0
    assert wrong(every_working(whole)) == []
    assert wrong_in_print(plain(all_workings(whole))) == []


@settings(max_examples=40)
@given(special_specs(), st.sampled_from(SHOPS), conditions())
def test_what_is_kept_is_what_was_worked_out(one, shop, under):
    try:
        made = worked_now(worked([one], shop, replace(under, level="trade")))
    except JobRefused:
        return
    kept = worked_then(read_figures(encode(keep(made))), shop)
    assert kept.estimate.totals == made.estimate.totals
    assert kept.estimate.jobs[0].lines == made.estimate.jobs[0].lines
    assert kept.estimate.basis.level == TRADE


@pytest.mark.parametrize("shop", SHOPS)
def test_a_sweep_equals_the_estimates(shop):
    sweep = MouldingSweep(assemble(PLAIN, shop.shop, shop.catalogue), shop)
    for moulding in shop.catalogue.of_type(Moulding):
        choice = sweep.with_moulding(moulding)
        if choice.totals is None:
            continue
        frame = replace(PLAIN.frames[0], moulding=moulding.code)
        alone = worked([replace(PLAIN, frames=(frame,))], shop)
        assert choice.totals.total == alone.totals.total
