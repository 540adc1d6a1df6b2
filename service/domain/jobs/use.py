"""One billed use of material, and its quantity on every pricing basis.

- united_inch: width plus height, up to a whole inch (or each side up first, by setting);
- square_foot: exact area, up to the shop's step, at least its minimum;
- linear_foot: footage of moulding or fillet, up to the shop's step; of moulding at least its
  minimum;
- perimeter_foot: the perimeter of the rectangle, up to the shop's step;
- sheet: the share of the stock sheet that the shop sells, of the smallest sheet that holds it;
- piece, opening, groove and ruled_line: counted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Final, Literal, get_args

from service.domain.jobs.yields import pieces_from
from service.domain.materials.catalogue import AnyItem, Board, Glazing, Moulding
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_FOOT, TICKS_PER_INCH, ZERO, Length, Size
from service.domain.measure.rounding import multiple, up, up_to_step, up_to_step_of
from service.domain.shop import Billing
from service.domain.value import dataclass

NONE = Fraction(0)
ONE = Fraction(1)
SHEET_GOODS = (Board, Glazing)


@dataclass(init=False, slots=True, unsafe_hash=True)
class Use:
    """The use of one item in one framed piece.

    `size` is the billed rectangle; `footage` a billed run of moulding or fillet; `feet` and `area`
    are measures of supplies; `pieces`, `openings` (windows), `grooves` and `ruled_lines` (round
    those windows) are counts. `kerf` is what each cut of the sheet takes.
    """

    component: Final[str]
    item: Final[AnyItem]
    pointer: Final[str]
    size: Final[Size | None]
    footage: Final[Length | None]
    feet: Final[Fraction | None]
    area: Final[Fraction | None]
    pieces: Final[Fraction]
    openings: Final[int]
    layer: Final[int]
    supply: Final[str]
    grooves: Final[int]
    ruled_lines: Final[int]
    kerf: Final[Length]

    def __init__(
        self,
        component: str,
        item: AnyItem,
        pointer: str,
        size: Size | None = None,
        footage: Length | None = None,
        feet: Fraction | None = None,
        area: Fraction | None = None,
        pieces: Fraction = ONE,
        openings: int = 0,
        layer: int = 0,
        supply: str = "",
        grooves: int = 0,
        ruled_lines: int = 0,
        kerf: Length = ZERO,
    ) -> None:
        self.component = component
        self.item = item
        self.pointer = pointer
        self.size = size
        self.footage = footage
        self.feet = feet
        self.area = area
        self.pieces = pieces
        self.openings = openings
        self.layer = layer
        self.supply = supply
        self.grooves = grooves
        self.ruled_lines = ruled_lines
        self.kerf = kerf

    def quantity(self, basis: str, billing: Billing) -> Fraction:
        """Return the billed quantity on a basis; zero if the basis does not apply to this use."""
        measure = _MEASURES.get(basis)
        return measure(self, billing) if measure else NONE

    def exact_feet(self) -> Fraction | None:
        """Return the run before billing, in feet, or None if there is none."""
        return self.footage.in_feet() if self.footage is not None else self.feet

    def natural_basis(self) -> str:
        """Return the basis that this use is reported on."""
        if self.footage is not None or self.feet is not None:
            return "linear_foot"
        if self.size is not None:
            return "united_inch"
        return "square_foot" if self.area is not None else "piece"


def billed_united_inches(size: Size, billing: Billing) -> int:
    """Return the billed united inches: the exact sum up to a whole inch, or each side up first."""
    if billing.united_inches == "sides":
        return up(size.width.ticks, TICKS_PER_INCH) + up(size.height.ticks, TICKS_PER_INCH)
    return up(size.width.ticks + size.height.ticks, TICKS_PER_INCH)


def _united_inches(use: Use, billing: Billing) -> Fraction:
    return multiple(billed_united_inches(use.size, billing)) if use.size else NONE


def _square_feet(use: Use, billing: Billing) -> Fraction:
    if use.size is None:
        return up_to_step(use.area, billing.square_foot_step) if use.area is not None else NONE
    area = up_to_step_of(
        use.size.width.ticks * use.size.height.ticks,
        SQUARE_TICKS_PER_SQUARE_FOOT,
        billing.square_foot_step,
    )
    return _at_least(area, billing.square_foot_minimum)


def _linear_feet(use: Use, billing: Billing) -> Fraction:
    if use.footage is not None:
        feet = up_to_step_of(use.footage.ticks, TICKS_PER_FOOT, billing.linear_foot_step)
    elif use.feet is not None:
        feet = up_to_step(use.feet, billing.linear_foot_step)
    else:
        return NONE
    if isinstance(use.item, Moulding):
        return _at_least(feet, billing.linear_foot_minimum)
    return feet


def _at_least(quantity: Fraction, minimum: Fraction) -> Fraction:
    """Return the larger of the quantity and the minimum.

    Most shops have no minimum; then no comparison is made.
    """
    if not minimum:
        return quantity
    over, under = quantity.as_integer_ratio()
    least, per = minimum.as_integer_ratio()
    return quantity if over * per >= least * under else minimum


def _perimeter_feet(use: Use, billing: Billing) -> Fraction:
    if use.size is not None:
        perimeter = use.size.perimeter().ticks
        return up_to_step_of(perimeter, TICKS_PER_FOOT, billing.perimeter_foot_step)
    exact = use.exact_feet()
    return NONE if exact is None else up_to_step(exact, billing.perimeter_foot_step)


def _sheets(use: Use, billing: Billing) -> Fraction:
    return sheet_share(use.item, use.size, billing, use.kerf) if use.size else NONE


_MEASURES: Mapping[str, Callable[[Use, Billing], Fraction]] = {
    "united_inch": _united_inches,
    "square_foot": _square_feet,
    "linear_foot": _linear_feet,
    "perimeter_foot": _perimeter_feet,
    "sheet": _sheets,
    "piece": lambda use, _: use.pieces,
    "opening": lambda use, _: multiple(use.openings),
    "groove": lambda use, _: multiple(use.grooves),
    "ruled_line": lambda use, _: multiple(use.ruled_lines),
}


def stock_sheet(item: AnyItem, size: Size) -> Size | None:
    """Return the smallest stock sheet that holds the piece, turned unless grain forbids it."""
    if not isinstance(item, SHEET_GOODS):
        return None
    for sheet in item.by_area:
        if size.fits_in(sheet, turned=not item.grain):
            return sheet
    return None


def sheet_taken(item: AnyItem, size: Size, billing: Billing, kerf: Length = ZERO) -> Size | None:
    """Return the stock sheet that a piece is billed by; None if it is larger than every sheet.

    It is the smallest by area of those that hold the piece; where the shop shares sheets by their
    yield, of those that yield it once the edge trim is off.
    """
    if billing.sheet_share_by == "yield" and (found := yielding_sheet(item, size, kerf)):
        return found[0]
    return stock_sheet(item, size)


def yielding_sheet(item: AnyItem, size: Size, kerf: Length = ZERO) -> tuple[Size, int] | None:
    """Return the smallest sheet that yields a piece, and how many; None if no sheet does.

    Both edges of a new sheet lose the item's edge trim.
    """
    if not isinstance(item, SHEET_GOODS):
        return None
    for sheet in item.by_area:
        usable = sheet.grown(-2 * item.edge_trim)
        count = pieces_from(usable, size, kerf, turned=not item.grain)
        if count:
            return sheet, count
    return None


def sheet_share(item: AnyItem, size: Size, billing: Billing, kerf: Length = ZERO) -> Fraction:
    """Return the billed share of the stock sheet.

    The part of the sheet is the piece's area, or one over the sheet's yield, by the shop's setting;
    the share is the smallest one sold that is not below it. A piece larger than every sheet counts
    the sheets that cover it side by side: two at least, as it cannot be cut from one.
    """
    if not isinstance(item, SHEET_GOODS):
        return NONE
    if billing.sheet_share_by == "yield" and (found := yielding_sheet(item, size, kerf)):
        count = found[1]
        return next((s for s in billing.sheet_shares if s * count >= 1), ONE)
    sheet = stock_sheet(item, size)
    if sheet is None:
        return multiple(covering_sheets(item.by_area[-1], size, turned=not item.grain))
    part, whole = _area(size), _area(sheet)
    for share in billing.sheet_shares:
        over, under = share.as_integer_ratio()
        if part * under <= whole * over:
            return share
    return ONE


def covering_sheets(sheet: Size, size: Size, *, turned: bool) -> int:
    """Return how many sheets, laid side by side and all one way, cover a piece."""
    wide, high = size.width.ticks, size.height.ticks
    across, down = sheet.width.ticks, sheet.height.ticks
    along = up(wide, across) * up(high, down)
    return min(along, up(wide, down) * up(high, across)) if turned else along


def _area(size: Size) -> int:
    return size.width.ticks * size.height.ticks


Component = Literal[
    "frame",
    "mat",
    "glazing",
    "mounting",
    "backing",
    "fillet",
    "hardware",
    "finishing",
    "labour",
    "fee",
    "service",
    "sundry",
    "work",
    "goods",
]
COMPONENTS: tuple[str, ...] = get_args(Component)
