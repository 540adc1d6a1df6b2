"""The sale made when a quote is accepted: the figures that reports add up.

The money of each line is net of every discount and of tax, and adds up to the total without tax.
Material is recorded as the quote shows it: each quantity to a millionth of its unit, half up. So
the reports equal the sum of the shop's quotes added by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from service.domain.estimates.calculation import Estimate, JobEstimate, priced_lines
from service.domain.estimates.costs import JobCost, job_cost, total_cost
from service.domain.jobs.use import Use
from service.domain.materials.catalogue import Moulding
from service.domain.measure.length import Size
from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import half_up
from service.domain.prices.totals import line_nets
from service.domain.shop import Billing
from service.domain.value import dataclass

MILLION = 1_000_000
SIZE_BASES = ("united_inch", "square_foot")
"""The bases that any rectangle can be billed by."""


class SoldPart(NamedTuple):
    """The net amount of one item, or fee, in one component, in minor units; labour has no item.

    A component's parts add up over all jobs of a quote.
    """

    component: str
    item: str
    net: int


class UsedMaterial(NamedTuple):
    """The quantity of an item that a quote uses, on one basis, in millionths of its unit."""

    item: str
    basis: str
    millionths: int


@dataclass(frozen=True, slots=True)
class Sale:
    """An accepted quote as reports see it.

    `own` is the shop's own currency, in which `cost` is given; `cost` is None if the cost of any
    material is unknown.
    """

    total: Money
    tax: Money
    own: Currency
    cost: Money | None
    parts: tuple[SoldPart, ...]
    materials: tuple[UsedMaterial, ...]


def sale_of(done: Estimate, costs: Sequence[JobCost] | None = None) -> Sale:
    """Return the sale made by accepting an estimate; `costs` are its jobs', if known."""
    basis = done.basis
    if costs is None:
        costs = [job_cost(job, basis) for job in done.jobs]
    return Sale(
        total=done.totals.total,
        tax=done.totals.tax.total,
        own=Currency(basis.shop.currency),
        cost=total_cost(costs),
        parts=_parts(done),
        materials=_materials(done),
    )


def _parts(done: Estimate) -> tuple[SoldPart, ...]:
    pairs = priced_lines(done.jobs, done.totals.lines, done.basis)
    nets = line_nets(pairs, done.totals, done.basis.shop.taxation, done.conditions)
    lines = [line for lines, _ in pairs for line in lines]
    kept: dict[tuple[str, str], int] = {}
    for line, net in zip(lines, nets, strict=True):
        key = line.component, line.item
        kept[key] = kept.get(key, 0) + net
    return tuple(SoldPart(*key, net) for key, net in kept.items())


def _materials(done: Estimate) -> tuple[UsedMaterial, ...]:
    used: dict[tuple[str, str], int] = {}
    for job in done.jobs:
        for key, shown in shown_materials(job, done.basis.shop.billing).items():
            used[key] = used.get(key, 0) + shown
    return tuple(UsedMaterial(*key, millionths) for key, millionths in used.items())


def shown_materials(job: JobEstimate, billing: Billing) -> dict[tuple[str, str], int]:
    """Return what all pieces of a job use, by item and basis, in millionths, as quoted."""
    shown: dict[tuple[str, str], int] = {}
    for key, (over, under) in used_materials(job, billing).items():
        shown[key] = half_up(over * MILLION, under)
    return shown


def used_materials(job: JobEstimate, billing: Billing) -> dict[tuple[str, str], tuple[int, int]]:
    """Return what all pieces of a job use, by item and basis, exactly: numerator and denominator.

    They need not be in lowest terms.
    """
    pieces = job.job.quantity
    used: dict[tuple[str, str], tuple[int, int]] = {}
    for code, basis, quantity in _quantities(job.uses, billing):
        key = code, basis
        over, under = quantity.as_integer_ratio()
        over *= pieces
        if key in used:
            before, per = used[key]
            if per == under:
                over += before
            else:
                over, under = over * per + before * under, under * per
        used[key] = over, under
    return used


def _quantities(uses: Iterable[Use], billing: Billing) -> Iterator[tuple[str, str, Fraction]]:
    """Yield item, basis and quantity of each use; for sheets, on all possible bases."""
    rectangle: Size | None = None
    by_size: list[tuple[str, Fraction]] = []
    for use in uses:
        code = use.item.code
        if use.size is None or isinstance(use.item, Moulding):
            basis = use.natural_basis()
            yield code, basis, use.quantity(basis, billing)
            continue
        if use.size is not rectangle:  # all sheets of a package have one size, measured once
            rectangle = use.size
            by_size = [(basis, use.quantity(basis, billing)) for basis in SIZE_BASES]
        for basis, quantity in by_size:
            yield code, basis, quantity
        yield code, "sheet", use.quantity("sheet", billing)
