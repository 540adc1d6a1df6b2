"""The proof of a ticket's rails: joined at their mitres they must hold their contents.

For n sides, a rail is longer along its outside than along its rabbet by twice the moulding's width
past the rabbet times tan(180°/n). Four sides are exact; for eight and twelve the tangents are
√2 - 1 and 2 - √3, and two lengths that were each rounded to a tick may differ by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import isqrt

from service.domain.tickets.model import CutTicket, FrameOn, RodPiece

_SCALE = 10**24
_ROOT_2 = Fraction(isqrt(2 * _SCALE**2), _SCALE)
_ROOT_3 = Fraction(isqrt(3 * _SCALE**2), _SCALE)
_TANGENTS = {4: Fraction(1), 8: _ROOT_2 - 1, 12: 2 - _ROOT_3}


def frame_faults(ticket: CutTicket) -> Iterator[str]:
    """Yield the mismatches among rails, rabbets and package."""
    inside = ticket.package
    allowed = ticket.allowance.ticks
    for position, frame in enumerate(ticket.frames):
        if inside is not None and frame.holds != inside:
            yield f"frame {position + 1} is not made for what goes into it"
        room = (
            frame.rabbet.width.ticks - frame.holds.width.ticks,
            frame.rabbet.height.ticks - frame.holds.height.ticks,
        )
        if position == 0 and room != (allowed, allowed):
            yield f"the rabbet of frame {position + 1} has not the allowance asked for"
        for piece in ticket.pieces:
            if isinstance(piece, RodPiece) and piece.part == "rail" and piece.layer == position + 1:
                yield from _rail_faults(frame, piece)
        inside = frame.outside


def _rail_faults(frame: FrameOn, rail: RodPiece) -> Iterator[str]:
    if rail.mitre * frame.sides != 180:
        yield f"{frame.sides} rails of piece {rail.number} do not close"
    if rail.quantity % (2 if frame.sides == 4 else frame.sides):
        yield f"piece {rail.number} does not make whole frames"
    past = 2 * (frame.face_width.ticks - frame.rabbet_width.ticks)
    if frame.sides == 4:
        across = rail.side == "top"
        holds = frame.rabbet.width if across else frame.rabbet.height
        if rail.inner != holds or rail.length.ticks != rail.inner.ticks + past:
            yield f"piece {rail.number} does not go round its rabbet"
        return
    tangent = _TANGENTS[frame.sides]
    if abs(rail.length.ticks - rail.inner.ticks - past * tangent) > 1:
        yield f"piece {rail.number} does not go round its rabbet"
    if abs(rail.inner.ticks - frame.rabbet.width.ticks * tangent) > 1:
        yield f"piece {rail.number} does not fit its rabbet"
