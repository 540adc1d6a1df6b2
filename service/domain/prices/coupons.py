"""Coupons: what a shop takes off for a code, when, how often and from which order on.

A coupon is the last discount of a document, after all others. It takes off so many percent, or an
amount, of all goods or of some components, and never more than there is of them. Fees, services
and free lines are left alone. Its use counts when a quote is accepted.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.job import Discount
from service.domain.jobs.use import COMPONENTS
from service.domain.measure.money import Currency
from service.domain.prices.totals import SET_APART
from service.domain.value import dataclass

REDUCED: tuple[str, ...] = tuple(each for each in COMPONENTS if each not in SET_APART)
"""The components that a coupon may be limited to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """A coupon of a shop.

    Attributes:
        code: what the customer says; case does not count (`folded_code`).
        description: what it is for, as quotes show it.
        percent, amount: what it takes off, one of the two.
        components: what it takes it off; empty for all goods.
        currency: of the amount and of the least order; needed with either.
        minimum_order: the least goods of an order, before tax and after all other discounts.
        first_day, last_day: the days of the shop on which it is taken; None for no end.
        most_uses: how often it is taken in all; None for no limit.
        most_uses_each: how often by one customer of the shop; None for no limit.

    Raises:
        JobRefused: with every fault: neither percent nor amount, or both; an amount without its
            currency, or finer than it; a last day before the first.
    """

    code: str
    description: str
    percent: Fraction | None = None
    amount: Fraction | None = None
    components: tuple[str, ...] = ()
    currency: str | None = None
    minimum_order: Fraction = Fraction(0)
    first_day: date | None = None
    last_day: date | None = None
    most_uses: int | None = None
    most_uses_each: int | None = None

    def __post_init__(self) -> None:
        if faults := [*self._faults()]:
            raise JobRefused(faults)

    def _faults(self) -> Iterator[Fault]:
        """Yield all that contradicts itself."""
        if (self.percent is None) == (self.amount is None):
            told = "a coupon takes off either so many percent or an amount"
            yield Fault("/percent", "bad_value", told)
        if self.percent is not None and not 0 < self.percent <= 100:
            told = "a coupon takes off more than 0 and at most 100 percent"
            yield Fault("/percent", "bad_value", told)
        if self.amount is not None and self.amount <= 0:
            yield Fault("/amount", "bad_value", "a coupon takes off more than nothing")
        if not self.currency and (self.amount is not None or self.minimum_order):
            yield Fault("/currency", "missing_field", "say in which currency the amounts are")
        if self.currency:
            yield from self._too_fine(Currency(self.currency))
        if self.first_day and self.last_day and self.last_day < self.first_day:
            yield Fault("/last_day", "bad_date", "the last day is before the first")

    def _too_fine(self, currency: Currency) -> Iterator[Fault]:
        for name, value in (("amount", self.amount), ("minimum_order", self.minimum_order)):
            if value and (value * currency.scale).denominator != 1:
                told = f"{currency.code} has {currency.digits} decimals"
                yield Fault(f"/{name}", "bad_money", told)

    def not_on(self, day: date) -> str:
        """Return why it is not taken on a day of the shop; "" if it is. Both ends count whole."""
        if self.first_day is not None and day < self.first_day:
            return f"the coupon {self.code} is taken from {self.first_day} on"
        if self.last_day is not None and day > self.last_day:
            return f"the coupon {self.code} was taken until {self.last_day}"
        return ""

    def discount(self) -> Discount:
        """Return the discount that it is."""
        return Discount(
            reason=self.description,
            percent=self.percent,
            amount=self.amount,
            coupon=self.code,
            components=self.components,
            minimum=self.minimum_order,
        )


def folded_code(code: str) -> str:
    """Return a code as it is kept: case does not count.

    >>> folded_code(" Autumn-26 ")
    'AUTUMN-26'
    """
    return code.strip().casefold().upper()
