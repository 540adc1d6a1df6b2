"""Stored records, as the use cases see them: plain facts without behaviour of their own.

JSON documents are UTF-8 bytes and come back exactly as they went in, so that an answer once given
can be given again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from schemas.wire.page import Cursor
from service.domain.quotes.numbers import quote_number
from service.domain.quotes.sale import Sale


class Paper(NamedTuple):
    """A JSON document that many quotes rest on, kept once and known by its content.

    `kind` tells what it is of: shop, labour_standard, price_list or item (with its costs). `digest`
    is the SHA-256 of `document`, in hexadecimal. A paper never changes.
    """

    kind: str
    digest: str
    document: bytes


@dataclass(frozen=True, slots=True)
class Revision:
    """One working of a quote: what was asked, what was answered, and the figures it rests on.

    All are JSON documents. `papers` hold every item, price, time and setting that was used, so that
    the workings can be told from them alone; `costs` what only some keys may see.
    """

    request: bytes
    result: bytes
    papers: tuple[Paper, ...]
    costs: bytes


class Footing(NamedTuple):
    """What must still be so when a quote is stored: the shop's book and the key that asks.

    `book` is the shop's version, `key` the key's, of `key_id`; `at` is when it was worked out.
    """

    book: int
    key_id: str
    key: int
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewQuote:
    """A quote about to be stored as its first revision; storing it gives it its number."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteHead:
    """A stored quote without its documents, as lists show it. `serial` counts up in each shop.

    `status` is the stored one; past `valid_until` an open quote stands as expired (see
    `service.domain.quotes.life.standing`). `version` grows with every change of the quote,
    `promised` is the day it will be ready, once it is accepted, and `reason` what was said on
    declining or withdrawing it. Its revisions from `offered_from` on are choices side by side.
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

    @property
    def number(self) -> str:
        """The number to be read out and printed: Q, the serial, a check digit."""
        return quote_number(self.serial)


@dataclass(frozen=True, slots=True)
class StoredQuote:
    """A quote with what most readers want of its latest revision; the rest is in `revision()`."""

    head: QuoteHead
    result: bytes
    costs: bytes


@dataclass(frozen=True, slots=True)
class DatedRevision:
    """One working of a quote as it is shown: its answer, its costs, and when it was made.

    `choice` is what it is called among choices side by side; empty for one that took the place of
    those before it.
    """

    number: int
    created_at: datetime
    result: bytes
    costs: bytes
    choice: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteFilter:
    """Which quotes a list shows; `created_to` is the first instant that is left out."""

    status: str | None = None
    reference: str | None = None
    updated_since: datetime | None = None
    created_from: datetime | None = None
    created_to: datetime | None = None


@dataclass(frozen=True, slots=True)
class Page:
    """A page of a list; `after` leads to the next one and is `None` on the last."""

    heads: tuple[QuoteHead, ...]
    after: Cursor | None


@dataclass(frozen=True, slots=True)
class NewSale:
    """A sale about to be noted: the quote that was accepted, and when."""

    shop_id: str
    quote_id: str
    accepted_at: datetime
    sale: Sale
