"""The job document, taken by `POST /v1/estimates` and `POST /v1/quotes`; loads to `JobSpec`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import ValidationError

from schemas.shop import CurrencyCode
from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Resource, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import Code, ExactNumber, OneOf, StrictInteger, Words
from schemas.wire.lengths import LengthField, SidesField, SizeField
from service.domain.estimates.sweep import SweepRequest
from service.domain.jobs.artwork import ART_KINDS, Artwork
from service.domain.jobs.job import (
    MOST_OF_A_JOB,
    PRESENTATIONS,
    Conditions,
    Discount,
    FrameSpec,
    GlazingSpec,
    JobSpec,
    MatSpec,
    MountingSpec,
)
from service.domain.jobs.mat import BEVELS, MOST_WINDOWS, SHAPES, Grid, Layout, Placed, PlacedWindow
from service.domain.jobs.use import COMPONENTS
from service.domain.measure.length import ZERO, Length, Size
from service.domain.quotes.life import Customer, QuoteRequest

MOST_JOBS = 50
MOST_MATS = 6
MOST_FRAMES = 4
MOST_ROUNDS = 10
DISCOUNTED = tuple(component for component in COMPONENTS if component != "fee")


class SizeLength(LengthField):
    """A length above zero."""

    def read(self, value: Any) -> Length:
        """Return a length above zero."""
        length = super().read(value)
        if not length.ticks:
            raise refusal("bad_length", "this must be more than nothing")
        return length


def _artwork(
    width: Length, height: Length, thickness: Length = ZERO, kind: str = "paper"
) -> Artwork:
    return Artwork(Size(width, height), thickness, kind)


class ArtworkDocument(Document):
    """One artwork."""

    makes = _artwork
    width = SizeLength(required=True)
    height = SizeLength(required=True)
    thickness = LengthField()
    kind = OneOf(tuple(ART_KINDS))


class MatDocument(Document):
    """One mat."""

    makes = MatSpec
    board = Code(required=True)
    border = SidesField()
    reveal = SidesField()
    bevel = OneOf(BEVELS)
    fillet = Code()
    grooves = Several(SizeLength(), most=MOST_ROUNDS)
    ruled_lines = Several(SizeLength(), most=MOST_ROUNDS)


class GlazingDocument(Document):
    """Glazing, and the depth of a spacer under it."""

    makes = GlazingSpec
    sheet = Code(required=True)
    spacer = LengthField()


class MountingDocument(Document):
    """How the art is mounted, and on what."""

    makes = MountingSpec
    method = Code()
    board = Code()


def _code(board: str) -> str:
    return board


class BackingDocument(Document):
    """The board behind it all."""

    makes = _code
    board = Code(required=True)


class FrameDocument(Document):
    """One frame; the first of a list is the innermost."""

    makes = FrameSpec
    moulding = Code(required=True)
    supply = OneOf(("length", "chop", "join"))
    sides = StrictInteger(least=3, most=12)
    fillet = Code()


def _grid(rows: int, columns: int, arrangement: str = "grid", **more: Any) -> Grid:
    return Grid(rows, columns, **more)


class GridDocument(Document):
    """Equal windows in rows and columns."""

    makes = _grid
    arrangement = OneOf(("grid",), required=True)
    rows = StrictInteger(least=1, most=MOST_WINDOWS, required=True)
    columns = StrictInteger(least=1, most=MOST_WINDOWS, required=True)
    gutter = LengthField()
    shape = OneOf(SHAPES)


class PlacedWindowDocument(Document):
    """A window placed by hand."""

    makes = PlacedWindow
    artwork = Part(ArtworkDocument, required=True)
    x = LengthField(required=True)
    y = LengthField(required=True)
    shape = OneOf(SHAPES)


class OpeningsField(WireField[Layout]):
    """A grid, or a list of windows placed by hand."""

    _grid: ClassVar[GridDocument] = GridDocument()
    _window: ClassVar[PlacedWindowDocument] = PlacedWindowDocument()

    def json_shape(self) -> dict[str, object]:
        """Return a shape that allows either of the two."""
        grid = {"$ref": "#/components/schemas/Grid"}
        window = {"$ref": "#/components/schemas/PlacedWindow"}
        return {"oneOf": [grid, {"type": "array", "items": window, "maxItems": MOST_WINDOWS}]}

    def read(self, value: Any) -> Layout:
        """Return the arrangement of the windows."""
        if isinstance(value, Mapping):
            layout: Layout = self._grid.load(value)
            return layout
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= MOST_WINDOWS:
            raise refusal(
                "bad_value", f"openings are a grid, or a list of 1 to {MOST_WINDOWS} windows"
            )
        windows, faults = [], {}
        for position, each in enumerate(value):
            try:
                windows.append(self._window.load(each))
            except ValidationError as error:
                faults[position] = error.messages
        if faults:
            raise ValidationError(faults)
        return Placed(tuple(windows))


class DiscountDocument(Document):
    """So many percent, or such an amount, and why."""

    makes = Discount
    reason = Words(shortest=1, longest=120, required=True)
    percent = ExactNumber(least=0, most=100)
    amount = ExactNumber(least=0)


class JobDiscountDocument(DiscountDocument):
    """A discount on a job, or on the lines of one of its components."""

    component = OneOf(DISCOUNTED)


class JobDocument(Document):
    """One picture to be framed, or several alike."""

    makes = JobSpec
    label = Words(longest=120)
    quantity = StrictInteger(least=1, most=MOST_OF_A_JOB)
    artwork = Part(ArtworkDocument, load_default=None)
    presentation = OneOf(PRESENTATIONS, required=True)
    overlap = LengthField()
    float_margin = LengthField()
    gap = LengthField()
    openings = OpeningsField()
    mats = Several(Part(MatDocument), most=MOST_MATS)
    fit_to = SizeField()
    bottom_weight = LengthField()
    glazing = Part(GlazingDocument)
    mounting = Part(MountingDocument)
    backing = Part(BackingDocument)
    frames = Several(Part(FrameDocument), most=MOST_FRAMES)
    finishing = Several(Code(), most=20)
    preservation_grade = StrictInteger(least=1, most=4)
    fees = Several(Code(), most=10)
    discounts = Several(Part(JobDiscountDocument), most=10)


class CustomerDocument(Document):
    """Who asks."""

    makes = Customer
    name = Words(longest=120)
    email = Words(longest=254)
    telephone = Words(longest=40)
    note = Words(longest=1000, lines=True)


class QuoteRequestDocument(Resource):
    """The document of an estimate or a quote."""

    makes = QuoteRequest
    reference = Words(longest=80)
    customer = Part(CustomerDocument)
    currency = CurrencyCode()
    discounts = Several(Part(DiscountDocument), most=10)
    tax_exempt = Words(shortest=1, longest=200)
    tax_place = Code()
    jobs = Several(Part(JobDocument), least=1, most=MOST_JOBS, required=True)

    def make(self, values: dict[str, Any]) -> Any:
        """Return the request, with its special conditions, if any, collected."""
        conditions = {name: values.pop(field, None) for name, field in _CONDITIONS}
        if any(conditions.values()):
            told = {name: value for name, value in conditions.items() if value}
            values["conditions"] = Conditions(**told)
        return super().make(values)


_CONDITIONS = (("discounts", "discounts"), ("exempt", "tax_exempt"), ("place", "tax_place"))


class SweepRequestDocument(Resource):
    """The document of a sweep."""

    makes = SweepRequest
    job = Part(JobDocument, required=True)
    over = OneOf(("mouldings", "glazing"), required=True)
    items = Several(Code(), most=5000)


JOB = JobDocument()
