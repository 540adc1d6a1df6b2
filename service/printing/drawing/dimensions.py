"""Dimension lines: chains, and running dimensions from one edge (ISO 129-1).

Extension lines leave a gap at the outline and run past the dimension line; every line ends in
oblique strokes; a number stands above its line and is read from below or from the right.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from service.domain.measure.length import Length
from service.domain.value import dataclass
from service.printing.drawing.labels import Label, Rail, along, rooms
from service.printing.drawing.lettering import APART, CAPITALS, POINT, text_width
from service.printing.drawing.reading import Reading
from service.printing.drawing.sheet import HAIR, THIN, Drawing, Outline, Polygon, Stroke, Text

FIRST, NEXT = 2_400, 2_150
"""From the outline to the first dimension line, and between lines: 8.5 and 7.6 mm."""
GAP, PAST = 230, 570
"""An extension line starts 0.8 mm off the outline and runs 2 mm past the dimension line."""
OVER = 200 + CAPITALS // 2
"""From a line up to the middle of the number over it."""
LEADER = 9 * POINT
OUTSIDE = 450
"""From the outermost extension line to a number that its part is too narrow for."""
DATUM = 6 * POINT


@dataclass(frozen=True, slots=True)
class Side:
    """A side of the outline on which dimensions stand: below, above, left or right of it.

    `root` is the outline there, `low` and `high` are its ends along the side.
    """

    across: bool
    outwards: int
    root: int
    low: int
    high: int

    def at(self, place: int, out: int) -> tuple[int, int]:
        """Return the point so far along the side and so far out."""
        level = self.root + self.outwards * out
        return (place, level) if self.across else (level, place)

    def line(self, start: int, to: int, out: int, weight: int = THIN) -> Stroke:
        """Return a line along the side, so far out."""
        return Stroke(*self.at(start, out), *self.at(to, out), weight)

    def extension(self, place: int, out: int) -> Stroke:
        """Return the extension line to a dimension line so far out."""
        return Stroke(*self.at(place, GAP), *self.at(place, out + PAST), HAIR)

    def number(self, place: int, out: int, text: str) -> Text:
        """Return a number over a line so far out."""
        x, y = self.at(place, out)
        return Text(x, y - OVER, text) if self.across else Text(x - OVER, y, text, upright=True)


def sides(left: int, top: int, right: int, low: int) -> dict[str, Side]:
    """Return the four sides of a rectangular outline."""
    return {
        "below": Side(True, 1, low, left, right),
        "above": Side(True, -1, top, left, right),
        "left": Side(False, -1, left, top, low),
        "right": Side(False, 1, right, top, low),
    }


def too_narrow(texts: Sequence[str], places: Sequence[int]) -> list[bool]:
    """Return for each part of a chain whether its number has no room in it."""
    parts = zip(texts, pairwise(places), strict=True)
    return [text_width(text) + APART > high - low for text, (low, high) in parts]


def past(root: int, taken: int) -> int:
    """Return how far out a chain stands that lies past what already reaches to `taken`."""
    return max(FIRST, abs(taken - root) + APART + OVER + CAPITALS // 2)


def chain(
    drawing: Drawing, side: Side, places: Sequence[int], texts: Sequence[str], out: int = FIRST
) -> bool:
    """Draw a chain so far out from the outline; return False if it has no room.

    The number of a first or last part that is too narrow stands outside, and its line is drawn out
    to it; one between others has no such place.
    """
    narrow = too_narrow(texts, places)
    if any(narrow[1:-1]):
        return False
    start, to = places[0], places[-1]
    written = []
    for at, (low, high) in enumerate(pairwise(places)):
        middle, long = (low + high) // 2, text_width(texts[at])
        if narrow[at] and at == len(narrow) - 1:
            to = side.high + OUTSIDE + long
            middle = to - long // 2
        elif narrow[at]:
            start = side.low - OUTSIDE - long
            middle = start + long // 2
        written.append(drawing.write_if_room(side.number(middle, out, texts[at])))
    drawing.marks.append(side.line(start, to, out))
    for place in places:
        drawing.marks += [side.extension(place, out), _stroke(*side.at(place, out))]
    return all(written)


def overall(
    drawing: Drawing, side: Side, places: Sequence[int], whole: Length, reading: Reading, out: int
) -> bool:
    """Draw one size in the view's unit and the shop's; return False if it has no room.

    Where both are longer than the line, the shop's stands below the drawing.
    """
    both, one = reading.both(whole), reading.mark(whole)
    if both != one and too_narrow([both], places)[0]:
        drawing.notes.append(both)
        both = one
    return chain(drawing, side, places, [both], out)


def named(drawing: Drawing, side: Side, places: Sequence[int], told: str, out: int) -> bool:
    """Draw a dimension line with words past its end; return False without room."""
    drawing.marks.append(side.line(places[0], places[-1] + OUTSIDE, out))
    for place in places:
        drawing.marks += [side.extension(place, out), _stroke(*side.at(place, out))]
    x, y = side.at(places[-1] + 2 * OUTSIDE, out)
    return drawing.write_if_room(Text(x, y, told, anchor="start"))


def running(drawing: Drawing, side: Side, places: Sequence[int], texts: Sequence[str]) -> bool:
    """Draw running dimensions from the first place; return False if they have no room.

    The first place, the reference edge, has a ring; each number gives the distance from there.
    """
    drawing.marks.append(side.line(places[0], places[-1], FIRST))
    x, y = side.at(places[0], FIRST)
    drawing.marks.append(side.extension(places[0], FIRST))
    drawing.marks.append(Outline("ellipse", x - 220, y - 220, 440, 440, "white", THIN))
    for place in places[1:]:
        drawing.marks += [side.extension(place, FIRST), _stroke(*side.at(place, FIRST))]
    labels = [Label(place, text) for place, text in zip(places[1:], texts, strict=True)]
    root = side.root + side.outwards * (FIRST + PAST)
    level = root + side.outwards * LEADER
    more = max(0, sum(rooms(texts, upright=True)) - (side.high - side.low)) // 2 + CAPITALS
    ends = side.low - more, side.high + more
    return along(drawing, labels, Rail(side.across, level, root, *ends, upright=side.across))


def datum(x: int, y: int, side: str) -> Polygon:
    """Return the mark of a reference edge: a filled triangle inside, standing on that edge."""
    half = DATUM // 2
    across = {"left": DATUM, "right": -DATUM}.get(side)
    if across:
        return Polygon(((x, y - half), (x, y + half), (x + across, y)), "black", THIN)
    down = DATUM if side == "top" else -DATUM
    return Polygon(((x - half, y), (x + half, y), (x, y + down)), "black", THIN)


def _stroke(x: int, y: int) -> Stroke:
    """Return the oblique stroke that ends a dimension."""
    return Stroke(x - 250, y + 250, x + 250, y - 250, 99)
