"""Totals a customer's lines: subtotals, discounts, tax, total.

A job without discounts and fees, as most are, takes the fast path; a test checks that both paths
agree when nothing is discounted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.job import PLAIN, Conditions, Discount
from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import half_up
from service.domain.prices.discounts import Reduction, check_coupon, take_off
from service.domain.prices.lines import Line, Terms
from service.domain.prices.lists import SERVICE, SUNDRY
from service.domain.prices.tax import Tax, tax_on, tax_on_bases
from service.domain.shop import Taxation
from service.domain.value import dataclass

FEE = "fee"
"""The component of fees, which are never discounted."""
SET_APART = (FEE, SERVICE, SUNDRY)
"""The components that quantity breaks leave alone, as do discounts that do not name them."""


class JobMoney(NamedTuple):
    """A job's money.

    Attributes:
        subtotal: the sum of its lines.
        percent_off: its quantity break, in percent.
        discount: what the break and its own discounts take off.
        reductions: its own discounts, one by one.
        left: what is left of each line, in minor units; empty if only a break takes off.
    """

    subtotal: Money
    percent_off: Fraction
    discount: Money
    reductions: tuple[Reduction, ...] = ()
    left: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Totals:
    """Subtotal - discount (+ tax, unless prices include it) = total.

    Attributes:
        reductions: the document's own discounts, one by one.
        off: what they take off each job; empty if there are none.
        relief: the included tax that an exempt customer does not pay.
        lines: the document's own lines, which belong to no job.
    """

    subtotal: Money
    discount: Money
    tax: Tax
    total: Money
    reductions: tuple[Reduction, ...] = ()
    off: tuple[Money, ...] = ()
    relief: Money | None = None
    lines: tuple[Line, ...] = ()

    def net(self) -> Money:
        """Return the total without tax."""
        return self.total - self.tax.total


def own_lines(lines: Sequence[Line], currency: Currency) -> tuple[Sequence[Line], JobMoney]:
    """Return a document's own lines with their money: nothing of it is discounted."""
    subtotal = currency.minor(sum(line.amount.minor for line in lines))
    return lines, JobMoney(subtotal, Fraction(0), currency.nothing)


def job_money(
    lines: Sequence[Line], terms: Terms, discounts: Sequence[Discount] = (), *, fees: bool = False
) -> JobMoney:
    """Return a job's subtotal, its quantity break in percent, and its discount, half up.

    Raises:
        JobRefused: a discount larger than the amount it applies to.
    """
    currency = terms.price_list.currency
    percent = terms.price_list.percent_off(terms.pieces)
    subtotal = Money(sum(line.amount.minor for line in lines), currency)
    if discounts or fees:
        return _long_way(lines, currency, percent, discounts)
    off = half_up(subtotal.minor * percent.numerator, 100 * percent.denominator)
    return JobMoney(subtotal, percent, Money(off, currency))


def _long_way(
    lines: Sequence[Line], currency: Currency, percent: Fraction, discounts: Sequence[Discount]
) -> JobMoney:
    left = [line.amount.minor for line in lines]
    subtotal = sum(left)
    goods = [place for place, line in enumerate(lines) if line.component not in SET_APART]
    if percent:
        quantity_break = Discount(reason="quantity", percent=percent)
        take_off(left, goods, quantity_break, currency, "")
    reductions = []
    for position, discount in enumerate(discounts):
        named = _named(lines, discount.component) if discount.component else goods
        pointer = f"/discounts/{position}"
        reductions.append(take_off(left, named, discount, currency, pointer))
    off = currency.minor(subtotal - sum(left))
    return JobMoney(currency.minor(subtotal), percent, off, tuple(reductions), tuple(left))


def _named(lines: Sequence[Line], component: str) -> list[int]:
    return [n for n, line in enumerate(lines) if line.component == component != FEE]


def totals(
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    currency: Currency,
    taxation: Taxation,
    conditions: Conditions = PLAIN,
) -> Totals:
    """Return the totals over jobs, each given by its lines and its money; tax is after discounts.

    Raises:
        JobRefused: a discount larger than the amount it applies to, or a place without tax rates.
    """
    if conditions is not PLAIN:
        return _special_totals(jobs, currency, taxation, conditions)
    taxed: list[tuple[str, Money]] = []
    for lines, money in jobs:
        taxed.extend(_after_discount(lines, money, currency))
    subtotal = Money(sum(money.subtotal.minor for _, money in jobs), currency)
    discount = Money(sum(money.discount.minor for _, money in jobs), currency)
    tax = tax_on(taxed, taxation, currency)
    total = subtotal - discount
    return Totals(subtotal, discount, tax, total if tax.included else total + tax.total)


def undiscounted(bases: Mapping[str, int], currency: Currency, taxation: Taxation) -> Totals:
    """Return the totals of undiscounted lines, given by the sum of each tax category.

    For a tax that is rounded once per invoice; equals `totals` of these lines.
    """
    subtotal = Money(sum(bases.values()), currency)
    tax = tax_on_bases(bases, taxation, currency)
    total = subtotal if tax.included else subtotal + tax.total
    return Totals(subtotal, currency.nothing, tax, total)


def _after_discount(
    lines: Sequence[Line], money: JobMoney, currency: Currency
) -> Iterable[tuple[str, Money]]:
    """Return each line's tax category, and its amount less its share of the discount."""
    if money.left:
        pairs = zip(lines, money.left, strict=True)
        return [(line.rule.tax_category, Money(left, currency)) for line, left in pairs]
    if not money.discount.minor:
        return [(line.rule.tax_category, line.amount) for line in lines]
    shares = money.discount.shared(tuple(line.amount.minor for line in lines))
    return [
        (line.rule.tax_category, line.amount - share)
        for line, share in zip(lines, shares, strict=True)
    ]


class Left(NamedTuple):
    """The remaining amount of every line of a document after all discounts.

    Attributes:
        categories, minors: each line's tax category, and its remaining amount, in minor units.
        starts: the index of each job's first line.
        reductions: the document's own discounts, one by one.
        off: what they take off each job.
    """

    categories: list[str]
    minors: list[int]
    starts: list[int]
    reductions: tuple[Reduction, ...]
    off: tuple[Money, ...]


def what_is_left(
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    currency: Currency,
    discounts: Sequence[Discount] = (),
) -> Left:
    """Return what is left of every line after all discounts.

    Raises:
        JobRefused: a discount larger than the amount it applies to.
    """
    categories: list[str] = []
    left: list[int] = []
    starts: list[int] = []
    for lines, money in jobs:
        starts.append(len(left))
        for category, amount in _after_discount(lines, money, currency):
            categories.append(category)
            left.append(amount.minor)
    before = _sums(left, starts)
    reductions = _taken_off(left, jobs, currency, discounts) if discounts else ()
    off = tuple(Money(a - b, currency) for a, b in zip(before, _sums(left, starts), strict=True))
    return Left(categories, left, starts, reductions, off)


def _taken_off(
    left: list[int],
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    currency: Currency,
    discounts: Sequence[Discount],
) -> tuple[Reduction, ...]:
    """Take a document's own discounts off what is `left`, one after the other."""
    kinds = [line.component for lines, _ in jobs for line in lines]
    goods = [place for place, kind in enumerate(kinds) if kind not in SET_APART]
    done = []
    for position, discount in enumerate(discounts):
        named = [at for at in goods if not discount.components or kinds[at] in discount.components]
        if discount.coupon:
            sums = sum(left[at] for at in goods), sum(left[at] for at in named)
            check_coupon(*sums, discount, currency)
        done.append(take_off(left, named, discount, currency, f"/discounts/{position}"))
    return tuple(done)


def _special_totals(
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    currency: Currency,
    taxation: Taxation,
    conditions: Conditions,
) -> Totals:
    left = what_is_left(jobs, currency, conditions.discounts)
    subtotal = Money(sum(money.subtotal.minor for _, money in jobs), currency)
    discounted = total = Money(sum(left.minors), currency)
    there = taxation_at(taxation, conditions.place)
    tax = tax_on(left_by_category(left, currency), there, currency)
    relief = None
    if conditions.exempt:
        relief = tax.total if tax.included else currency.minor(0)
        total = total - relief
        tax = Tax(currency.minor(0), (), (), tax.included)
    elif not tax.included:
        total = total + tax.total
    off = left.off if left.reductions else ()
    return Totals(subtotal, subtotal - discounted, tax, total, left.reductions, off, relief)


def left_by_category(left: Left, currency: Currency) -> list[tuple[str, Money]]:
    """Return each line's tax category and remaining amount, the basis for tax."""
    pairs = zip(left.categories, left.minors, strict=True)
    return [(category, Money(minor, currency)) for category, minor in pairs]


def line_nets(
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    done: Totals,
    taxation: Taxation,
    conditions: Conditions = PLAIN,
) -> tuple[int, ...]:
    """Return the net amount of every line, in minor units, one job after another.

    Net of all discounts and of included tax; they add up to `done.net()` exactly. If prices include
    tax, the net total is shared over the lines in proportion to each line's amount without its own
    tax (largest remainder).
    """
    left = what_is_left(jobs, done.total.currency, conditions.discounts)
    if not done.tax.included or not any(left.minors):
        return tuple(left.minors)
    here = taxation_at(taxation, conditions.place)
    weights = tuple(
        minor * (here.scale - sum(take for _, take in here.takes(category)))
        for category, minor in zip(left.categories, left.minors, strict=True)
    )
    return tuple(share.minor for share in done.net().shared(weights))


def job_nets(
    jobs: Sequence[tuple[Sequence[Line], JobMoney]],
    done: Totals,
    taxation: Taxation,
    conditions: Conditions = PLAIN,
) -> tuple[Money, ...]:
    """Return what is left of each job without tax.

    If prices include tax, a job's is worked out from its own lines alone, as for a document of this
    job, whatever its neighbours are.
    """
    currency = done.total.currency
    left = what_is_left(jobs, currency, conditions.discounts)
    here = taxation_at(taxation, conditions.place)
    pairs, nets = left_by_category(left, currency), []
    for start, end in zip(left.starts, [*left.starts[1:], len(left.minors)], strict=True):
        net = Money(sum(left.minors[start:end]), currency)
        included = tax_on(pairs[start:end], here, currency).total if here.included else None
        nets.append(net if included is None else net - included)
    return tuple(nets)


def _sums(left: Sequence[int], starts: Sequence[int]) -> list[int]:
    ends = [*starts[1:], len(left)]
    return [sum(left[start:end]) for start, end in zip(starts, ends, strict=True)]


def taxation_at(taxation: Taxation, place: str) -> Taxation:
    """Return the taxation of a place.

    Raises:
        JobRefused: the shop has no rates for the place; a rate is never guessed.
    """
    if not place:
        return taxation
    rates = tuple(replace(rate, place="") for rate in taxation.rates if rate.place == place)
    if not rates:
        known = ", ".join(sorted({rate.place for rate in taxation.rates if rate.place})) or "none"
        detail = f"the shop has no tax rates for {place}; it has places {known}"
        raise JobRefused([Fault("/tax_place", "unknown_place", detail)])
    return replace(taxation, rates=rates)
