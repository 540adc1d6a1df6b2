"""A step before it is ordered: its stage, the set-up it needs, its lines and its drivers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

from service.domain.estimates.calculation import JobEstimate
from service.domain.measure.length import Length
from service.domain.shop import Shop
from service.domain.tickets.instructions import Cut, Machine, SizeCut
from service.domain.tickets.model import MatPiece, RodPiece, SheetPiece, TicketPiece
from service.domain.tickets.stages import Stage
from service.domain.value import dataclass


@dataclass(slots=True, eq=False)
class Draft:
    """One step in preparation.

    `needs` maps set-up components to their values, in the order in which they are set. `drives`
    maps drivers of bench time to this step's weight relative to other steps. `leads` is the work
    of the step that this one begins, if it is no step of its own.
    """

    stage: Stage
    work: str
    machine: Machine = "hand"
    lines: tuple[str, ...] = ()
    pieces: tuple[int, ...] = ()
    needs: dict[str, Length | str] = field(default_factory=dict)
    size_cuts: tuple[SizeCut, ...] = ()
    cuts: tuple[Cut, ...] = ()
    cautions: tuple[str, ...] = ()
    drives: dict[str, int] = field(default_factory=dict)
    leads: str = ""
    after: list[Draft] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Bundle:
    """The data shared by all ticket-making functions."""

    made: JobEstimate
    shop: Shop
    pieces: tuple[TicketPiece, ...]
    stops: bool

    def text(self, length: Length) -> str:
        """Return a length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)

    def mark(self, length: Length) -> str:
        """Return a length on the shop's ruler, without its unit."""
        return self.shop.ruler.mark(length)

    def mats(self) -> tuple[MatPiece, ...]:
        """Return the mats, top mat first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))

    def sheets(self, *parts: str) -> tuple[SheetPiece, ...]:
        """Return the boards and lites, all or those that are one of `parts`."""
        return tuple(
            piece
            for piece in self.pieces
            if isinstance(piece, SheetPiece) and (not parts or piece.part in parts)
        )

    def rods(self, part: str, pointer: str = "") -> tuple[RodPiece, ...]:
        """Return the rails, or fillets, of a part of the job."""
        return tuple(
            piece
            for piece in self.pieces
            if isinstance(piece, RodPiece)
            and piece.part == part
            and piece.pointer.startswith(pointer)
        )

    def frame(self, position: int) -> str:
        """Return what a frame is called: the frame, or frame 2 if there are several."""
        return "the frame" if len(self.made.sizes.frames) == 1 else f"frame {position + 1}"

    def each(self) -> str:
        """Return the words for a batch: ", 12 of each", or nothing for one piece."""
        many = self.made.job.quantity
        return f", {many} of each" if many > 1 else ""


def named(pieces: Sequence[TicketPiece]) -> str:
    """Return pieces by name and number: Top mat (1), Backing (4)."""
    return ", ".join(f"{piece.name} ({piece.number})" for piece in pieces)


def joined(words: Sequence[str]) -> str:
    """Return words as a list: left, top and right."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def never(pieces: Sequence[SheetPiece | RodPiece]) -> tuple[str, ...]:
    """Return one line for each thing that must not be done to the material of these pieces."""
    found: dict[str, list[TicketPiece]] = {}
    for piece in pieces:
        for ban in piece.worked.material.never:
            found.setdefault(ban, []).append(piece)
    return tuple(f"{named(those)}: do not {ban}." for ban, those in found.items())
