"""Records of the catalogue's life: items, costs, price lists and standards with their versions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind


@dataclass(frozen=True, slots=True)
class ItemRecord:
    """An item as stored. `version` grows with every change of it, `costs_version` of its costs."""

    item: AnyItem
    version: int
    costs_version: int
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class ItemCosts:
    """What an item costs, in the order in which the costs are looked at."""

    item: str
    costs: tuple[ItemCost, ...]
    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFilter:
    """Which items of a kind a list shows.

    Attributes:
        kind: the kind.
        group: only those of this price group.
        discontinued: only those that are, or only those that are not.
        words: each of them stands in the code or the description, whatever its case.
        updated_since: only those that changed at or after this.
    """

    kind: Kind
    group: str | None = None
    discontinued: bool | None = None
    words: tuple[str, ...] = ()
    updated_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class ItemPage:
    """A page of items, in the order of their codes; `after` leads on and is `None` at the end."""

    items: tuple[ItemRecord, ...]
    after: str | None


@dataclass(frozen=True, slots=True)
class StandardRecord:
    """A labour standard as stored, and whether it is the one that is worked by."""

    standard: LabourStandard
    version: int
    in_use: bool
