"""A step before it is ordered: the set-up it needs, its predecessors and its drivers."""

from __future__ import annotations

from dataclasses import field

from service.domain.estimates.calculation import JobEstimate
from service.domain.measure.length import Length
from service.domain.shop import Shop
from service.domain.tickets.model import (
    Cut,
    Machine,
    MatPiece,
    RodPiece,
    SheetPiece,
    SizeCut,
    TicketPiece,
)
from service.domain.value import dataclass


@dataclass(slots=True, eq=False)
class Draft:
    """One step in preparation.

    `needs` maps set-up components to their values, in the order in which they are set. `drives`
    maps drivers of bench time to this step's weight relative to other steps.
    """

    work: str
    machine: Machine
    text: str = ""
    pieces: tuple[int, ...] = ()
    needs: dict[str, Length | str] = field(default_factory=dict)
    size_cuts: tuple[SizeCut, ...] = ()
    cuts: tuple[Cut, ...] = ()
    cautions: tuple[str, ...] = ()
    drives: dict[str, int] = field(default_factory=dict)
    after: list[Draft] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Bundle:
    """The data shared by all ticket-making functions."""

    made: JobEstimate
    shop: Shop
    pieces: tuple[TicketPiece, ...]
    stops: bool

    def said(self, length: Length) -> str:
        """Return a length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)

    def mats(self) -> tuple[MatPiece, ...]:
        """Return the mats, top mat first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))

    def sheets(self) -> tuple[SheetPiece, ...]:
        """Return all boards and lites."""
        return tuple(piece for piece in self.pieces if isinstance(piece, SheetPiece))

    def rods(self, part: str, pointer: str = "") -> tuple[RodPiece, ...]:
        """Return the rails, or fillets, of a part of the job."""
        return tuple(
            piece
            for piece in self.pieces
            if isinstance(piece, RodPiece)
            and piece.part == part
            and piece.pointer.startswith(pointer)
        )


def named(pieces: tuple[TicketPiece, ...]) -> str:
    """Return pieces by name and number: Top mat (1), Backing (4)."""
    return ", ".join(f"{piece.name} ({piece.number})" for piece in pieces)
