"""A job: one picture to be framed, as requested and as the shop can make it.

Glazing and the conditions of the order (discount, rush, exemption) are part of the request.
"""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import Literal

from service.domain.errors import BadValue
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.asked import AskedLine
from service.domain.jobs.frame import Frame
from service.domain.jobs.mat import Grid, Layout, Mat, MatSpec, Placed, Single
from service.domain.jobs.notes import Finding, Note
from service.domain.jobs.own import Good, OwnFrame
from service.domain.jobs.work import NEW
from service.domain.materials.catalogue import AnyItem, Board, Consumable, Glazing, Supply
from service.domain.measure.length import ZERO, Length, Sides, Size
from service.domain.shop import Method
from service.domain.value import dataclass

EXPANSION_PER_DEGREE_F = {
    "glass": Fraction(5, 1_000_000),
    "acrylic": Fraction(40, 1_000_000),
    "polycarbonate": Fraction(38, 1_000_000),
}
"""Length per length and degree Fahrenheit. Glass: EN 572-1, 9e-6 per K. Acrylic 4.0e-5 and
polycarbonate 3.8e-5 per °F: sheet makers' technical notes."""


@dataclass(frozen=True, slots=True)
class GlazingChoice:
    """A sheet of glazing, the depth of the spacer under it (zero for none), and its item.

    `stacked` are the items of spacers that are laid on one another; `spacer` is their whole depth.
    """

    sheet: Glazing
    spacer: Length = ZERO
    spacer_item: Consumable | None = None
    stacked: tuple[Consumable, ...] = ()

    @property
    def plastic(self) -> bool:
        """True if the sheet expands as plastics do."""
        return self.sheet.kind != "glass"


def movement(kind: str, length: Length, degrees_f: Fraction) -> Fraction:
    """Return a sheet's expansion over a temperature change, in inches: length · change · rate."""
    return length.in_inches() * degrees_f * EXPANSION_PER_DEGREE_F[kind]


Presentation = Literal["overlap", "float", "full_bleed", "floater"]
PRESENTATIONS = ("overlap", "float", "full_bleed", "floater")
MOST_OF_A_JOB = 10_000


@dataclass(frozen=True, slots=True)
class GlazingSpec:
    """Requested glazing; `spacer` is the spacer's depth, `spacers` those of stacked ones."""

    sheet: str
    spacer: Length | None = None
    spacers: tuple[Length, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class MountingSpec:
    """Requested mounting: one of the shop's methods, and a board to mount on."""

    method: str = ""
    board: str = ""
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class FrameSpec:
    """A requested frame."""

    moulding: str
    supply: Supply | None = None
    sides: int = 4
    fillet: str = ""
    notes: tuple[Note, ...] = ()


MAKEABLE_STOPS = (
    "larger_than_stock_sheet",
    "grain_against_rotation",
    "art_deeper_than_space",
    "rabbet_too_shallow",
)
"""The stops that a shop may set aside: with a special sheet, say, or a part made to measure.

The others say that the parts contradict each other, so that no cut could make them.
"""


@dataclass(frozen=True, slots=True)
class Override:
    """A stop that the shop sets aside, and why: it knows of a way to make the job."""

    stop: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSpec:
    """One job of a document, with lengths parsed and items still given by code.

    Raises:
        BadValue: the quantity is not a valid number of pieces.
    """

    artwork: Artwork | None
    presentation: Presentation
    work: str = NEW
    label: str = ""
    quantity: int = 1
    overlap: Length | None = None
    float_margin: Length | None = None
    gap: Length | None = None
    openings: Layout = field(default_factory=Single)
    mats: tuple[MatSpec, ...] = ()
    fit_to: Size | None = None
    bottom_weight: Length | None = None
    glazing: GlazingSpec | None = None
    mounting: MountingSpec | None = None
    backing: str = ""
    frames: tuple[FrameSpec, ...] = ()
    finishing: tuple[str, ...] = ()
    preservation_grade: int | None = None
    fees: tuple[str, ...] = ()
    discounts: tuple[Discount, ...] = ()
    overrides: tuple[Override, ...] = ()
    lines: tuple[AskedLine, ...] = ()
    notes: tuple[Note, ...] = ()
    backing_notes: tuple[Note, ...] = ()
    own_frame: OwnFrame | None = None
    cut_to: Size | None = None
    goods: tuple[Good, ...] = ()
    by_side: Sides | None = None
    condition: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.quantity <= MOST_OF_A_JOB:
            raise BadValue(f"the quantity is 1 to {MOST_OF_A_JOB}", "/quantity")

    def parts(self) -> int:
        """Return the amount of work: windows in every mat, mats, rails, glazing and boards.

        Counted for one piece, since the work does not grow with the quantity.
        """
        windows = len(self.openings.windows) if isinstance(self.openings, Placed) else 1
        if isinstance(self.openings, Grid):
            windows = self.openings.rows * self.openings.columns
        rounds = sum(len(mat.grooves) + len(mat.ruled_lines) for mat in self.mats)
        rails = sum(frame.sides for frame in self.frames)
        sheets = sum((self.glazing is not None, self.mounting is not None, bool(self.backing)))
        cut = windows * (max(len(self.mats), 1) + rounds) + len(self.mats) + rails + sheets
        return cut + len(self.lines) + len(self.goods) + (4 if self.own_frame else 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A valid job: every item found, every default filled in.

    `by_side` is the overlap, or the float margin, where its sides differ; `overlap` and
    `float_margin` are then the narrowest.
    """

    label: str
    quantity: int
    artwork: Artwork
    presentation: Presentation
    overlap: Length = ZERO
    float_margin: Length = ZERO
    gap: Length = ZERO
    openings: Layout = field(default_factory=Single)
    mats: tuple[Mat, ...] = ()
    border: Sides | None = None
    fit_to: Size | None = None
    bottom_weight: Length = ZERO
    glazing: GlazingChoice | None = None
    mounting: Method | None = None
    mount: Board | None = None
    backing: Board | None = None
    frames: tuple[Frame, ...] = ()
    finishing: tuple[Method, ...] = ()
    preservation_grade: int | None = None
    fees: tuple[str, ...] = ()
    discounts: tuple[Discount, ...] = ()
    overrides: tuple[Override, ...] = ()
    lines: tuple[AskedLine, ...] = ()
    notes: tuple[Note, ...] = ()
    condition: tuple[Finding, ...] = ()
    work: str = NEW
    own_frame: OwnFrame | None = None
    goods: tuple[tuple[AnyItem, int], ...] = ()
    by_side: Sides | None = None

    def around(self) -> Sides:
        """Return how far what shows reaches beyond the art on each side; below 0 by an overlap."""
        if self.by_side is None:
            return Sides.all(self.float_margin - self.overlap)
        sign = -1 if self.presentation == "overlap" else 1
        return Sides(*(sign * side for _, side in self.by_side.each()))

    def artworks(self) -> tuple[Artwork, ...]:
        """Return the artwork, or that of each window placed by hand."""
        if isinstance(self.openings, Placed):
            return tuple(window.artwork for window in self.openings.windows)
        return (self.artwork,)

    def mounted(self) -> tuple[tuple[Artwork, int], ...]:
        """Return each artwork and how many openings it fills; a grid repeats one artwork."""
        if isinstance(self.openings, Grid):
            return ((self.artwork, self.openings.rows * self.openings.columns),)
        return tuple((artwork, 1) for artwork in self.artworks())


@dataclass(frozen=True, slots=True, kw_only=True)
class Discount:
    """A percentage or an amount, with its reason.

    `component` limits it to the lines of one component: frame, mat, glazing and so on. If it is a
    coupon, `coupon` is its code, `components` what it is limited to, if anything, and `minimum` the
    least goods that it is taken off.

    Raises:
        BadValue: neither percent nor amount, or both; zero, or more than all; no reason.
    """

    reason: str
    percent: Fraction | None = None
    amount: Fraction | None = None
    component: str = ""
    coupon: str = ""
    components: tuple[str, ...] = ()
    minimum: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if (self.percent is None) == (self.amount is None):
            raise BadValue("a discount is either percent or an amount", "/percent")
        if self.percent is not None and not 0 < self.percent <= 100:
            raise BadValue("a discount is more than 0 and at most 100 percent", "/percent")
        if self.amount is not None and self.amount <= 0:
            raise BadValue("a discount is more than nothing", "/amount")
        if not self.reason.strip():
            raise BadValue("say why the discount is given", "/reason")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What holds for a whole document beside its jobs.

    Attributes:
        discounts: taken off all its jobs together.
        exempt: why the customer pays no tax; empty if tax is paid.
        place: where the tax is due, if the shop has several; empty for the shop's own.
        notes: what is told of the whole order.
        lines: asked for by the order itself, such as its delivery.
        level: the code of the price level; empty for the usual prices.
    """

    discounts: tuple[Discount, ...] = ()
    exempt: str = ""
    place: str = ""
    notes: tuple[Note, ...] = ()
    lines: tuple[AskedLine, ...] = ()
    level: str = ""


PLAIN = Conditions()
