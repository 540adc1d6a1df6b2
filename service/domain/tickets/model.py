"""The contents of a cut ticket: pieces, windows with their cuts, steps; and its refusals."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from fractions import Fraction
from typing import Literal

from service.domain.errors import DomainError, Fault
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.mat import Bevel, Window
from service.domain.jobs.notes import Finding, Note
from service.domain.jobs.work import NEW
from service.domain.jobs.working import Worked
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.tickets.instructions import Cut, SetUps, SizeCut, Step
from service.domain.value import dataclass

Lies = Literal["face_down", "face_up"]
Edges = Literal["own", "top_mat"]


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
    """A board or a lite: blank size, thickness, material, and how its two size cuts are made."""

    size: Size
    thickness: Length
    size_cuts: tuple[SizeCut, ...]
    worked: Worked
    grain: bool = False
    passes: int = 1


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
    worked: Worked
    supply: str = "length"
    layer: int = 0


@dataclass(frozen=True, slots=True)
class StackLayer:
    """One layer of the package, from the glazing backwards."""

    part: str
    name: str
    thickness: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class HardwareUse:
    """Hardware, with its rating and the load it was chosen for; wire by the foot, if so used."""

    item: str
    description: str
    role: str
    quantity: Fraction
    rating_kg: Fraction
    load_kg: Fraction
    unit: Literal["piece", "linear_foot"] = "piece"

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
    notes: tuple[Note, ...] = ()
    condition: tuple[Finding, ...] = ()
    work: str = NEW
    floated: tuple[Window, ...] = ()

    @property
    def minutes(self) -> Fraction:
        """The minutes of all steps, equal to those of the quote."""
        return sum((step.minutes for step in self.steps), Fraction(0))

    def mats(self) -> tuple[MatPiece, ...]:
        """Return the mats, top mat first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))


class TicketRefused(DomainError):
    """A job that cannot be made: it may be kept as a draft, and must not reach the bench."""

    code = "ticket_refused"

    def __init__(self, stops: Iterable[Advisory], what: str = "no ticket can be made") -> None:
        self._faults = tuple(Fault(stop.pointer, stop.code, stop.message) for stop in stops)
        first = self._faults[0]
        super().__init__(f"{what}: {first.detail}", first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Return every reason, with its pointer in the job."""
        return self._faults


class TicketNotProved(DomainError):
    """A ticket whose cuts do not produce what was ordered: our fault, not the job's."""

    code = "ticket_not_proved"
