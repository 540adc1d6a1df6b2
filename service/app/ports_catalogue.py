"""What the use cases of the catalogue need of storage: single items with their versions."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from schemas.materials.records import ItemCosts, ItemFilter, ItemPage, ItemRecord
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind


class Items(Protocol):
    """A shop's items one by one."""

    def one(self, shop_id: str, kind: Kind, code: str) -> ItemRecord:
        """The item of this kind with this code. NotFound where there is none."""
        ...

    def page(self, shop_id: str, wanted: ItemFilter, limit: int, after: str = "") -> ItemPage:
        """In the order of their codes; items that arrive meanwhile shift no later page."""
        ...

    def some(self, shop_id: str, codes: Sequence[str]) -> dict[str, AnyItem]:
        """Those items with these codes that there are, whatever their kinds."""
        ...

    def there(self, shop_id: str, codes: Sequence[str]) -> set[str]:
        """Those of these codes that an item has."""
        ...

    def costs_of(self, shop_id: str, codes: Sequence[str]) -> dict[str, tuple[ItemCost, ...]]:
        """What items with these codes cost, in order; nothing for those without costs."""
        ...

    def create(self, shop_id: str, item: AnyItem, at: datetime) -> ItemRecord:
        """Store a new item. Conflict where its code is taken, by whatever kind."""
        ...

    def change(self, shop_id: str, item: AnyItem, at: datetime) -> ItemRecord:
        """Replace an item that is there. NotFound where there is none of this kind."""
        ...

    def costs(self, shop_id: str, code: str) -> ItemCosts:
        """What an item costs. NotFound where there is none of this code."""
        ...
