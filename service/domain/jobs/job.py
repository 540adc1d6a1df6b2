"""A job: one picture to be framed, as it was asked for and as the shop can make it.

Glazing and the conditions of the order (discount, rush, exemption) are part of what is asked.
"""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import Literal

from service.domain.errors import BadValue
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.frame import Frame
from service.domain.jobs.mat import Bevel, Grid, Layout, Mat, Placed, Single
from service.domain.materials.catalogue import Board, Consumable, Glazing, Supply
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
    """A sheet of glazing, the depth of the spacer under it (nothing for none), and its item."""

    sheet: Glazing
    spacer: Length = ZERO
    spacer_item: Consumable | None = None

    @property
    def plastic(self) -> bool:
        """Whether it moves as plastics do."""
        return self.sheet.kind != "glass"


def movement(kind: str, length: Length, degrees_f: Fraction) -> Fraction:
    """How much a sheet grows over a change of temperature, in inches: length · change · rate."""
    return length.in_inches() * degrees_f * EXPANSION_PER_DEGREE_F[kind]


Presentation = Literal["overlap", "float", "full_bleed", "floater"]
PRESENTATIONS = ("overlap", "float", "full_bleed", "floater")
MOST_OF_A_JOB = 10_000


@dataclass(frozen=True, slots=True)
class MatSpec:
    """A mat as asked for. The top one has a border (or the job a fit_to), later ones a reveal."""

    board: str
    border: Sides | None = None
    reveal: Sides | None = None
    bevel: Bevel = "standard"
    fillet: str = ""


@dataclass(frozen=True, slots=True)
class GlazingSpec:
    """Glazing as asked for; `spacer` is its depth."""

    sheet: str
    spacer: Length | None = None


@dataclass(frozen=True, slots=True)
class MountingSpec:
    """Mounting as asked for: a method of the shop's, and a board to mount on."""

    method: str = ""
    board: str = ""


@dataclass(frozen=True, slots=True)
class FrameSpec:
    """A frame as asked for."""

    moulding: str
    supply: Supply | None = None
    sides: int = 4
    fillet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSpec:
    """One job of a document, lengths read, items still by code.

    Raises:
        BadValue: a quantity that is no number of pieces.
    """

    artwork: Artwork | None
    presentation: Presentation
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

    def __post_init__(self) -> None:
        if not 1 <= self.quantity <= MOST_OF_A_JOB:
            raise BadValue(f"the quantity is 1 to {MOST_OF_A_JOB}", "/quantity")

    def parts(self) -> int:
        """How much there is to work out: windows in every mat, mats, rails, glazing and boards.

        One piece of the job is counted, since the work does not grow with the quantity.
        """
        windows = len(self.openings.windows) if isinstance(self.openings, Placed) else 1
        if isinstance(self.openings, Grid):
            windows = self.openings.rows * self.openings.columns
        rails = sum(frame.sides for frame in self.frames)
        sheets = sum((self.glazing is not None, self.mounting is not None, bool(self.backing)))
        return windows * max(len(self.mats), 1) + len(self.mats) + rails + sheets


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job that makes sense: every item found, every default filled in."""

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

    def artworks(self) -> tuple[Artwork, ...]:
        """What is framed: the artwork, or that of each window placed by hand."""
        if isinstance(self.openings, Placed):
            return tuple(window.artwork for window in self.openings.windows)
        return (self.artwork,)

    def art_thickness(self) -> Length:
        """The thickest artwork, which is what the stack has to make room for."""
        return Length(max(artwork.thickness.ticks for artwork in self.artworks()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Discount:
    """So many percent, or such an amount, and why.

    `component` lays it on the lines of one component only: frame, mat, glazing and so on.

    Raises:
        BadValue: neither percent nor amount, or both; nothing, or more than all; no reason.
    """

    reason: str
    percent: Fraction | None = None
    amount: Fraction | None = None
    component: str = ""

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
    """What a whole document is priced under.

    Attributes:
        discounts: taken off all its jobs together.
        exempt: why the customer pays no tax; empty where tax is paid.
        place: where the tax is due, where the shop has several; empty for its own.
    """

    discounts: tuple[Discount, ...] = ()
    exempt: str = ""
    place: str = ""


PLAIN = Conditions()
