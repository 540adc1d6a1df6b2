"""The customer's view of a price: groups of lines that add up to the subtotal.

What a shop puts together is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue, JobRefused
from service.domain.estimates.calculation import estimate_job
from service.domain.jobs.asked import AskedLine
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import Job, JobSpec
from service.domain.prices.groups import grouped
from service.domain.shop import GROUPS, LineGroup, distinct
from tests.domain.bench_shop import basis
from tests.domain.random_jobs import job_specs
from tests.domain.tickets.shop_jobs import spec

PLATE = AskedLine(description="Brass plate", unit_price=Fraction(18))


def test_the_usual_groups_of_a_job() -> None:
    done = estimate_job(_with_plate(spec()), basis())
    shown = grouped(done.lines, GROUPS)
    names = [group.name for group in shown]
    assert names == ["Frame", "Mats", "Glass", "Mounting and fitting", "Brass plate"]
    by_component: dict[str, int] = {}
    for line in done.lines:
        by_component[line.component] = by_component.get(line.component, 0) + line.amount.minor
    frame, mats = shown[0], shown[1]
    assert frame.minor == by_component["frame"]
    assert mats.minor == by_component["mat"] + by_component.get("fillet", 0)
    assert len(mats.told) == len(set(mats.told)) > 0
    assert shown[3].told == ()


def _with_plate(asked: JobSpec) -> Job:
    shop = basis()
    return assemble(replace(asked, lines=(PLATE,)), shop.shop, shop.catalogue)


@given(job_specs(), st.permutations([group.components for group in GROUPS]))
def test_the_amounts_add_up_to_the_subtotal(asked: JobSpec, order: list[tuple[str, ...]]) -> None:
    try:
        done = estimate_job(assemble(asked, basis().shop, basis().catalogue), basis())
    except JobRefused:
        return
    for groups in (GROUPS, (), [LineGroup(str(n), part) for n, part in enumerate(order[:2])]):
        shown = grouped(done.lines, groups)
        assert sum(group.minor for group in shown) == done.subtotal.minor


def test_a_component_is_in_one_group_at_most() -> None:
    twice = (LineGroup("a", ("mat",)), LineGroup("b", ("frame", "mat")))
    with pytest.raises(BadValue) as caught:
        distinct(twice)
    assert caught.value.where == "/groups/1/components"
    with pytest.raises(BadValue) as caught:
        distinct((LineGroup("a", ("mat",)), LineGroup("a", ("frame",))))
    assert caught.value.where == "/groups/1/name"
