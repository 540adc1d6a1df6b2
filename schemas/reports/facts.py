"""What reports are made of: facts written when something happens, and sums over them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import NamedTuple

from service.domain.measure.length import Length
from service.domain.quotes.sale import Sale


@dataclass(frozen=True, slots=True)
class NewSale:
    """A sale about to be noted: the quote that was accepted, and when."""

    shop_id: str
    quote_id: str
    accepted_at: datetime
    sale: Sale


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSpoilage:
    """Pieces that were spoiled: lot `piece` of a ticket.

    `height` is nothing for a rail. `cost_minor` is what their material cost, in minor units of the
    shop's currency; None where that is not known.
    """

    shop_id: str
    ticket_id: str
    piece: int
    at: datetime
    item: str
    part: str
    quantity: int
    width: Length
    height: Length
    cost_minor: int | None
    currency: str
    reason: str


@dataclass(frozen=True, slots=True)
class StoredSpoilage:
    """Spoiled pieces, with the serials of their ticket and its quote."""

    spoilage: NewSpoilage
    ticket_serial: int
    quote_serial: int


class Bucket(NamedTuple):
    """One period of a report: its days in the shop, and its instants (`end` is the first after)."""

    first: date
    last: date
    start: datetime
    end: datetime


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
