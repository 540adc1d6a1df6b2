"""A cutting plan as it is answered: what comes from where, by which cuts, and at what cost.

Every length is exact and real: kerf is taken out at each cut, not hidden in the sizes. Sheets are
cut edge to edge only, so a sheet is a tree: a `Cut` parts a rectangle in two, a `Part` ends it.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from fractions import Fraction

from service.domain.value import dataclass


class Axis(StrEnum):
    """Along which axis a cut's setting is measured: X parts left from right, Y below from above."""

    X = "x"
    Y = "y"


class Fate(StrEnum):
    """What becomes of a part that is not cut further."""

    PIECE = "piece"
    KEEP = "keep"
    WASTE = "waste"


class Reason(StrEnum):
    """Why a piece is not in the plan."""

    OVERSIZE = "oversize"
    STOCK_EXHAUSTED = "stock_exhausted"


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the sheet; x from the left edge, y from the lower edge."""

    x: int
    y: int
    w: int
    h: int


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece on its sheet: which, its copy (from 1), where, and whether turned a quarter."""

    piece: str
    copy: int
    x: int
    y: int
    w: int
    h: int
    rotated: bool


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangle that is not cut further; `placement` is there exactly where it is a piece."""

    rect: Rect
    fate: Fate
    placement: Placement | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut, edge to edge of `rect`: `first` is `at` long on the axis, `second` past the kerf.

    `second` is None where no more than the kerf's dust is left past the first part.
    """

    rect: Rect
    axis: Axis
    at: int
    first: Node
    second: Node | None


Node = Cut | Part


def parts_of(node: Node) -> Iterator[Part]:
    """Every part under a node, in cutting order."""
    stack: list[Node] = [node]
    while stack:
        top = stack.pop()
        if isinstance(top, Part):
            yield top
            continue
        if top.second is not None:
            stack.append(top.second)
        stack.append(top.first)


def cuts_of(node: Node) -> Iterator[Cut]:
    """Every cut under a node, parents before children."""
    stack: list[Node] = [node]
    while stack:
        top = stack.pop()
        if isinstance(top, Cut):
            yield top
            if top.second is not None:
                stack.append(top.second)
            stack.append(top.first)


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet of the plan: which stock, the how-manieth of it (from 1), and how it is cut.

    `root` is what is left once `trim` is off each edge, of which `trim_kerf` is the cut. `beyond`
    marks a sheet that the bench does not reach all cuts of, so that the supplier is to make them.
    """

    stock: str
    number: int
    width: int
    height: int
    offcut: bool
    cost: int
    root: Node
    trim: int = 0
    trim_kerf: int = 0
    beyond: bool = False

    @property
    def placements(self) -> tuple[Placement, ...]:
        """The pieces on this sheet, in cutting order."""
        return tuple(p.placement for p in parts_of(self.root) if p.placement is not None)

    @property
    def leftovers(self) -> tuple[Part, ...]:
        """Everything that is not a piece, worth keeping or not."""
        return tuple(p for p in parts_of(self.root) if p.fate is not Fate.PIECE)

    @property
    def cut_count(self) -> int:
        """How many cuts the sheet takes."""
        return sum(1 for _ in cuts_of(self.root))


@dataclass(frozen=True, slots=True)
class StickPlacement:
    """One rail on its stick: which, its copy (from 1), where it starts, how long it is."""

    piece: str
    copy: int
    start: int
    length: int


@dataclass(frozen=True, slots=True)
class StickUse:
    """One stick of the plan, its rails in cutting order, and what is left at its end."""

    stock: str
    number: int
    length: int
    offcut: bool
    cost: int
    placements: tuple[StickPlacement, ...]
    leftover: int
    keep: bool


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A piece that the plan does not make, how many of it, and why."""

    piece: str
    quantity: int
    reason: Reason
    detail: str


@dataclass(frozen=True, slots=True)
class Offcut:
    """A leftover worth keeping: from which sheet or stick (its place in the plan), and its size.

    `height` is 0 for a stick.
    """

    use: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Buy:
    """How many of one stock the plan takes; `offcut` ones come off the rack."""

    stock: str
    quantity: int
    cost: int
    offcut: bool


@dataclass(frozen=True, slots=True)
class Summary:
    """The figures of a plan.

    Attributes:
        cost: of all the stock it takes.
        bound: no plan that makes the same pieces from this stock costs less (proven).
        utilisation: pieces over stock taken, by area or by length.
        buy: what it takes, stock by stock, offcuts of the rack included and marked.
        offcuts: what goes back on the rack, largest first.
        cuts: how many cuts in all.
    """

    cost: int
    bound: int
    utilisation: Fraction
    buy: tuple[Buy, ...]
    offcuts: tuple[Offcut, ...]
    cuts: int

    @property
    def gap(self) -> Fraction:
        """How far above the bound the cost is, as a fraction of the cost; 0 is proven best."""
        return Fraction(self.cost - self.bound, self.cost) if self.cost else Fraction(0)


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """Sheets in the order they are to be cut, what could not be planned, and the figures."""

    uses: tuple[SheetUse, ...]
    unplaced: tuple[Unplaced, ...]
    summary: Summary


@dataclass(frozen=True, slots=True)
class StickPlan:
    """Sticks in the order they are to be cut.

    `split_groups` names the frames whose rails could not come from one stick, as no stick that
    there is takes them all; their rails are planned one by one.
    """

    uses: tuple[StickUse, ...]
    unplaced: tuple[Unplaced, ...]
    split_groups: tuple[str, ...]
    summary: Summary
