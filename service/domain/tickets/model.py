"""The contents of a cut ticket: pieces, windows with their cuts, steps; and its refusals."""

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
"""A side's name after the board is turned over about its vertical centre line."""


@dataclass(frozen=True, slots=True)
class End:
    """The start or end of a cut: a line at this distance from this edge."""

    side: Side
    distance: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One straight cut of a window.

    `setting` is the guide's (or, out of the guide's reach, the distance at which the line is
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
    """One cut that brings a sheet to its width or height."""

    piece: int
    across: Literal["width", "height"]
    length: Length
    by: SizedBy = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketWindow:
    """One window. `front` lies from the blank's left and top edges, seen from the front.

    A window that the straight-line cutter cannot make has no cuts; `other_cutter` names what it
    needs.
    """

    number: int
    front: Window
    as_it_lies: Window
    cuts: tuple[Cut, ...] = ()
    other_cutter: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketPiece:
    """One kind of piece; `quantity` is for the whole job."""

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
    """A mat: its windows, which face is up, and the edges its cuts are measured from.

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
    """A rail or a fillet: its length, long point to long point, and its length along the rabbet."""

    side: str
    length: Length
    inner: Length
    mitre: Fraction
    supply: str = "length"
    layer: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """One set-up change before a step: the component and its new value (a length or a word)."""

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
        """The share in minutes, exactly."""
        return Fraction(self.parts, self.per)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: what to do, set-up changes before it, cautions, and minutes."""

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
        """The total minutes of this step."""
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
    """Hardware, with its rating and the load it was chosen for."""

    item: str
    description: str
    role: str
    quantity: Fraction
    rating_kg: Fraction
    load_kg: Fraction

    @property
    def carries(self) -> bool:
        """True if its rating is at least the load."""
        return self.rating_kg >= self.load_kg


@dataclass(frozen=True, slots=True)
class SupplyLine:
    """Supplies for the whole job: pieces, feet or square feet of an item."""

    item: str
    description: str
    quantity: Fraction
    unit: Literal["piece", "linear_foot", "square_foot"]


@dataclass(frozen=True, slots=True)
class SetUps:
    """The number of changes of the cutter's set-up in the ticket, and a lower bound for it.

    `proved` is True if no order of the steps needs fewer.
    """

    changes: int
    at_least: int
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameOn:
    """The dimensions of one frame of the ticket."""

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
    """The ticket of one job. `weight_mg` is of one framed piece, minutes of all pieces."""

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
        """The minutes of all steps, equal to those of the quote."""
        return sum((step.minutes for step in self.steps), Fraction(0))

    def mats(self) -> tuple[MatPiece, ...]:
        """Return the mats, top mat first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))


class TicketRefused(DomainError):
    """A job with a `stop` advisory: it can be quoted but must not go to the bench."""

    code = "ticket_refused"

    def __init__(self, stops: Iterable[Advisory]) -> None:
        self._faults = tuple(Fault(stop.pointer, stop.code, stop.message) for stop in stops)
        first = self._faults[0]
        super().__init__(f"no ticket can be made: {first.detail}", first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Return every reason, with its pointer in the job."""
        return self._faults


class TicketNotProved(DomainError):
    """A ticket whose cuts do not produce what was ordered: our fault, not the job's."""

    code = "ticket_not_proved"
