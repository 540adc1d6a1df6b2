"""The request of a cutting plan: tickets or pieces, stock if given, and options."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, get_args

from schemas.cutting.records import GivenStock, ItemWork, PlanOptions, PlanRequest, Wish
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

    key = Code()
    item = Code(required=True)
    quantity = StrictInteger(least=1, most=20_000)
    width = LengthField()
    height = LengthField()
    length = LengthField()
    may_turn = StrictBoolean()
    sides = StrictInteger(least=3, most=12)
    together = Words(longest=40)
    name = Words(longest=80)

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

    item = Code(required=True)
    width = LengthField()
    height = LengthField()
    length = LengthField()
    quantity = StrictInteger(least=0, most=20_000)
    cost = ExactNumber(least=0, most=1_000_000)

    def make(self, values: dict[str, Any]) -> GivenStock:
        """Return the stock."""
        width, height = _extent(values)
        cost: Fraction | None = values.pop("cost", None)
        return GivenStock(**values, width=width, height=height, cost=cost)


class ItemWorkDocument(Document):
    """How one item is cut in this plan."""

    makes = ItemWork
    item = Code(required=True)
    cut_by = OneOf(get_args(CutBy))
    kerf = LengthField()
    edge_trim = LengthField()
    may_turn = StrictBoolean()


class PlanOptionsDocument(Document):
    """How to plan; what is left out is as the shop has it."""

    makes = PlanOptions
    use_offcuts = StrictBoolean()
    buy = StrictBoolean()
    stock_on_hand = OneOf(STOCK_VALUES)
    sheet_kerf = LengthField()
    offcut_short = LengthField()
    offcut_long = LengthField()
    offcut_stick = LengthField()
    items = Several(Part(ItemWorkDocument), most=200)


class CuttingPlanRequestDocument(Resource):
    """What is to be cut, from what, and how."""

    reference = Words(longest=80)
    tickets = Several(Words(shortest=1, longest=60), most=500)
    open_tickets = StrictBoolean()
    pieces = Several(Part(WantedDocument), most=MOST_ROWS)
    stock = Several(Part(GivenStockDocument), most=500)
    options = Part(PlanOptionsDocument)
    dry_run = StrictBoolean()

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
