"""Dimension chains: a line with a dot at each point, and the distances between neighbours.

The points are at the drawing's scale; the texts are marks of the shop's ruler.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.printing.drawing.labels import Label, Rail, along, longest, rooms
from service.printing.drawing.sheet import POINT, TEXT, Dot, Drawing, Scale, Stroke

FIRST = 5 * POINT
"""The distance from the drawing to the first chain's line."""
BEFORE_TEXT = 3 * POINT
"""The distance from a chain's line to its texts."""
AFTER_TEXT = 4 * POINT
MOST_PARTS = 21
"""Chains of more parts are not drawn: they would be illegible."""


def distance_marks(ruler: Ruler, points: Sequence[Length]) -> list[str]:
    """Return the distances between neighbours, in the shop's marks."""
    return [ruler.mark(to - start) for start, to in pairwise(points)]


def is_upright(ruler: Ruler, points: Sequence[Length], width: int) -> bool:
    """Return True if a chain below has too many texts to fit side by side in this width."""
    return sum(rooms(distance_marks(ruler, points), upright=False)) > width - 4 * POINT


def row_height(ruler: Ruler, points: Sequence[Length], width: int) -> int:
    """Return the height of a chain below."""
    texts = distance_marks(ruler, points)
    high = longest(texts) if is_upright(ruler, points, width) else TEXT
    return BEFORE_TEXT + high + AFTER_TEXT


def column_width(ruler: Ruler, points: Sequence[Length]) -> int:
    """Return the width of a chain at the left."""
    return BEFORE_TEXT + longest(distance_marks(ruler, points)) + AFTER_TEXT


def chain_across(
    drawing: Drawing, ruler: Ruler, scale: Scale, points: Sequence[Length], level: int
) -> None:
    """Draw a chain below a drawing; `level` is the y of its line."""
    places = [scale.x(point) for point in points]
    upright = is_upright(ruler, points, drawing.width)
    rail = Rail(
        True, level + BEFORE_TEXT, level, 2 * POINT, drawing.width - 2 * POINT, upright=upright
    )
    if along(drawing, _labels(ruler, points, places), rail):
        drawing.marks.append(Stroke(places[0], level, places[-1], level, 35))
        drawing.marks.extend(Dot(place, level) for place in places)


def chain_down(
    drawing: Drawing, ruler: Ruler, scale: Scale, points: Sequence[Length], level: int
) -> None:
    """Draw a chain at the left of a drawing; `level` is the x of its line."""
    places = [scale.y(point) for point in points]
    rail = Rail(False, level - BEFORE_TEXT, level, 2 * POINT, drawing.height - 2 * POINT)
    if along(drawing, _labels(ruler, points, places), rail):
        drawing.marks.append(Stroke(level, places[0], level, places[-1], 35))
        drawing.marks.extend(Dot(level, place) for place in places)


def _labels(ruler: Ruler, points: Sequence[Length], places: Sequence[int]) -> list[Label]:
    middles = [(a + b) // 2 for a, b in pairwise(places)]
    return [Label(m, text) for m, text in zip(middles, distance_marks(ruler, points), strict=True)]
