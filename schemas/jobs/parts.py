"""The parts of a job's document: artwork, mats, glazing, mounting, frames, windows, discounts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import ValidationError

from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import Code, ExactNumber, OneOf, StrictInteger, Words
from schemas.wire.lengths import LengthField, SidesField
from service.domain.jobs.artwork import ART_KINDS, Artwork
from service.domain.jobs.job import (
    MAKEABLE_STOPS,
    Discount,
    FrameSpec,
    GlazingSpec,
    MatSpec,
    MountingSpec,
    Override,
)
from service.domain.jobs.mat import BEVELS, MOST_WINDOWS, SHAPES, Grid, Layout, Placed, PlacedWindow
from service.domain.jobs.use import COMPONENTS
from service.domain.measure.length import ZERO, Length, Size

DISCOUNTED = tuple(component for component in COMPONENTS if component != "fee")


MOST_ROUNDS = 10


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
    width = SizeLength(required=True, means="The art's width, above 0.")
    height = SizeLength(required=True, means="The art's height, above 0.")
    thickness = LengthField(means="The art's thickness, which adds to the stack. Default: 0.")
    kind = OneOf(
        tuple(ART_KINDS),
        means=("The kind of art; advisories on mounting and glazing depend on it. Default: paper."),
    )


class MatDocument(Document):
    """One mat."""

    makes = MatSpec
    board = Code(required=True, means="The board's code.")
    border = SidesField(
        means=(
            "For the top mat: the width from its outside edge to its own sight edge. "
            "Left out if the job has a `fit_to`."
        )
    )
    reveal = SidesField(
        means=(
            "For an under mat: how much of it shows, from sight edge to sight edge. "
            "Default: the shop's."
        )
    )
    bevel = OneOf(BEVELS, means="How the edge of the window is cut. Default: standard.")
    fillet = Code(means="The code of a fillet that lines the window.")
    grooves = Several(
        SizeLength(),
        most=MOST_ROUNDS,
        means="V-grooves round every window, each by its distance from the sight edge.",
    )
    ruled_lines = Several(
        SizeLength(),
        most=MOST_ROUNDS,
        means="Lines drawn round every window, each by its distance from the sight edge.",
    )


class GlazingDocument(Document):
    """Glazing, and the depth of a spacer under it."""

    makes = GlazingSpec
    sheet = Code(required=True, means="The code of the glass or plastic.")
    spacer = LengthField(
        means=("The depth of a spacer between the glazing and the art; one that the shop has.")
    )


class MountingDocument(Document):
    """How the art is mounted, and on what."""

    makes = MountingSpec
    method = Code(means="The code of one of the shop's methods of mounting.")
    board = Code(means="The code of the board that the art is mounted on.")


def _code(board: str) -> str:
    return board


class BackingDocument(Document):
    """The board behind it all."""

    makes = _code
    board = Code(required=True, means="The board's code.")


class FrameDocument(Document):
    """One frame; the first of a list is the innermost."""

    makes = FrameSpec
    moulding = Code(required=True, means="The moulding's code.")
    supply = OneOf(
        ("length", "chop", "join"),
        means=(
            "As a length of stick, chopped to size, or joined. Default: the first "
            "way in which the moulding is sold."
        ),
    )
    sides = StrictInteger(least=3, most=12, means="The number of sides: 4, 8 or 12. Default: 4.")
    fillet = Code(means="The code of a fillet that lines the rabbet.")


def _grid(rows: int, columns: int, arrangement: str = "grid", **more: Any) -> Grid:
    return Grid(rows, columns, **more)


class GridDocument(Document):
    """Equal windows in rows and columns."""

    makes = _grid
    arrangement = OneOf(("grid",), required=True, means="Always grid.")
    rows = StrictInteger(
        least=1,
        most=MOST_WINDOWS,
        required=True,
        means="The number of rows; rows times columns is at most 100.",
    )
    columns = StrictInteger(
        least=1, most=MOST_WINDOWS, required=True, means="The number of columns."
    )
    gutter = LengthField(means="The top mat's bar between two windows.")
    shape = OneOf(SHAPES, means="The shape of the windows. Default: rectangle.")


class PlacedWindowDocument(Document):
    """A window placed by hand."""

    makes = PlacedWindow
    artwork = Part(ArtworkDocument, required=True, means="The art in this window.")
    x = LengthField(
        required=True,
        means=("The distance from the mat's left edge to the window's, seen from the front."),
    )
    y = LengthField(
        required=True,
        means=("The distance from the mat's top edge to the window's, seen from the front."),
    )
    shape = OneOf(SHAPES, means="The shape of the window. Default: rectangle.")


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
    reason = Words(shortest=1, longest=120, required=True, means="The reason; required.")
    percent = ExactNumber(
        least=0, most=100, means="The percentage of what is left; give this or `amount`."
    )
    amount = ExactNumber(
        least=0, means="An amount in the document's currency; give this or `percent`."
    )


class JobDiscountDocument(DiscountDocument):
    """A discount on a job, or on the lines of one of its components."""

    component = OneOf(DISCOUNTED, means="Limits it to the lines of this component.")


class OverrideDocument(Document):
    """A stop that the shop sets aside."""

    makes = Override
    stop = OneOf(
        MAKEABLE_STOPS,
        required=True,
        means=(
            "The code of the advisory. Only stops that a shop can find a way round, not those that "
            "say that the parts contradict each other."
        ),
    )
    reason = Words(
        shortest=1, longest=200, required=True, means="How it is made all the same, in words."
    )
