"""A stored quote worked out again from its own figures, to explain it or to make its tickets.

Nothing is looked up in the shop as it stands today: the items, rules, times and settings come out
of the quote. The result is compared with the stored answer to the byte, and where they differ (a
later release may count otherwise) nothing is explained rather than explained wrongly.
"""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import orjson

from schemas.estimates.answer import estimate_document
from schemas.labour import load_labour_standard
from schemas.materials.catalogue import load_cost, load_item
from schemas.prices.lists import load_price_list
from schemas.quotes.records import Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.shop import load_shop
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from service.domain.errors import DomainError
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.materials.catalogue import Catalogue
from service.domain.shop import Shop


class CountsOtherwise(DomainError):
    """A stored quote that this release would work out to other figures."""

    code = "counts_otherwise"


@kept_text()
def reworked(revision: Revision) -> Estimate:
    """The estimate that a stored quote rests on.

    Raises:
        CountsOtherwise: this release comes to other figures than the quote's.
    """
    basis = stored_basis(revision)
    request = read(QUOTE_REQUEST, _document(revision.request), unit=basis.shop.ruler.unit)
    estimate = estimate_request(request.jobs, basis, request.conditions)
    if orjson.dumps(estimate_document(estimate)) != revision.result:
        raise CountsOtherwise(
            "this quote was worked out by an earlier release, which counted otherwise; its figures "
            "stand, but this release cannot explain them"
        )
    return estimate


@kept_text()
def stored_basis(revision: Revision) -> Basis:
    """The shop, items, times and prices that a quote keeps."""
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
    """The shop's settings that a quote keeps: its marks are those of that day's ruler."""
    papers = (paper.document for paper in revision.papers if paper.kind == "shop")
    return load_shop(_document(next(papers)))


def _document(text: bytes) -> Any:
    return json.loads(text, parse_float=Decimal)
