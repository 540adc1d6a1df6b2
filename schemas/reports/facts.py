"""The data of reports: facts recorded as events happen, and sums over them."""

from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction
from typing import NamedTuple


class MadeSum(NamedTuple):
    """Quotes made in a bucket, with equal currency and state; `total` in minor units.

    `given` is the number given to the customer, as far as known: withdrawn ones do not show it.
    """

    bucket: int
    currency: str
    status: str
    quotes: int
    total: int
    given: int


class SoldSum(NamedTuple):
    """Quotes accepted in a bucket; money in minor units of `currency`.

    `reckoned` is the number with a known cost in the same currency; `reckoned_net` and `cost` are
    theirs.
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
    """The net amount of a component, or of an item in it, over the quotes accepted in a bucket."""

    bucket: int
    currency: str
    component: str
    item: str
    quotes: int
    net: int


class MaterialSum(NamedTuple):
    """An item's use by the quotes accepted in a bucket, in millionths of the basis's unit."""

    bucket: int
    item: str
    basis: str
    quotes: int
    millionths: int


class PaidSum(NamedTuple):
    """Payments in a bucket by one way, with those given back; `amount` in minor units."""

    bucket: int
    currency: str
    paid_by: str
    payments: int
    amount: int


class ShelfRow(NamedTuple):
    """A finished ticket that is not collected; `since` is when it was shelved, or finished."""

    serial: int
    quote_serial: int
    reference: str
    label: str
    shelf: str
    since: datetime


class WorkRow(NamedTuple):
    """A ticket in work reports; `finished_at` is None while it is open."""

    serial: int
    quote_serial: int
    reference: str
    label: str
    status: str
    minutes: Fraction
    promised: date | None
    finished_at: datetime | None


class CutSum(NamedTuple):
    """What the plans committed in a bucket make of an item; see `ItemCut`."""

    bucket: int
    item: str
    kind: str
    plans: int
    new: int
    racked: int
    taken: int
    made: int
    kept: int
