"""What reports are made of: facts written when something happens, and sums over them."""

from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction
from typing import NamedTuple


class MadeSum(NamedTuple):
    """Quotes made in a bucket that are alike in currency and state; `total` in minor units.

    `given` of them were given to the customer, as far as that shows: withdrawn ones do not show it.
    """

    bucket: int
    currency: str
    status: str
    quotes: int
    total: int
    given: int


class SoldSum(NamedTuple):
    """Quotes accepted in a bucket; money in minor units of `currency`.

    `reckoned` of them have a known cost in the same currency; `reckoned_net` and `cost` are theirs.
    """

    bucket: int
    currency: str
    quotes: int
    total: int
    tax: int
    reckoned: int
    reckoned_net: int
    cost: int


class PartSum(NamedTuple):
    """What was kept of a component, or of an item in it, over the quotes accepted in a bucket."""

    bucket: int
    currency: str
    component: str
    item: str
    quotes: int
    net: int


class MaterialSum(NamedTuple):
    """What the quotes accepted in a bucket use of an item, in millionths of the basis's unit."""

    bucket: int
    item: str
    basis: str
    quotes: int
    millionths: int


class WorkRow(NamedTuple):
    """A ticket as reports on work see it; `finished_at` is None while it is open."""

    serial: int
    quote_serial: int
    reference: str
    label: str
    status: str
    minutes: Fraction
    promised: date | None
    finished_at: datetime | None
