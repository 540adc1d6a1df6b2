"""The loss from spoiled pieces of a bench ticket, read from its document."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import Any

import orjson

from schemas.tickets.records import NewSpoilage, StoredTicket
from schemas.wire.lengths import exact_length
from service.domain.jobs.use import Use
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.money import Currency
from service.domain.prices.book import ShopBook
from service.domain.prices.lines import cost_of
from service.domain.tickets.progress import Lot


def spoilage(stored: StoredTicket, lot: Lot, book: ShopBook, at: datetime) -> NewSpoilage:
    """Return a spoiled lot of a ticket, with the current cost of its material."""
    pieces = orjson.loads(stored.document)["pieces"]
    piece: dict[str, Any] = next(each for each in pieces if each["piece"] == lot.like)
    if "width" in piece:
        width, height = exact_length(piece["width"]), exact_length(piece["height"])
    else:
        width, height = exact_length(piece["length"]), ZERO
    currency = Currency(book.shop.currency)
    cost = material_cost(piece["item"], width, height, book)
    return NewSpoilage(
        shop_id=stored.head.shop_id,
        ticket_id=stored.head.id,
        piece=lot.number,
        at=at,
        item=piece["item"],
        part=piece["part"],
        quantity=lot.quantity,
        width=width,
        height=height,
        cost_minor=None if cost is None else currency.half_up(cost * lot.quantity).minor,
        currency=currency.code,
        reason=lot.reason,
    )


def material_cost(code: str, width: Length, height: Length, book: ShopBook) -> Fraction | None:
    """Return the cost of a piece's material, in whole units of money; None if unknown.

    Calculated as in a quote: the item's first cost on a basis that the piece has a quantity on, by
    the shop's own billing of that basis.
    """
    item = book.catalogue.items.get(code)
    if item is None:
        return None
    size = Size(width, height) if height else None
    use = Use("", item, "", size=size, footage=None if height else width)
    known = cost_of(use, book.shop.billing, book.catalogue)
    if known is None:
        return None
    return use.quantity(known.basis, book.shop.billing) * known.cost
