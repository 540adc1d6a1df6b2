"""What joins a metal frame's corners and presses its contents forward."""

from __future__ import annotations

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.frame import FrameSizes
from service.domain.jobs.takeoff import joined_pieces
from service.domain.measure.length import TICKS_PER_FOOT
from service.domain.measure.rounding import decimal_text, up
from service.domain.shop import FrameMeasure, Shop

CORNERS = "corner angles and screws"
LEAST_SPRINGS = 2
"""On each side; common practice, no source."""


def corner_hardware(made: JobEstimate, shop: Shop, position: int) -> str:
    """Return what joins a metal frame's corners: the item that the shop takes, or what is usual."""
    _, code = _taken(made, shop, position, "corner")
    return f"{CORNERS} of {code}" if code else CORNERS


def springs(made: JobEstimate, shop: Shop, position: int) -> str:
    """Return how many spring clips one frame takes, and which.

    Where the shop does not say: one for each foot begun of each side of what it holds, at least two
    a side.
    """
    many, code = _taken(made, shop, position, "side_foot")
    if code:
        return f"{many} spring clips of {code}"
    sides = made.sizes.frames[position].inner_sides()
    usual = sum(max(LEAST_SPRINGS, up(side.ticks, TICKS_PER_FOOT)) for side in sides)
    return f"{usual} spring clips"


def _taken(made: JobEstimate, shop: Shop, position: int, measure: FrameMeasure) -> tuple[str, str]:
    """Return how many of which item a frame takes by a measure; empty if the shop names none."""
    frame: FrameSizes = made.sizes.frames[position]
    for use in shop.joined_with(frame.frame.moulding.material):
        if use.measure == measure:
            pieces = joined_pieces(use, frame)
            return decimal_text(pieces.numerator, pieces.denominator, 2), use.item
    return "", ""
