"""Where rings and wire go on the back, by the apprentice's own arithmetic.

Common practice, no source; the parts, the inset and the ends are the shop's settings. The wire is
two sides of a triangle (Pythagoras) and the ends for both knots, up to the shop's step.
"""

from __future__ import annotations

from fractions import Fraction

from tests.apprentice.bench import Bench
from tests.apprentice.order import Order, Size, root_up, up

HAIR = Fraction(1, 10**6)


def rings(bench: Bench, order: Order) -> Size:
    """Return how far the rings are from the top edge and from each side edge."""
    wide, high = order.outside
    rules = bench.shop["hanging"]
    inset = min(rules["ring_inset"], wide / 4)
    rail = order.frames[-1].moulding if order.frames else None
    if rail and inset > rail["face_width"] - rail["rabbet_width"]:  # no wood so far in
        inset = rail["face_width"] / 2
    return high / rules["ring_parts"], inset


def wire(bench: Bench, order: Order) -> tuple[Fraction, Fraction, Fraction]:
    """Return the wire's length, its span, and its rise in the middle."""
    rules = bench.shop["hanging"]
    drop, inset = rings(bench, order)
    span = order.outside[0] - 2 * inset
    rise = max(min(span / rules["wire_parts"], drop - rules["wire_below"]), Fraction(0))
    least = 2 * root_up((span / 2) ** 2 + rise**2) + 2 * rules["wire_knot"]
    return up((least - HAIR) / rules["wire_step"]) * rules["wire_step"], span, rise
