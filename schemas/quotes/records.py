"""Stored records as the use cases see them: plain data without behaviour.

JSON documents are UTF-8 bytes and are returned exactly as stored, so that an answer can be
repeated.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from schemas.wire.page import Cursor
from service.domain.quotes.numbers import quote_number
from service.domain.quotes.sale import Sale


class Paper(NamedTuple):
    """A JSON document shared by many quotes, stored once and addressed by its content.

    `kind` is its type: shop, labour_standard, price_list or item (with its costs). `digest` is the
    SHA-256 of `document`, in hexadecimal. A paper is immutable.
    """

    kind: str
    digest: str
    document: bytes


@dataclass(frozen=True, slots=True)
class Revision:
    """One calculation of a quote: the request, the answer, and the data it is based on.

    All are JSON documents. `papers` contain every item, price, time and setting used; `costs` is
    what only some keys may see. `figures` are exact (`schemas.quotes.figures`): the quote is sold
    and explained by them. None if a release before figures stored it.
    """

    request: bytes
    result: bytes
    papers: tuple[Paper, ...]
    costs: bytes
    figures: bytes | None = None


class Footing(NamedTuple):
    """The versions that must be unchanged when a quote is stored: the shop's book and the key.

    `book` is the shop's version, `key` the key's, of `key_id`; `at` is the time of calculation.
    """

    book: int
    key_id: str
    key: int
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewQuote:
    """A quote to be stored as its first revision; storing it assigns its number.

    With a `serial` it has its number already.
    """

    id: str
    shop_id: str
    status: str
    reference: str
    customer: bytes
    currency: str
    total_minor: int
    created_at: datetime
    valid_until: date
    created_by: str
    revision: Revision
    deposit_minor: int = 0
    customer_id: str = ""
    serial: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteHead:
    """A stored quote without its documents, as lists show it. `serial` counts up in each shop.

    `status` is the stored one; after `valid_until` an open quote counts as expired (see
    `service.domain.quotes.life.standing`). `version` grows with every change of the quote,
    `promised` is its ready date, once accepted, and `reason` the reason given on declining or
    withdrawing it. Its revisions from `offered_from` on are alternative choices. `handover` tells
    how far its finished work is on the way to the customer, `paid_minor` what was paid.
    """

    id: str
    shop_id: str
    serial: int
    status: str
    revision: int
    reference: str
    customer: bytes
    currency: str
    total_minor: int
    created_at: datetime
    updated_at: datetime
    valid_until: date
    created_by: str
    version: int = 1
    deposit_minor: int = 0
    promised: date | None = None
    reason: str = ""
    offered_from: int = 1
    handover: str = ""
    paid_minor: int = 0

    @property
    def number(self) -> str:
        """The printed number: Q, the serial, a check digit."""
        return quote_number(self.serial)


@dataclass(frozen=True, slots=True)
class StoredQuote:
    """A quote with the usual parts of its latest revision; the rest is in `revision()`."""

    head: QuoteHead
    result: bytes
    costs: bytes


@dataclass(frozen=True, slots=True)
class DatedRevision:
    """One revision of a quote for display: its answer, its costs, and its creation time.

    `choice` is its name among alternative choices; empty for one that replaced those before it.
    """

    number: int
    created_at: datetime
    result: bytes
    costs: bytes
    choice: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteFilter:
    """The quotes that a list shows; `created_to` is exclusive, `q` the parts that all are found."""

    status: str | None = None
    reference: str | None = None
    updated_since: datetime | None = None
    created_from: datetime | None = None
    created_to: datetime | None = None
    q: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """A page of a list; `after` is the cursor of the next page, None on the last."""

    heads: tuple[QuoteHead, ...]
    after: Cursor | None


@dataclass(frozen=True, slots=True)
class NewSale:
    """A sale to be recorded: the accepted quote, and when."""

    shop_id: str
    quote_id: str
    accepted_at: datetime
    sale: Sale
