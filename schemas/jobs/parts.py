"""The parts of a job's document: artwork, mats, glazing, mounting, frames, windows, discounts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, ClassVar, NamedTuple
from urllib.parse import urlsplit

from marshmallow import ValidationError

from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import Code, ExactNumber, OneOf, StrictBoolean, StrictInteger, Words
from schemas.wire.lengths import LengthField, SidesField, SizeField
from service.domain.jobs.artwork import ART_KINDS, Artwork
from service.domain.jobs.asked import MOST_ASKED, AskedLine
from service.domain.jobs.job import (
    MAKEABLE_STOPS,
    MOST_OF_A_JOB,
    Discount,
    FrameSpec,
    GlazingSpec,
    MountingSpec,
    Override,
)
from service.domain.jobs.mat import (
    BEVELS,
    MOST_WINDOWS,
    SHAPES,
    Grid,
    Layout,
    MatSpec,
    Placed,
    PlacedWindow,
)
from service.domain.jobs.notes import Finding, Note, Photograph
from service.domain.jobs.own import CHANGES, Good, OwnFrame
from service.domain.jobs.use import COMPONENTS
from service.domain.measure.length import ZERO, Length, Size

DISCOUNTED = tuple(component for component in COMPONENTS if component != "fee")


MOST_ROUNDS = 10
MOST_NOTES = 20
_ADDRESS = re.compile(r"https://[!-~]+")
_DIGEST = re.compile("[0-9a-fA-F]{64}")


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


class NoteDocument(Document):
    """A note, for the shop alone or for the customer too.

    Notes stay when a customer is forgotten: names and addresses do not belong in them.
    """

    makes = Note
    text = Words(shortest=1, longest=1000, lines=True, required=True, means="The note.")
    inside = StrictBoolean(means="True: for the shop alone, on no customer's paper. Default: true.")


def notes_field(about: str) -> Several:
    """Return the field for the notes on something."""
    return Several(Part(NoteDocument), most=MOST_NOTES, means=f"Notes on {about}, for the ticket.")


class AddressField(WireField[str]):
    """The https address of something kept elsewhere; the service never fetches it."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of an https address."""
        return {"type": "string", "format": "uri", "pattern": "^https://", "maxLength": 2000}

    def read(self, value: Any) -> str:
        """Return an https address without a user's name or password."""
        if type(value) is str and _ADDRESS.fullmatch(value) and len(value) <= 2000:
            try:
                parts = urlsplit(value)
                if parts.hostname and "@" not in parts.netloc:
                    return value
            except ValueError:
                pass  # no address
        raise refusal("bad_address", "this is an address that begins with https://")


class DigestField(WireField[str]):
    """A SHA-256 in hexadecimal."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of 64 hexadecimal digits."""
        return {"type": "string", "pattern": "^[0-9a-fA-F]{64}$"}

    def read(self, value: Any) -> str:
        """Return the digest in small letters."""
        if type(value) is str and _DIGEST.fullmatch(value):
            return value.lower()
        raise refusal("bad_digest", "a SHA-256 is 64 digits and letters a to f")


class PhotographDocument(Document):
    """A photograph kept elsewhere."""

    makes = Photograph
    url = AddressField(required=True, means="Where it is kept.")
    sha256 = DigestField(required=True, means="The SHA-256 of its file, which proves the picture.")


class ConditionDocument(Document):
    """One finding about the condition at intake."""

    makes = Finding
    code = Code(required=True, means="One of the shop's terms of condition.")
    words = Words(longest=500, lines=True, means="Where and how much, in words.")
    photographs = Several(
        Part(PhotographDocument), most=MOST_NOTES, means="Photographs of it, kept elsewhere."
    )


class AskedLineDocument(Document):
    """A line of its own: a service of the shop, or anything else by description and price."""

    makes = AskedLine
    service = Code(means="The code of a service of the price list, such as a delivery.")
    description = Words(
        longest=160, means="The text of the line; a service has its own. Needed without a service."
    )
    quantity = ExactNumber(
        least=0,
        most=MOST_ASKED,
        means="How much, in what the service counts (miles, days …), for all pieces. Default: 1.",
    )
    unit_price = ExactNumber(
        least=0,
        most=1_000_000,
        means=(
            "The price of each unit, for a line that is no service. A key with the scope `price` "
            "alone may set none."
        ),
    )
    tax_category = Code(
        shortest=0, means="The tax category of such a price; empty for none. Default: goods."
    )


class JobLineDocument(AskedLineDocument):
    """A line of a job, which may take time at the bench."""

    minutes = ExactNumber(
        least=0,
        most=10_000,
        means=(
            "Minutes at the bench, for all pieces: on the ticket and in the backlog, but not "
            "billed besides the line's own price."
        ),
    )


class OwnFrameDocument(Document):
    """A frame that the customer brings, as measured."""

    makes = OwnFrame
    rabbet = SizeField(
        means="Its rabbet opening, width and height; not where its rails are still to be joined."
    )
    rabbet_width = LengthField(required=True, means="The width of its lip.")
    rabbet_depth = LengthField(required=True, means="The depth of its rabbet.")
    face_width = LengthField(required=True, means="The full width of its face.")
    material = Words(longest=40, means="Its material: wood, aluminium … Default: wood.")
    change = OneOf(
        CHANGES,
        means=(
            "With the work `own_frame`: `cut_down` to the job's size, or `join`: its rails come "
            "cut to that size."
        ),
    )
    corners = StrictInteger(
        most=4, means="With the work `corner_repair`: how many corners are repaired."
    )


class GoodDocument(Document):
    """So many of an item, sold as it is."""

    makes = Good
    item = Code(
        required=True, means="The code of the hardware, or of the supply that is sold ready-made."
    )
    quantity = StrictInteger(
        least=1, most=MOST_OF_A_JOB, means="How many, for each piece of the job. Default: 1."
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
    notes = notes_field("this mat")


class GlazingDocument(Document):
    """Glazing, and the depth of a spacer under it."""

    makes = GlazingSpec
    sheet = Code(required=True, means="The code of the glass or plastic.")
    spacer = LengthField(
        means=("The depth of a spacer between the glazing and the art; one that the shop has.")
    )
    spacers = Several(
        SizeLength(),
        most=6,
        means="Instead of `spacer`: the depths of spacers laid on one another, as for an object.",
    )
    notes = notes_field("the glazing")


class MountingDocument(Document):
    """How the art is mounted, and on what."""

    makes = MountingSpec
    method = Code(means="The code of one of the shop's methods of mounting.")
    board = Code(means="The code of the board that the art is mounted on.")
    notes = notes_field("the mounting")


class Backing(NamedTuple):
    """The board behind it all, by code, and the notes on it."""

    board: str
    notes: tuple[Note, ...] = ()


class BackingDocument(Document):
    """The board behind it all."""

    makes = Backing
    board = Code(required=True, means="The board's code.")
    notes = notes_field("the backing")


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
    notes = notes_field("this frame")


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
