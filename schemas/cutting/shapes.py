"""A cutting plan as answers show it, as records. Lists of plans are in `plan_shapes`."""

from __future__ import annotations

from typing import Annotated, Literal

from schemas.materials.stock_shapes import Height, StickLength, Width
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing
from schemas.wire.values import Length, Money, Number
from service.domain.cutting.steps import Outcome

REASONS = ("oversize", "stock_exhausted", "bought_cut", "unknown_item")
SOURCES = ("new", "rack", "given")
COST_BASES = ("size", "sheet", "square_foot", "linear_foot", "given", "on_hand")
OUTCOMES = tuple(each.value for each in Outcome)
Item = Annotated[str, doc("The item's code.")]
Name = Annotated[str, doc("What it is.")]
Ticket = Annotated[str, doc("The number of its ticket.")]
Lot = Annotated[int, at_least(1, "Its number in the ticket's `progress`.")]
FromLeft = Annotated[Length, doc("The distance from the sheet's left edge.")]
FromLower = Annotated[Length, doc("The distance from the sheet's lower edge.")]
FromEnd = Annotated[Length, doc("The distance from the stick's first end.")]
RackLabel = Annotated[str, doc("The rack label of an offcut.")]
NewLabel = Annotated[str | None, doc("Its rack label; null until the plan is committed.")]
UseNumber = Annotated[int, at_least(1, "The number of its sheet or stick.")]
Source = Annotated[
    str, growing(SOURCES, "A new one, an offcut from the rack, or one given by the request.")
]


class PlanPiece(Record, kw_only=True):
    """A requested piece, and how many of it the plan makes."""

    piece: Annotated[str, doc("Its label in the plan: its key, or its ticket and lot.")]
    item: Item
    name: Name
    quantity: Annotated[int, at_least(1, "Number of pieces requested.")]
    planned: Annotated[int, at_least(0, "Number of pieces that the plan makes.")]
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    ticket: Ticket | Unset = UNSET
    lot: Lot | Unset = UNSET


class PlanPlacement(Record, kw_only=True):
    """The place of a piece on its sheet or stick."""

    piece: Annotated[str, doc("The piece's label.")]
    copy: Annotated[int, at_least(1, "The number of the copy.")]
    x: FromLeft | Unset = UNSET
    y: FromLower | Unset = UNSET
    start: FromEnd | Unset = UNSET
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    turned: Annotated[bool, doc("True if it is turned by 90°.")] | Unset = UNSET


class PlanLeftover(Record, kw_only=True):
    """A part of a sheet or stick that is no piece."""

    x: FromLeft | Unset = UNSET
    y: FromLower | Unset = UNSET
    start: FromEnd | Unset = UNSET
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    keep: Annotated[bool, doc("True if it is large enough for the rack.")]
    label: NewLabel


class PlanFallen(Record):
    """A part that a cut separates."""

    outcome: Annotated[
        str,
        growing(
            OUTCOMES, "A finished piece, an offcut to keep, waste, or a part that is cut further."
        ),
    ]
    label: Annotated[str, doc("The label to chalk on it: a part's letter, or piece and copy.")]
    width: Annotated[Length, doc("A sheet's width, or a stick's length.")]
    height: Height | Unset = UNSET


class PlanStep(Record, kw_only=True):
    """One cut, from edge to edge of the part on the bench."""

    step: Annotated[int, at_least(1, "Its number on this sheet or stick.")]
    take: Annotated[str, doc("The part to cut: `sheet`, or a letter.")] | Unset = UNSET
    across: (
        Annotated[
            Literal["width", "height"], doc("The dimension along which the setting is measured.")
        ]
        | Unset
    ) = UNSET
    setting: Annotated[Length, doc("The setting of the arm, or the length from the last cut.")]
    kerf: Annotated[Length, doc("The width of the cut, beyond the setting.")]
    falls: Annotated[PlanFallen, doc("The part that was measured.")]
    rests: (
        Annotated[PlanFallen | None, doc("The part beyond the cut; null if there is none.")] | Unset
    ) = UNSET
    left: Annotated[Length, doc("What remains of the stick.")] | Unset = UNSET
    text: Annotated[str, doc("The step in words.")]


class PlanUse(Record, kw_only=True):
    """A sheet or stick that the plan uses."""

    use: Annotated[int, at_least(1, "Its number among those of the item.")]
    source: Source
    label: RackLabel | Unset = UNSET
    place: Annotated[str, doc("The place of that offcut.")] | Unset = UNSET
    cut_at: (
        Annotated[
            str,
            growing(
                ("bench", "supplier"),
                "`supplier` for a sheet whose cuts are longer than the bench can make.",
            ),
        ]
        | Unset
    ) = UNSET
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    utilisation: Annotated[Number, doc("The share of it that becomes pieces, 0 to 1.")]
    placements: Annotated[tuple[PlanPlacement, ...], doc("The pieces, in cutting order.")]
    leftovers: Annotated[tuple[PlanLeftover, ...], doc("The parts that are no pieces.")]
    steps: Annotated[tuple[PlanStep, ...], doc("The cuts, in order.")]


class PlanAlike(Record):
    """Sheets or sticks of one size that are cut in the same way."""

    use: Annotated[int, at_least(1, "The first of them; the others give further copies.")]
    count: Annotated[int, at_least(1, "How many there are.")]
    uses: Annotated[tuple[Annotated[int, at_least(1, "A number.")], ...], doc("Their numbers.")]


class PlanStock(Record, kw_only=True):
    """How much of one size the plan takes."""

    source: Source
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    quantity: Annotated[int, at_least(1, "Number of sheets or sticks.")]
    in_stock: Annotated[int, at_least(0, "How many of them are in stock.")]
    buy: Annotated[int, at_least(0, "How many of them have to be bought.")]
    label: RackLabel | Unset = UNSET


class PlanKeep(Record, kw_only=True):
    """An offcut that goes back on the rack."""

    use: UseNumber
    leftover: Annotated[int, at_least(1, "Its number among the leftovers there.")]
    label: NewLabel
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET


class PlanItem(Record, kw_only=True):
    """Everything that is cut from one item."""

    item: Item
    description: Annotated[str, doc("The item's description.")]
    kind: Annotated[str, growing(("sheet", "stick"), "The form of the item.")]
    kerf: Annotated[
        Length,
        doc(
            "The width of a cut: 0 if the item is scored; for a mitre of 45°, the saw's blade "
            "times the square root of 2."
        ),
    ]
    cut_by: (
        Annotated[str, growing(("scored", "saw", "table"), "The tool that cuts the sheets.")]
        | Unset
    ) = UNSET
    edge_trim: Annotated[Length, doc("What is trimmed off each edge of a new sheet.")] | Unset = (
        UNSET
    )
    reach: Annotated[Length, doc("The longest cut that the bench can make.")] | Unset = UNSET
    uses: Annotated[tuple[PlanUse, ...], doc("The sheets or sticks, in the order of the work.")]
    alike: Annotated[tuple[PlanAlike, ...], doc("The same, grouped by the way they are cut.")]
    new: Annotated[int, at_least(0, "How many of them are not offcuts.")]
    utilisation: Annotated[Number, doc("The share of the stock that becomes pieces, 0 to 1.")]
    kept: Annotated[
        Number, doc("The share that becomes offcuts to keep, 0 to 1; the rest is waste.")
    ]
    cuts: Annotated[int, at_least(0, "Number of cuts.")]
    reckoned_in: Annotated[
        str,
        growing(
            ("money", "material"),
            "What the plan minimises: the cost, or area and length if a cost is not known.",
        ),
    ]
    gap_percent: Annotated[
        Number,
        doc("An upper limit of what a better plan could save, in percent of this plan."),
    ]
    proved_best: Annotated[
        bool, doc("True if it is proved that no plan is better, at the prices in `costs`.")
    ]
    stock: Annotated[tuple[PlanStock, ...], doc("The stock to take, by size: what to buy.")]
    keep: Annotated[tuple[PlanKeep, ...], doc("The offcuts that go back on the rack.")]
    split_frames: Annotated[
        tuple[str, ...],
        doc("Frames whose rails are to come from one stick, and do not all fit on one."),
    ]
    colour: (
        Annotated[
            str,
            growing(
                ("any", "batch", "stick"),
                "How its colour is kept: `batch` for new stock of one batch alone, `stick` for the "
                "rails of each frame from one stick.",
            ),
        ]
        | Unset
    ) = UNSET


class PlanUnplaced(Record, kw_only=True):
    """A piece that the plan does not make."""

    piece: Annotated[str, doc("The piece's label.")]
    item: Item
    name: Name
    quantity: Annotated[int, at_least(1, "Number of pieces.")]
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    reason: Annotated[str, growing(REASONS, "The reason.")]
    detail: Annotated[str, doc("The reason in words.")]
    ticket: Ticket | Unset = UNSET
    lot: Lot | Unset = UNSET


class PlanPrice(Record, kw_only=True):
    """The price at which a size is counted."""

    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    source: Source
    each: Annotated[Money, doc("The cost of one.")]
    by: Annotated[
        str,
        growing(
            COST_BASES,
            "The cost that was used: of this `size`, of any `sheet` of the item, a rate by "
            "`square_foot` or `linear_foot`, the request's (`given`), or none for what is in "
            "stock (`on_hand`).",
        ),
    ]


class PlanItemCost(Record):
    """The cost of the new stock of an item."""

    item: Item
    new: Annotated[Money | None, doc("The cost of the new stock; null if it is not known.")]
    prices: Annotated[tuple[PlanPrice, ...], doc("The prices, by size.")] | Unset = UNSET
    reckoned: (
        Annotated[
            Money,
            doc("The cost with offcuts at a twentieth of the cost of as much new stock."),
        ]
        | Unset
    ) = UNSET
    at_least: Annotated[Money, doc("A lower limit of that cost for any plan.")] | Unset = UNSET


class PlanCosts(Record):
    """The cost of the new stock; only for keys that may see costs."""

    currency: Annotated[str, doc("The currency (ISO 4217).")]
    items: Annotated[tuple[PlanItemCost, ...], doc("The costs, by item.")]
    total: Annotated[Money | None, doc("The cost of all new stock; null if one is not known.")]
