"""The request of a cutting plan: tickets or pieces, stock if given, and options."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, get_args

from schemas.cutting.records import Colour, GivenStock, ItemWork, PlanOptions, PlanRequest, Wish
from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.fields import Code, ExactNumber, OneOf, StrictBoolean, StrictInteger, Words
from schemas.wire.lengths import LengthField
from schemas.wire.shown import as_sent
from service.domain.errors import BadValue, Fault, JobRefused
from service.domain.materials.catalogue import CutBy
from service.domain.measure.length import ZERO, Length
from service.domain.shop import STOCK_VALUES

MOST_ROWS = 5_000


class WantedDocument(Document):
    """So many equal pieces: width and height of a sheet, or the length of a stick."""

    key = Code(means="Its label in the plan. Default: its place in the list.")
    item = Code(
        required=True, means="The item to cut it from: one of the catalogue, or one of `stock`."
    )
    quantity = StrictInteger(least=1, most=20_000, means="Number of pieces. Default: 1.")
    width = LengthField(means="A sheet's width, together with `height`.")
    height = LengthField(means="A sheet's height; grain and texture run along it.")
    length = LengthField(means="A stick's length, in place of width and height.")
    may_turn = StrictBoolean(
        means=("True if it may be turned by 90°. Default: true; never if the item has a grain.")
    )
    sides = StrictInteger(
        least=3, most=12, means="For a rail: the number of sides of its frame. Default: 4."
    )
    together = Words(
        longest=40, means="For rails: all rails with the same word here come from one stick."
    )
    name = Words(longest=80, means="What it is.")

    def make(self, values: dict[str, Any]) -> Wish:
        """Return the wish; without a key of its own it gets one from its position in the list."""
        width, height = _extent(values)
        if values.get("sides", 4) not in (3, 4, 6, 8, 12):
            raise BadValue("frames are mitred for 3, 4, 6, 8 or 12 sides", "/sides")
        together = values.pop("together", "")
        made = {"key": "", "quantity": 1, **values, "width": width, "height": height}
        return Wish(**made, frame=together)


class GivenStockDocument(Document):
    """A size to cut from: a sheet or a stick, how many there are, and what one costs."""

    item = Code(required=True, means="The item.")
    width = LengthField(means="A sheet's width, together with `height`.")
    height = LengthField(means="A sheet's height; grain and texture run along it.")
    length = LengthField(means="A stick's length, in place of width and height.")
    quantity = StrictInteger(
        least=0, most=20_000, means="The number of them. Default: as many as needed."
    )
    cost = ExactNumber(least=0, most=1_000_000, means="The cost of one, in the shop's currency.")

    def make(self, values: dict[str, Any]) -> GivenStock:
        """Return the stock."""
        width, height = _extent(values)
        cost: Fraction | None = values.pop("cost", None)
        return GivenStock(**values, width=width, height=height, cost=cost)


class ItemWorkDocument(Document):
    """How one item is cut in this plan."""

    makes = ItemWork
    item = Code(required=True, means="The item.")
    cut_by = OneOf(
        get_args(CutBy), means="The tool that cuts it. Default: the catalogue's, otherwise scored."
    )
    kerf = LengthField(means="The kerf. Default: the shop's setting for the tool.")
    edge_trim = LengthField(
        means="What is trimmed off each edge of a new sheet. Default: the catalogue's."
    )
    colour = OneOf(
        get_args(Colour),
        means=(
            "How its colour is kept: `batch` takes no offcuts, and all new stock has to be of one "
            "batch; `stick` cuts the rails of each frame from one stick. Default: any, or stick "
            "for a moulding whose pattern runs."
        ),
    )
    may_turn = StrictBoolean(
        means=(
            "True if its pieces may be turned by 90°, unless a piece says otherwise. "
            "Default: true, unless the item has a grain."
        )
    )


class PlanOptionsDocument(Document):
    """How to plan; what is left out is as the shop has it."""

    makes = PlanOptions
    use_offcuts = StrictBoolean(means="True to use the offcuts on the rack. Default: true.")
    buy = StrictBoolean(means="True if more may be used than the shop has in stock. Default: true.")
    stock_on_hand = OneOf(
        STOCK_VALUES,
        means=(
            "How stock that the shop has is counted: at its `cost`, or as `free`. "
            "Default: the shop's setting."
        ),
    )
    sheet_kerf = LengthField(
        means=(
            "The kerf of sheets, for every item that `items` does not name. Default: "
            "0 for scored items, the shop's settings for a saw or a table."
        )
    )
    offcut_short = LengthField(
        means=("The least short side of a sheet's offcut to keep. Default: the shop's setting.")
    )
    offcut_long = LengthField(
        means=("The least long side of a sheet's offcut to keep. Default: the shop's setting.")
    )
    offcut_stick = LengthField(
        means=("The least length of a stick's offcut to keep. Default: the shop's setting.")
    )
    items = Several(
        Part(ItemWorkDocument),
        most=200,
        means="How single items are cut in this plan; replaces what the catalogue says.",
    )


class CuttingPlanRequestDocument(Resource):
    """What is to be cut, from what, and how."""

    reference = Words(longest=80, means="The caller's own reference.")
    tickets = Several(
        Words(shortest=1, longest=60),
        most=500,
        means="The tickets, by id or number, whose pieces are to be cut.",
    )
    open_tickets = StrictBoolean(means="True for all tickets that are not done.")
    pieces = Several(Part(WantedDocument), most=MOST_ROWS, means="Pieces that are on no ticket.")
    stock = Several(
        Part(GivenStockDocument),
        most=500,
        means=("Sizes to cut from. For the items named here they replace the catalogue's."),
    )
    options = Part(PlanOptionsDocument, means="How to plan.")
    dry_run = StrictBoolean(
        means=(
            "True if nothing is to be stored. Default: true. A plan that is too big "
            "to be made at once is always stored, since its answer has to be fetched."
        )
    )

    def make(self, values: dict[str, Any]) -> PlanRequest:
        """Return the request, every piece with its own key."""
        values.pop("units", None)
        if not any(name in values for name in ("tickets", "open_tickets", "pieces")):
            told = "say what is to be cut: tickets, open_tickets or pieces"
            raise BadValue(told, "/pieces")
        values["pieces"] = tuple(_keyed(values.get("pieces", ())))
        return PlanRequest(**values)


PLAN_REQUEST = CuttingPlanRequestDocument()


def read_plan_request(document: object, unit: str) -> PlanRequest:
    """Return the request in a document.

    Raises:
        JobRefused: with every fault found.
    """
    request: PlanRequest = read(PLAN_REQUEST, as_sent(document), unit=unit)
    return request


def _extent(values: dict[str, Any]) -> tuple[Length, Length]:
    """Return width and height of a sheet, or a stick's length and no height; all are positive.

    Raises:
        BadValue: neither, or both.
    """
    width, height = values.pop("width", None), values.pop("height", None)
    length = values.pop("length", None)
    if length is not None and width is None and height is None:
        _more_than_nothing(length, "/length")
        return length, ZERO
    if length is None and width is not None and height is not None:
        _more_than_nothing(width, "/width")
        _more_than_nothing(height, "/height")
        return width, height
    raise BadValue("give width and height for a sheet, or length for a stick", "/width")


def _more_than_nothing(length: Length, where: str) -> None:
    if length.ticks <= 0:
        raise BadValue("this is more than nothing", where)


def _keyed(wishes: tuple[Wish, ...]) -> Iterator[Wish]:
    """Yield every wish with a key: its own, or its position in the list, from 1."""
    seen: set[str] = set()
    faults = []
    for position, wish in enumerate(wishes):
        key = wish.key or str(position + 1)
        if key in seen:
            told = f'the key "{key}" stands twice; a piece without a key is called by its place'
            faults.append(Fault(f"/pieces/{position}/key", "bad_value", told))
        seen.add(key)
        yield _named(wish, key)
    if faults:
        raise JobRefused(faults)


def _named(wish: Wish, key: str) -> Wish:
    fields = {name: getattr(wish, name) for name in Wish.__slots__}
    return Wish(**{**fields, "key": key})
