"""What is sold under the margin that the shop wants is named, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from schemas.quotes.answer import costs_document
from schemas.wire.figures import plain
from service.domain.errors import BadValue
from service.domain.estimates.calculation import Estimate, estimate_request, priced_lines
from service.domain.estimates.costs import UseCost, job_cost
from service.domain.estimates.floors import under_floor
from service.domain.jobs.advice.advisory import Advisory
from service.domain.prices.totals import job_nets
from service.domain.shop import Charging, LeastMargin
from tests.domain.bench_shop import special
from tests.domain.sample_jobs import PLAIN

F = Fraction


def worked(*floors: LeastMargin) -> Estimate:
    return estimate_request([PLAIN], special(charging=Charging(least_margin=floors)))


def named(estimate: Estimate) -> list[Advisory]:
    (job,), basis = estimate.jobs, estimate.basis
    pairs = priced_lines(estimate.jobs, estimate.totals.lines, basis)
    (net, *_) = job_nets(pairs, estimate.totals, basis.shop.taxation, estimate.conditions)
    floors = basis.shop.charging.least_margin
    return list(under_floor(job.lines, job_cost(job, basis), net, floors))


def earned(component: str) -> Fraction:
    """The margin in percent of a component, reckoned apart: no discount, no tax in the prices."""
    estimate = worked()
    assert estimate.totals.discount.minor == 0
    assert not estimate.basis.shop.taxation.included
    (job,), cost = estimate.jobs, job_cost(estimate.jobs[0], estimate.basis)
    price = sum(line.amount.units() for line in job.lines if component in ("", line.component))
    spent = sum(part.amount for part in cost.materials if component in ("", part.use.component))
    if component in ("", "labour"):
        spent += cost.labour
    return (price - spent) / price * 100


@pytest.mark.parametrize("component", ["frame", "glazing", "labour", ""])
def test_one_just_under_its_margin_is_named_and_one_at_it_is_not(component: str) -> None:
    exact = earned(component)
    assert 0 < exact < 100
    assert named(worked(LeastMargin(exact, component))) == []
    (told,) = named(worked(LeastMargin(exact + F(1, 10**6), component)))
    assert (told.code, told.severity) == ("under_least_margin", "warning")
    assert told.message.startswith(component or "the job")


def test_the_price_and_the_cost_are_told_and_the_line_is_pointed_to() -> None:
    (told,) = named(worked(LeastMargin(F("99.5"), "glazing")))
    (job,) = worked().jobs
    (line,) = [line for line in job.lines if line.component == "glazing"]
    assert told.pointer == line.pointer
    assert f"is sold at {line.amount.text()} before tax" in told.message
    assert "the least margin of 99.5 %" in told.message


def test_they_stand_with_the_costs_and_not_in_the_answer() -> None:
    estimate = worked(LeastMargin(F(100), "glazing"), LeastMargin(F(100)))
    (costs,) = plain(costs_document(estimate))["jobs"]
    assert [each["path"] for each in costs["advisories"]] == ["/jobs/0/glazing", "/jobs/0"]
    assert "under_least_margin" not in {each.code for each in estimate.jobs[0].advisories}
    (silent,) = plain(costs_document(worked(LeastMargin(F(0)))))["jobs"]
    assert "advisories" not in silent


def test_of_what_is_not_priced_and_what_has_no_known_cost_nothing_is_said() -> None:
    estimate = worked(LeastMargin(F(100), "sundry"))
    assert named(estimate) == []
    (job,), basis = estimate.jobs, estimate.basis
    cost = job_cost(job, basis)
    unknown = replace(cost, materials=tuple(_unknown(part) for part in cost.materials))
    floors = (LeastMargin(F(100), "glazing"), LeastMargin(F(100)))
    assert list(under_floor(job.lines, unknown, estimate.totals.net(), floors)) == []


def _unknown(part: UseCost) -> UseCost:
    return UseCost(part.use, None, part.quantity, part.pieces, F(0))


def test_a_component_has_one_least_margin() -> None:
    floors = LeastMargin(F(10), "mat"), LeastMargin(F(20)), LeastMargin(F(30), "mat")
    with pytest.raises(BadValue) as refused:
        Charging(least_margin=floors)
    assert refused.value.where == "/least_margin/2/component"
