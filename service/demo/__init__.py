"""The demo shop: invented data in the wire's own forms, read through the schemas.

The command line sets up a shop to try from these; the tests and the measurements use them too.
"""

from __future__ import annotations

import json
from decimal import Decimal
from importlib.resources import files
from typing import Any

from schemas.labour import load_labour_standard
from schemas.materials.catalogue import load_cost, load_item
from schemas.prices.coupons import read_coupon
from schemas.prices.lists import load_price_list
from schemas.shop import load_shop
from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import AnyItem, Catalogue, ItemCost
from service.domain.prices.coupons import Coupon
from service.domain.prices.lists import PriceList
from service.domain.shop import Shop

ITEM_FILES = ("mouldings", "boards", "glazing", "fillets", "hardware", "supplies")


def demo_document(name: str) -> Any:
    """The JSON of one file of the demo data, its numbers read as decimals."""
    text = files(__name__).joinpath(f"{name}.json").read_text(encoding="utf-8")
    return json.loads(text, parse_float=Decimal)


def demo_shop() -> Shop:
    """The demo shop with its settings."""
    return load_shop(demo_document("shop"))


def demo_items() -> tuple[AnyItem, ...]:
    """Every item of the demo shop, in the order of its files."""
    documents = (document for name in ITEM_FILES for document in demo_document(name))
    return tuple(load_item(document) for document in documents)


def demo_costs() -> tuple[ItemCost, ...]:
    """What the items cost the demo shop."""
    return tuple(load_cost(document) for document in demo_document("costs"))


def demo_catalogue() -> Catalogue:
    """The demo shop's items and costs."""
    costs: dict[str, tuple[ItemCost, ...]] = {}
    for cost in demo_costs():
        costs[cost.item] = (*costs.get(cost.item, ()), cost)
    return Catalogue({item.code: item for item in demo_items()}, costs)


def demo_price_list() -> PriceList:
    """The demo shop's price list."""
    return load_price_list(demo_document("price_list"))


def demo_coupons() -> tuple[Coupon, ...]:
    """The demo shop's coupons."""
    return tuple(read_coupon(document) for document in demo_document("coupons"))


def demo_labour_standard() -> LabourStandard:
    """The demo shop's bench times."""
    return load_labour_standard(demo_document("labour_standard"))


def demo_jobs() -> dict[str, dict[str, Any]]:
    """The job documents, as a customer's program would send them, by name."""
    entries = files(__name__).joinpath("jobs").iterdir()
    names = sorted(e.name.removesuffix(".json") for e in entries if e.name.endswith(".json"))
    return {name: demo_document(f"jobs/{name}") for name in names}
