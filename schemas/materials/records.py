"""Records of the catalogue: items, costs, price lists and standards with their versions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from schemas.wire.page import Cursor
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind
from service.domain.measure.length import Length
from service.domain.quotes.numbers import Series
from service.domain.states import Life


@dataclass(frozen=True, slots=True)
class ItemRecord:
    """An item as stored. `version` grows with every change of it, `costs_version` of its costs."""

    item: AnyItem
    version: int
    costs_version: int
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class ItemCosts:
    """The costs of an item, in order of precedence."""

    item: str
    costs: tuple[ItemCost, ...]
    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFilter:
    """The items of a kind that a list shows.

    Attributes:
        kind: the kind.
        group: only those of this price group.
        discontinued: only those that are, or only those that are not.
        words: each must occur in the code or the description, case-insensitively.
        updated_since: only those that changed at or after this.
    """

    kind: Kind
    group: str | None = None
    discontinued: bool | None = None
    words: tuple[str, ...] = ()
    updated_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class ItemPage:
    """A page of items, sorted by code; `after` is the cursor of the next page, None at the end."""

    items: tuple[ItemRecord, ...]
    after: str | None


OFFCUTS = Series("R", "offcut")
ON_RACK, USED, DISCARDED, TAKEN_BACK = "on_rack", "used", "discarded", "taken_back"
OFFCUT_LIFE = Life(
    "offcut",
    {
        ON_RACK: {"move": ON_RACK, "use": USED, "discard": DISCARDED, "take_back": TAKEN_BACK},
        USED: {"return": ON_RACK},
        DISCARDED: {},
        TAKEN_BACK: {},
    },
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemCut:
    """What cutting does with one item: stock that is taken, and what becomes of it.

    Attributes:
        item: its code.
        kind: sheet or stick.
        new: how many sheets or sticks that are not offcuts.
        racked: how many offcuts.
        taken: their whole area in square ticks, or length in ticks.
        made: what of that becomes pieces.
        kept: what goes back on the rack; the rest is waste, with what the cuts turn to dust.
    """

    item: str
    kind: str
    new: int
    racked: int
    taken: int
    made: int
    kept: int


Source = Literal["new", "rack", "given"]
CostBasis = Literal["", "size", "sheet", "square_foot", "linear_foot", "given", "on_hand"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """An offcut; a stick's has no height."""

    id: str
    shop_id: str
    serial: int
    item: str
    width: Length
    height: Length
    status: str
    place: str
    reason: str
    cut_by: str | None
    used_by: str | None
    version: int
    created_at: datetime
    updated_at: datetime

    @property
    def label(self) -> str:
        """The label written on it: R, the serial, a check digit."""
        return OFFCUTS.number(self.serial)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLevel:
    """The number in stock of one size of an item; a stick's size has no height."""

    item: str
    width: Length
    height: Length
    quantity: int
    version: int
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSize:
    """One size that a plan may cut from.

    `cost` is the weight used by the search; `money` is the price of a new one in minor units, None
    if unknown, and `cost_basis` names that cost. `level` is the number in stock; None if not
    counted.
    """

    key: str
    source: Source
    width: Length
    height: Length
    cost: int
    quantity: int | None
    money: int | None = None
    cost_basis: CostBasis = ""
    level: int | None = None
    offcut: Offcut | None = None


@dataclass(frozen=True, slots=True)
class Take:
    """The quantity of one size that a plan takes from the shop's own stock."""

    item: str
    width: Length
    height: Length
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutFilter:
    """The offcuts that a list shows."""

    status: str | None = None
    item: str | None = None
    least_width: Length | None = None
    least_height: Length | None = None


@dataclass(frozen=True, slots=True)
class OffcutPage:
    """A page of a list; `after` is the cursor of the next page, None on the last."""

    offcuts: tuple[Offcut, ...]
    after: Cursor | None
