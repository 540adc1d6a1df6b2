"""How much work a cutting plan is, before it is made: counted, so that it is known at once.

The unit is about a second of one core, measured on invented jobs; only the order of magnitude
counts. What a request may take decides whether the plan is made in the background.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from schemas.cutting.records import Material
from service.domain.cutting.stock import SheetPiece

AT_ONCE = Fraction(3)
"""So much work is done while the caller waits."""
MOST_IN_A_ROW = 250
"""No more pieces of different sizes than this lie in a row across a sheet."""
_SHEET_SIZE, _SHEET_PIECE = Fraction(1, 14), Fraction(1, 500)
_STICK_SIZE, _STICK_PIECE = Fraction(1, 20), Fraction(1, 2000)
_PRICED = 300
_CROWD = 400
_SLOW = Fraction(4)
_ALIKE = 60


def work_of(materials: Iterable[Material]) -> Fraction:
    """An estimate of the work, about seconds of one core."""
    return sum((_work(material) for material in materials), Fraction(0))


def _work(material: Material) -> Fraction:
    if material.kind == "stick":
        rails = Counter[int]()
        for rail in material.stick_pieces:
            rails[rail.length] += rail.quantity
        priced = len(rails) if len(rails) <= _PRICED else 0
        return priced * _STICK_SIZE + rails.total() * _STICK_PIECE
    pieces = Counter[tuple[int, int]]()
    for piece in material.sheet_pieces:
        pieces[piece.width, piece.height] += piece.quantity
    area = max((s.width.ticks * s.height.ticks for s in material.sizes), default=0)
    smallest = min((w * h for w, h in pieces), default=1)
    crowded = min(pieces.total(), area // smallest) > _CROWD
    return (
        len(pieces) * _SHEET_SIZE
        + min(pieces.total(), 20 * len(pieces)) * _SHEET_PIECE
        + (_SLOW if crowded else 0)
    )


def crowded(material: Material) -> str:
    """The piece with which a row across a sheet has too many different ones, or nothing.

    A layout that deep is no use at the bench, and its cuts cannot be worked out.
    """
    if material.kind == "stick":
        return ""
    for side in ("width", "height"):
        room = max((getattr(size, side).ticks for size in material.sizes), default=0)
        found = _overfull(material.sheet_pieces, side, room)
        if found:
            return found
    return ""


def _overfull(pieces: Sequence[SheetPiece], side: str, room: int) -> str:
    """The first piece, shortest side first, that is one too many in this room."""

    def short(piece: SheetPiece) -> int:
        return min(piece.width, piece.height) if piece.may_turn else int(getattr(piece, side))

    many = 0
    for piece in sorted(pieces, key=short):
        count = min(piece.quantity, _ALIKE, room // short(piece))
        room -= count * short(piece)
        many += count
        if many > MOST_IN_A_ROW:
            return piece.key
        if not count:
            break
    return ""
