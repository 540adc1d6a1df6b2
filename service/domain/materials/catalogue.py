"""The shop's catalogue: mouldings, boards, glazing, fillets, hardware and supplies.

Items hold the facts that a size, a weight or an advisory needs; prices and costs are kept
elsewhere. Every item has a code (the shop's own), a description and a `group`, by which a price
rule can name many items at once. Weights are entered per item because boards and mouldings differ.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from fractions import Fraction
from types import MappingProxyType
from typing import Literal, TypeVar, get_args

from service.domain.bench.materials import BOARDS
from service.domain.errors import BadValue
from service.domain.measure.length import Length, Size
from service.domain.measure.rounding import down
from service.domain.measure.units import MG_PER_KG
from service.domain.value import dataclass, derive

Kind = Literal["moulding", "board", "glazing", "fillet", "hardware", "supply"]
Supply = Literal["length", "chop", "join"]
GlazingKind = Literal["glass", "acrylic", "polycarbonate"]
GlazingBuild = Literal["plain", "coated", "laminated", "mirror"]
BoardUse = Literal["mat", "mount", "backing"]
CutBy = Literal["scored", "saw", "table"]
"""The way sheets are cut to size: scored (by hand or on the board cutter), saw or cutting table."""

DENSITY: Mapping[str, Fraction] = {
    "glass": Fraction(2500),
    "acrylic": Fraction(1190),
    "polycarbonate": Fraction(1200),
}
"""kg/m³. Glass: EN 572-1, soda-lime. Acrylic: cast PMMA sheet as in ISO 7823-1 data sheets."""


def _positive(**lengths: Length) -> None:
    for name, length in lengths.items():
        if length.ticks <= 0:
            raise BadValue(f"{name.replace('_', ' ')} must be more than nothing", f"/{name}")


def _not_negative(**numbers: Fraction) -> None:
    for name, number in numbers.items():
        if number < 0:
            raise BadValue(f"{name.replace('_', ' ')} cannot be below zero", f"/{name}")


def _real_sheets(sheets: tuple[Size, ...]) -> None:
    if not sheets:
        raise BadValue("give at least one stock sheet size", "/sheets")
    for sheet in sheets:
        _positive(width=sheet.width, height=sheet.height)


def _real_cutting(sheets: tuple[Size, ...], cut_by: str, trim: Length) -> None:
    if cut_by not in ("scored", "saw", "table"):
        raise BadValue("sheets are scored, or cut by a saw or a table", "/cut_by")
    least = min(min(sheet.width.ticks, sheet.height.ticks) for sheet in sheets)
    if not 0 <= 2 * trim.ticks < least:
        raise BadValue("trimming all edges must leave something of every sheet", "/edge_trim")


def _smallest_first(sheets: tuple[Size, ...]) -> tuple[Size, ...]:
    return tuple(sorted(sheets, key=lambda sheet: sheet.width.ticks * sheet.height.ticks))


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """The fields common to all items: code, description, price group, and if it is discontinued."""

    code: str
    description: str
    group: str = ""
    discontinued: bool = False

    def __post_init__(self) -> None:
        if not self.code.strip() or len(self.code) > 40:
            raise BadValue("a code has 1 to 40 characters", "/code")


@dataclass(frozen=True, slots=True, kw_only=True)
class Moulding(Item):
    """Moulding as bought.

    `face_width` is the full width seen from the front; `rabbet_width` the lip that covers the
    package; `rabbet_depth` the room for it; `height` the whole height from front to back, zero if
    it is not known. `pattern_runs` requires all rails of a frame from one
    stick. A `floater` profile has no covering lip: the picture stands clear of it.
    """

    face_width: Length
    rabbet_width: Length
    rabbet_depth: Length
    stick_lengths: tuple[Length, ...]
    weight_kg_per_m: Fraction
    supplies: tuple[Supply, ...] = ("length",)
    material: str = "wood"
    colour: str = ""
    pattern_runs: bool = False
    floater: bool = False
    height: Length = field(default_factory=lambda: Length(0))

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        if self.height and self.height < self.rabbet_depth:
            raise BadValue("the rabbet cannot be deeper than the moulding is high", "/height")
        _positive(face_width=self.face_width, rabbet_depth=self.rabbet_depth)
        _not_negative(weight_kg_per_m=self.weight_kg_per_m)
        if self.floater and self.rabbet_width:
            raise BadValue("a floater profile has no rabbet width", "/rabbet_width")
        if not self.floater:
            _positive(rabbet_width=self.rabbet_width)
            if self.rabbet_width >= self.face_width:
                raise BadValue("the rabbet cannot be as wide as the face", "/rabbet_width")
        if not self.stick_lengths or not self.supplies:
            raise BadValue("give at least one stick length and one way of supply", "/stick_lengths")
        for stick in self.stick_lengths:
            _positive(stick_lengths=stick)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board(Item):
    """Mat, mount or backing board by the sheet.

    `grade` is a preservation level, 1 the most demanding and 4 the least, by number because the
    terms differ between countries. `grain` is set if a texture or pattern has a direction, so that
    a piece must not be turned on the sheet. `cut_by` is the tool, which determines the kerf and the
    longest cut; `edge_trim` is lost at each edge of a new sheet. `worked_as` is the material by its
    code in `bench.materials.BOARDS`; empty means that its plies and its tool decide.
    """

    thickness: Length
    sheets: tuple[Size, ...]
    weight_kg_per_m2: Fraction
    uses: tuple[BoardUse, ...] = ("mat",)
    ply: int | None = None
    grade: int = 4
    colour: str = ""
    grain: bool = False
    cut_by: CutBy = "scored"
    edge_trim: Length = field(default_factory=lambda: Length(0))
    worked_as: str = ""
    by_area: tuple[Size, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        _positive(thickness=self.thickness)
        _real_sheets(self.sheets)
        derive(self, "by_area", _smallest_first(self.sheets))
        _not_negative(weight_kg_per_m2=self.weight_kg_per_m2)
        _real_cutting(self.sheets, self.cut_by, self.edge_trim)
        if self.grade not in (1, 2, 3, 4):
            raise BadValue("a preservation grade is 1, 2, 3 or 4", "/grade")
        if not self.uses:
            raise BadValue("say what the board is used for: mat, mount or backing", "/uses")
        if self.worked_as and self.worked_as not in BOARDS:
            raise BadValue(f"a board is worked as {', '.join(BOARDS)}", "/worked_as")


@dataclass(frozen=True, slots=True, kw_only=True)
class Glazing(Item):
    """Glass or plastic by the sheet.

    `grain`, `cut_by` and `edge_trim` are as for a board; patterned and reeded glass has a grain. A
    UV figure means nothing without its wavelength range, so both are stored. The largest of its
    sheets is the largest lite available. A density of 0 means the default for its kind. `build` is
    how the sheet is made, on which the way of cutting it depends.
    """

    kind: GlazingKind
    thickness: Length
    sheets: tuple[Size, ...]
    uv_percent: Fraction | None = None
    uv_range: str = ""
    finish: str = "clear"
    build: GlazingBuild = "plain"
    density_kg_per_m3: Fraction = Fraction(0)
    grain: bool = False
    cut_by: CutBy = "scored"
    edge_trim: Length = field(default_factory=lambda: Length(0))
    by_area: tuple[Size, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        _positive(thickness=self.thickness)
        _real_sheets(self.sheets)
        derive(self, "by_area", _smallest_first(self.sheets))
        _real_cutting(self.sheets, self.cut_by, self.edge_trim)
        if self.kind not in DENSITY:
            raise BadValue("glazing is glass, acrylic or polycarbonate", "/kind")
        if self.build not in get_args(GlazingBuild):
            raise BadValue("glazing is plain, coated, laminated or a mirror", "/build")
        if (self.uv_percent is None) != (not self.uv_range):
            raise BadValue("a UV figure goes with the range it was measured over", "/uv_range")
        _not_negative(density_kg_per_m3=self.density_kg_per_m3)
        density = self.density_kg_per_m3 or DENSITY[self.kind]
        derive(self, "density_kg_per_m3", density)

    @property
    def density(self) -> Fraction:
        """The density in kg/m³: the sheet's own, or the default for its kind."""
        return self.density_kg_per_m3


@dataclass(frozen=True, slots=True, kw_only=True)
class Fillet(Item):
    """A thin moulding that lines a window or a rabbet; `width` shows, `depth` adds to the stack."""

    width: Length
    depth: Length
    stick_lengths: tuple[Length, ...]
    weight_kg_per_m: Fraction

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        _positive(width=self.width, depth=self.depth)
        _not_negative(weight_kg_per_m=self.weight_kg_per_m)
        for stick in self.stick_lengths:
            _positive(stick_lengths=stick)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardware(Item):
    """Hanging hardware. `rating_kg` is the packet's figure for one fitted set.

    `role` is its function on a job: "wire", "hanger" (D-rings, plates) or "hook".
    """

    role: Literal["wire", "hanger", "hook"]
    rating_kg: Fraction
    rating_mg: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        _not_negative(rating_kg=self.rating_kg)
        milligrams = self.rating_kg * MG_PER_KG
        derive(self, "rating_mg", down(milligrams.numerator, milligrams.denominator))


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable(Item):
    """Tape, hinges, dust cover, spacer, bumpers, adhesive: by the piece, foot or square foot."""

    thickness: Length = field(default_factory=lambda: Length(0))
    grade: int = 4


SPACER_GROUP = "spacer"
"""The price group that identifies a supply as a spacer."""
AnyItem = Moulding | Board | Glazing | Fillet | Hardware | Consumable
T = TypeVar("T", bound=Item)


@dataclass(frozen=True, slots=True)
class ItemCost:
    """The cost of an item to the shop per `basis` (linear_foot, sheet, square_foot, piece).

    Kept apart from the item, since a key that may read the catalogue may not read costs.
    """

    item: str
    basis: str
    cost: Fraction
    sheet: Size | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """A shop's items by code at one version."""

    items: Mapping[str, AnyItem]
    costs: Mapping[str, tuple[ItemCost, ...]]
    version: int = 0
    _sold: tuple[Hardware, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        derive(self, "items", MappingProxyType(dict(self.items)))
        derive(self, "costs", MappingProxyType(dict(self.costs)))
        sold = [item for item in self.of_type(Hardware) if not item.discontinued]
        derive(self, "_sold", tuple(sorted(sold, key=lambda item: (item.rating_mg, item.code))))

    def hardware(self, role: str) -> tuple[Hardware, ...]:
        """Return the hardware of a role that is still sold, weakest first."""
        return tuple([item for item in self._sold if item.role == role])

    def spacers(self) -> Mapping[Length, Consumable]:
        """Return the spacers that are still sold (group "spacer"), by depth."""
        return {
            item.thickness: item
            for item in self.of_type(Consumable)
            if item.group == SPACER_GROUP and not item.discontinued
        }

    def of_type(self, kind: type[T]) -> tuple[T, ...]:
        """Return all items of one kind, sorted by code."""
        found = [item for item in self.items.values() if isinstance(item, kind)]
        return tuple(sorted(found, key=lambda item: item.code))
