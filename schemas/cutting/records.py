"""Records of cutting plans: wanted pieces, materials, plans, offcuts, stock levels."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import Literal

from schemas.materials.records import Offcut, StockSize, Take
from schemas.wire.page import Cursor
from service.domain.cutting.plan import Fate, SheetPlan, StickPlan
from service.domain.cutting.stock import SheetPiece, SheetRules, StickPiece, StickRules
from service.domain.materials.catalogue import CutBy
from service.domain.measure.length import ZERO, Length
from service.domain.quotes.numbers import Series
from service.domain.shop import StockValue
from service.domain.states import Life

Colour = Literal["any", "batch", "stick"]
"""How alike the colour of what is cut from an item must be: all new stock of one batch and no
offcuts, or the rails of each frame from one stick.
"""
PLANS = Series("P", "plan")
WAITING, WORKING, PLANNED, COMMITTED, UNDONE, CANCELLED, FAILED = (
    "waiting", "working", "planned", "committed", "undone", "cancelled", "failed",
)  # fmt: skip
PLAN_LIFE = Life(
    "plan",
    {
        WAITING: {"begin": WORKING, "cancel": CANCELLED, "fail": FAILED},
        WORKING: {"begin": WORKING, "plan": PLANNED, "cancel": CANCELLED, "fail": FAILED},
        PLANNED: {"commit": COMMITTED, "cancel": CANCELLED},
        COMMITTED: {"undo": UNDONE},
        UNDONE: {},
        CANCELLED: {},
        FAILED: {},
    },
)
"""The cost used for a size: its own, that of any sheet, a rate, the request's, or none."""


@dataclass(frozen=True, slots=True)
class LotRef:
    """The lot of a ticket that a piece is cut for: the ticket's id and number, the lot."""

    ticket_id: str
    ticket: str
    lot: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A quantity of equal pieces of one item.

    A sheet has a width and a height; a stick is `width` long, long point to long point, and has no
    height. `frame` names the frame whose rails come from one stick if the pattern runs; without
    `side` all rails of that name stay together, with it they are distributed frame by frame.
    """

    key: str
    item: str
    quantity: int
    width: Length
    height: Length = ZERO
    may_turn: bool | None = None
    name: str = ""
    frame: str = ""
    side: str = ""
    sides: int = 4
    lot: LotRef | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenStock:
    """A size to cut from given in the request, replacing the catalogue's."""

    item: str
    width: Length
    height: Length = ZERO
    quantity: int | None = None
    cost: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemWork:
    """The settings for cutting one item in this plan; None means the catalogue's or shop's own."""

    item: str
    cut_by: CutBy | None = None
    kerf: Length | None = None
    edge_trim: Length | None = None
    may_turn: bool | None = None
    colour: Colour | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOptions:
    """The options of a plan; omitted lengths are the shop's own.

    `buy` False plans only from stock on hand. `stock_on_hand` selects whether that counts at its
    cost or is free.
    """

    use_offcuts: bool = True
    buy: bool = True
    stock_on_hand: StockValue | None = None
    sheet_kerf: Length | None = None
    offcut_short: Length | None = None
    offcut_long: Length | None = None
    offcut_stick: Length | None = None
    items: tuple[ItemWork, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """The request: tickets, or a list of pieces, with their stock if given."""

    reference: str = ""
    tickets: tuple[str, ...] = ()
    open_tickets: bool = False
    pieces: tuple[Wish, ...] = ()
    stock: tuple[GivenStock, ...] = ()
    options: PlanOptions = field(default_factory=PlanOptions)
    dry_run: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """All that is wanted of one item, and what there is to cut it from.

    `edge_trim` is what new sheets lose at each edge. `in_money` is True if the search minimises
    money; if a cost is unknown, it minimises material.
    """

    item: str
    description: str
    kind: Literal["sheet", "stick"]
    in_catalogue: bool
    in_money: bool
    sizes: tuple[StockSize, ...]
    sheet_pieces: tuple[SheetPiece, ...] = ()
    stick_pieces: tuple[StickPiece, ...] = ()
    sheet_rules: SheetRules = field(default_factory=SheetRules)
    stick_rules: StickRules = field(default_factory=StickRules)
    cut_by: CutBy = "scored"
    edge_trim: Length = ZERO
    colour: Colour = "any"


@dataclass(frozen=True, slots=True)
class PlannedItem:
    """An item and its checked plan."""

    material: Material
    plan: SheetPlan | StickPlan


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A wanted piece outside this plan, and the reason."""

    wish: Wish
    reason: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """A whole plan: the wishes by key, the plan of each item, and what is left out.

    `wish_of` maps the key of a planned piece to the key of its wish.
    """

    wishes: tuple[Wish, ...]
    wish_of: dict[str, str]
    items: tuple[PlannedItem, ...]
    left_out: tuple[LeftOut, ...]
    tickets: tuple[str, ...] = ()
    reference: str = ""


@dataclass(frozen=True, slots=True)
class Keep:
    """An offcut that a plan leaves: the indexes of its item, use and leftover, and its size."""

    position: int
    use: int
    leftover: int
    item: str
    width: Length
    height: Length


@dataclass(frozen=True, slots=True)
class CutLot:
    """The number of pieces of a ticket's lot that a plan cuts."""

    ticket_id: str
    lot: int
    quantity: int


@dataclass(frozen=True, slots=True)
class Effects:
    """The effects of committing a plan: offcuts used, stock taken, offcuts booked, lots cut."""

    offcuts: tuple[str, ...] = ()
    takes: tuple[Take, ...] = ()
    keeps: tuple[Keep, ...] = ()
    lots: tuple[CutLot, ...] = ()
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanHead:
    """A stored plan without its documents, with `done` of `total` steps completed."""

    id: str
    shop_id: str
    serial: int
    reference: str
    status: str
    version: int
    pieces: int
    done: int
    total: int
    failure: str
    created_by: str
    created_at: datetime
    updated_at: datetime
    beat_at: datetime

    @property
    def number(self) -> str:
        """The printed number: P, the serial, a check digit."""
        return PLANS.number(self.serial)


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """A plan with the bytes of its documents, and the offcuts that it has booked."""

    head: PlanHead
    request: bytes
    document: bytes
    costs: bytes
    effects: Effects
    booked: tuple[Offcut, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanPage:
    """A page of a list; `after` is the cursor of the next page, None on the last."""

    heads: tuple[PlanHead, ...]
    after: Cursor | None


def kept(position: int, item: PlannedItem) -> Iterable[Keep]:
    """Yield the offcuts that an item's plan leaves, in the order of its uses.

    A stick's offcut is measured before its far end is trimmed.
    """
    code, plan = item.material.item, item.plan
    if isinstance(plan, StickPlan):
        tail = item.material.stick_rules.tail_trim
        for number, use in enumerate(plan.uses):
            if use.keep:
                yield Keep(position, number, 0, code, Length(use.leftover + tail), ZERO)
        return
    for number, sheet in enumerate(plan.uses):
        for place, part in enumerate(sheet.leftovers):
            if part.fate is Fate.KEEP:
                size = Length(part.rect.w), Length(part.rect.h)
                yield Keep(position, number, place, code, *size)


def placed(plan: CutPlan) -> Mapping[str, int]:
    """Return how many pieces of each wish the plan cuts."""
    made = Counter[str]()
    for item in plan.items:
        for use in item.plan.uses:
            made.update(plan.wish_of[one.piece] for one in use.placements)
    return made
