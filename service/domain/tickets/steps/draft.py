"""A step before it has its place: what it needs of the set-up, what it waits for, what it times."""

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
    """One step in the making.

    `needs` names components of the set-up and their values, in the order in which they are set.
    `drives` names drivers of bench time and how much of each falls on this step, against others.
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
    """What every part of the making looks at."""

    made: JobEstimate
    shop: Shop
    pieces: tuple[TicketPiece, ...]
    stops: bool

    def said(self, length: Length) -> str:
        """A length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)

    def mats(self) -> tuple[MatPiece, ...]:
        """The mats, the top one first."""
        return tuple(piece for piece in self.pieces if isinstance(piece, MatPiece))

    def sheets(self) -> tuple[SheetPiece, ...]:
        """All boards and lites."""
        return tuple(piece for piece in self.pieces if isinstance(piece, SheetPiece))

    def rods(self, part: str, pointer: str = "") -> tuple[RodPiece, ...]:
        """Rails, or fillets, that belong to a part of the job."""
        return tuple(
            piece
            for piece in self.pieces
            if isinstance(piece, RodPiece)
            and piece.part == part
            and piece.pointer.startswith(pointer)
        )


def named(pieces: tuple[TicketPiece, ...]) -> str:
    """Pieces by name and number: Top mat (1), Backing (4)."""
    return ", ".join(f"{piece.name} ({piece.number})" for piece in pieces)
