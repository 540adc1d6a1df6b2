"""Labels along a line, as near to their places as they can be without overlapping.

Labels that would overlap are put side by side and move together, centred on their places (the
pool-adjacent-violators algorithm); at the ends of the line they are pushed inwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from service.domain.value import dataclass
from service.printing.drawing.lettering import APART, CAPITALS, POINT, text_width
from service.printing.drawing.sheet import HAIR, Drawing, Stroke, Text

GAP = 3 * POINT // 2
"""Between a leader and its text."""


@dataclass(frozen=True, slots=True)
class Label:
    """A text and its place along the line."""

    place: int
    text: str


@dataclass(slots=True)
class _Block:
    start: int
    long: int
    count: int
    wish: int


def spread(places: Sequence[int], longs: Sequence[int], low: int, high: int) -> list[int] | None:
    """Return the centres of the labels; None if they do not fit between `low` and `high`.

    `places` are ascending; `longs` are the labels' lengths along the line.
    """
    if sum(longs) > high - low:
        return None
    blocks: list[_Block] = []
    for place, long in zip(places, longs, strict=True):
        blocks.append(_Block(place - long // 2, long, 1, place - long // 2))
        while len(blocks) > 1 and blocks[-2].start + blocks[-2].long > blocks[-1].start:
            last, kept = blocks.pop(), blocks[-1]
            # The block start that would put each member exactly at its place.
            kept.wish += last.wish - last.count * kept.long
            kept.long += last.long
            kept.count += last.count
            kept.start = kept.wish // kept.count
    starts = _pushed_in([(block.start, block.long) for block in blocks], low, high)
    found, at = [], 0
    for start, block in zip(starts, blocks, strict=True):
        reached = start
        for long in longs[at : at + block.count]:
            found.append(reached + long // 2)
            reached += long
        at += block.count
    return found


def _pushed_in(blocks: Sequence[tuple[int, int]], low: int, high: int) -> list[int]:
    starts = []
    for start, long in blocks:
        low = max(start, low)
        starts.append(low)
        low += long
    for at in range(len(blocks) - 1, -1, -1):
        starts[at] = min(starts[at], high - blocks[at][1])
        high = starts[at]
    return starts


@dataclass(frozen=True, slots=True)
class Rail:
    """The position of a row of labels: its axis, its level, and where the leaders start.

    `level` is where the texts begin, seen from `root`, where their leaders start. `upright` turns
    the texts of a row, so that more of them fit.
    """

    across: bool
    level: int
    root: int
    low: int
    high: int
    upright: bool = False


def rooms(labels: Sequence[str], *, upright: bool) -> list[int]:
    """Return the room of each text in a row: its own, and its height between it and the next."""
    return [(CAPITALS if upright else text_width(text)) + APART + 4 for text in labels]


def along(drawing: Drawing, labels: Sequence[Label], rail: Rail) -> bool:
    """Write a row of labels with their leaders; return True if all of them fit."""
    ordered = sorted(labels, key=lambda label: label.place)
    texts = [label.text for label in ordered]
    longs = rooms(texts, upright=rail.upright or not rail.across)
    middles = spread([label.place for label in ordered], longs, rail.low, rail.high)
    if middles is None:
        return False
    pairs = zip(ordered, middles, strict=True)
    written = [_write(drawing, label, middle, rail) for label, middle in pairs]
    return all(written)


def _write(drawing: Drawing, label: Label, middle: int, rail: Rail) -> bool:
    outwards = 1 if rail.level > rail.root else -1
    near = rail.level - outwards * GAP
    bend = (rail.root + near) // 2
    if rail.across:
        half = (text_width(label.text) if rail.upright else CAPITALS) // 2
        text = Text(middle, rail.level + outwards * half, label.text, upright=rail.upright)
        points = ((label.place, rail.root), (label.place, bend), (middle, bend), (middle, near))
    else:
        text = Text(rail.level, middle, label.text, anchor="start" if outwards > 0 else "end")
        points = ((rail.root, label.place), (bend, label.place), (bend, middle), (near, middle))
    if not drawing.write_if_room(text):
        return False
    # A straight leader, or one with a step if the label was moved.
    steps = list(dict.fromkeys(points))
    for (x1, y1), (x2, y2) in pairwise(steps):
        drawing.marks.append(Stroke(x1, y1, x2, y2, HAIR))
    return True
