"""What a cut ticket holds: pieces, windows with their cuts, steps; and why one is refused."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from fractions import Fraction
from typing import Literal

from service.domain.errors import DomainError, Fault
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.mat import Bevel, Window
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass

Side = Literal["top", "right", "bottom", "left"]
Lies = Literal["face_down", "face_up"]
Edges = Literal["own", "top_mat"]
By = Literal["guide", "line", "straightedge"]
SizedBy = Literal["stop", "mark", "straightedge"]
Machine = Literal["cutter", "saw", "hand"]
OTHER_SIDE: dict[Side, Side] = {"top": "top", "right": "left", "bottom": "bottom", "left": "right"}
"""A side's name after the board is turned over about its upright middle."""


@dataclass(frozen=True, slots=True)
class End:
    """Where a cut starts or stops: the line this far from this edge."""

    side: Side
    distance: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One straight cut of a window.

    `setting` is the guide's (or, where the guide does not reach, the distance at which the line is
    drawn), from the edge on the cut's own side.
    """

    piece: int
    window: int
    side: Side
    front_side: Side
    setting: Length
    start: End
    stop: End
    by: By = "guide"


@dataclass(frozen=True, slots=True)
class SizeCut:
    """One cut that brings a sheet to its width or its height."""

    piece: int
    across: Literal["width", "height"]
    length: Length
    by: SizedBy = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketWindow:
    """One window. `front` lies from the blank's left and top edges, seen from the front.

    A window that the straight-line cutter cannot make has no cuts, and says what it needs.
    """

    number: int
    front: Window
    as_it_lies: Window
    cuts: tuple[Cut, ...] = ()
    other_cutter: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketPiece:
    """One kind of piece; `quantity` counts all of the job's."""

    number: int
    part: str
    name: str
    item: str
    description: str
    quantity: int
    pointer: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPiece(TicketPiece):
    """A board or a lite: blank size, thickness, and how its two size cuts are made."""

    size: Size
    thickness: Length
    size_cuts: tuple[SizeCut, ...]
    grain: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MatPiece(SheetPiece):
    """A mat: its windows, how the board lies for them, and which edges the cuts run from.

    `trim` is how much smaller the blank is than the package, on each side.
    """

    layer: int
    trim: Length
    bevel: Bevel
    lies: Lies
    edges: Edges
    lines: int
    windows: tuple[TicketWindow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RodPiece(TicketPiece):
    """A rail or a fillet: long point to long point, and the same rail along its rabbet."""

    side: str
    length: Length
    inner: Length
    mitre: Fraction
    supply: str = "length"
    layer: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """One set-up that changes before a step: what, and to what (a length or a word)."""

    what: str
    to: Length | str


@dataclass(frozen=True, slots=True)
class Share:
    """The part of one operation's minutes that falls on one step, in 1/`per` minute."""

    operation: str
    parts: int
    per: int

    @property
    def minutes(self) -> Fraction:
        """In minutes, exactly."""
        return Fraction(self.parts, self.per)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: what to do, what changes first, what to look out for, and its minutes."""

    number: int
    work: str
    machine: Machine
    text: str
    pieces: tuple[int, ...] = ()
    changes: tuple[Change, ...] = ()
    size_cuts: tuple[SizeCut, ...] = ()
    cuts: tuple[Cut, ...] = ()
    cautions: tuple[str, ...] = ()
    shares: tuple[Share, ...] = ()

    @property
    def minutes(self) -> Fraction:
        """All that falls on this step."""
        if not self.shares:
            return Fraction(0)
        return Fraction(sum(share.parts for share in self.shares), self.shares[0].per)


@dataclass(frozen=True, slots=True)
class StackLayer:
    """One layer of the package, from the glazing backwards."""

    part: str
    name: str
    thickness: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class HardwareUse:
    """Hardware, with the weight and the safety factor that picked it."""

    item: str
    description: str
    role: str
    quantity: Fraction
    rating_kg: Fraction
    load_kg: Fraction

    @property
    def carries(self) -> bool:
        """Whether its rating is at least the weight times the factor."""
        return self.rating_kg >= self.load_kg


@dataclass(frozen=True, slots=True)
class SupplyLine:
    """Supplies for the whole job: so many pieces, feet or square feet of an item."""

    item: str
    description: str
    quantity: Fraction
    unit: Literal["piece", "linear_foot", "square_foot"]


@dataclass(frozen=True, slots=True)
class SetUps:
    """How often the cutter's set-up changes over the ticket, and a number it cannot go below.

    `proved` says that no order of the steps needs fewer.
    """

    changes: int
    at_least: int
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameOn:
    """What one frame of the ticket measures."""

    item: str
    sides: int
    holds: Size
    rabbet: Size
    sight: Size
    outside: Size
    face_width: Length
    rabbet_width: Length
    rabbet_depth: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTicket:
    """The ticket of one job. `weight_mg` is of one framed piece, minutes of all of them."""

    label: str
    quantity: int
    presentation: str
    art: tuple[Size, ...]
    shows: tuple[Size, ...]
    ruler: Ruler
    stops: bool
    package: Size | None
    allowance: Length
    gap: Length
    frames: tuple[FrameOn, ...]
    stack: tuple[StackLayer, ...]
    stack_depth: Length
    pieces: tuple[TicketPiece, ...]
    steps: tuple[Step, ...]
    set_ups: SetUps
    hardware: tuple[HardwareUse, ...]
    supplies: tuple[SupplyLine, ...]
    weight_mg: int
    safety_factor: Fraction
    advisories: tuple[Advisory, ...] = field(default=())

    @property
    def minutes(self) -> Fraction:
        """The minutes of all steps: those of the quote."""
        return sum((step.minutes for step in self.steps), Fraction(0))

    def mats(self) -> tuple[MatPiece, ...]:
        """The mats, the top one first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))


class TicketRefused(DomainError):
    """A job with a `stop` advisory: it may be quoted but must not go to the bench."""

    code = "ticket_refused"

    def __init__(self, stops: Iterable[Advisory]) -> None:
        self._faults = tuple(Fault(stop.pointer, stop.code, stop.message) for stop in stops)
        first = self._faults[0]
        super().__init__(f"no ticket can be made: {first.detail}", first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Every reason, with its place in the job."""
        return self._faults


class TicketNotProved(DomainError):
    """A ticket whose cuts, laid on a blank, do not give what was ordered: a fault of ours."""

    code = "ticket_not_proved"
