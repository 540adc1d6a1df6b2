"""Recalculates a stored quote from its own data, to explain it or to make its tickets.

Nothing is read from the shop's current data: the items, rules, times and settings come from the
quote. Each figure of the stored answer must come out again. Wording, advisories and fields that a
later release added do not count, so they refuse no sale; a figure that this release calculates
differently does, and then the quote is not explained rather than explained wrongly.
"""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from schemas.estimates.answer import estimate_document
from schemas.labour import load_labour_standard
from schemas.materials.catalogue import load_cost, load_item
from schemas.prices.lists import load_price_list
from schemas.quotes.records import Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.shop import load_shop
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from schemas.wire.record import encode
from service.domain.errors import DomainError
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.materials.catalogue import Catalogue
from service.domain.shop import Shop

WORDING = frozenset({"advisories", "description"})
"""Fields of an answer that say something to people and are no figure."""


class CountsOtherwise(DomainError):
    """This release would calculate different figures for a stored quote."""

    code = "counts_otherwise"


@kept_text()
def reworked(revision: Revision) -> Estimate:
    """Return the estimate of a stored quote.

    Raises:
        CountsOtherwise: this release calculates figures other than the quote's.
    """
    basis = stored_basis(revision)
    request = read(QUOTE_REQUEST, _document(revision.request), unit=basis.shop.ruler.unit)
    estimate = estimate_request(request.jobs, basis, request.conditions)
    now = encode(estimate_document(estimate))
    if now != revision.result and not _stands(_document(revision.result), _document(now)):
        raise CountsOtherwise(
            "this quote was worked out by an earlier release, which counted otherwise; its figures "
            "stand, but this release cannot explain them"
        )
    return estimate


@kept_text()
def stored_basis(revision: Revision) -> Basis:
    """Return the shop, items, times and prices stored with a quote."""
    kept: dict[str, Any] = {paper.kind: _document(paper.document) for paper in revision.papers}
    papers = [_document(paper.document) for paper in revision.papers if paper.kind == "item"]
    items = [(load_item(paper["item"]), paper["costs"]) for paper in papers]
    return Basis(
        load_shop(kept["shop"]),
        Catalogue(
            {item.code: item for item, _ in items},
            {item.code: tuple(map(load_cost, costs)) for item, costs in items},
        ),
        load_labour_standard(kept["labour_standard"]),
        load_price_list(kept["price_list"]),
    )


@kept_text()
def stored_shop(revision: Revision) -> Shop:
    """Return the shop's settings stored with a quote; lengths show on that day's ruler."""
    papers = (paper.document for paper in revision.papers if paper.kind == "shop")
    return load_shop(_document(next(papers)))


def _stands(stored: object, now: object) -> bool:
    """Return True if every figure of a stored answer is in today's answer."""
    if isinstance(stored, dict) and isinstance(now, dict):
        return all(
            name in WORDING or (name in now and _stands(value, now[name]))
            for name, value in stored.items()
        )
    if isinstance(stored, list) and isinstance(now, list):
        return len(stored) == len(now) and all(map(_stands, stored, now))
    return stored == now


def _document(text: bytes) -> Any:
    return json.loads(text, parse_float=Decimal)
