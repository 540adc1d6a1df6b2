"""The framed piece seen from the front, to scale, with its dimensions.

What the lip hides (the edge of the package) is dashed. Below are the dimensions of the borders and
windows of the top mat, then of the package, then of the outside; the same from top to bottom at the
left.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.jobs.mat import Window
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.dimensions import (
    FIRST,
    MOST_PARTS,
    chain_across,
    chain_down,
    column_width,
    row_height,
)
from service.printing.drawing.sheet import (
    POINT,
    TEXT,
    Drawing,
    Outline,
    Polygon,
    Scale,
    Stroke,
    Text,
    Tone,
)

AROUND = 6 * POINT


@dataclass(frozen=True, slots=True)
class FrontView:
    """The piece seen from the front. Windows are placed from the package's left and top edges.

    `layers` are the windows of each mat, the top one first; without mats it is empty. `rings` are
    the outsides of the frames, the innermost first; `sight` is that of the innermost frame.
    """

    package: Size
    layers: tuple[tuple[Window, ...], ...]
    sight: Size | None
    rings: tuple[Size, ...]
    sides: int = 4

    def outside(self) -> Size:
        """Return the overall size."""
        return self.rings[-1] if self.rings else self.package


def draw_front(view: FrontView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the front in a drawing of that width and height, in hundredths of a point."""
    columns, rows = _chains(view)
    wide = [column_width(ruler, points) for points in columns]
    high = [row_height(ruler, points, width) for points in rows]
    left, below = sum(wide) + FIRST + AROUND, sum(high) + FIRST
    outside = view.outside()
    room = (width - left - AROUND, height - below - AROUND)
    scale = Scale.to_fit(outside.width, outside.height, room)
    scale = scale.at(left + (room[0] - scale.long(outside.width)) // 2, AROUND)
    drawing = Drawing("Front", scale.ratio_text(), width, height)
    _frame(drawing, view, scale)
    _mats(drawing, view, scale, ruler)
    foot = scale.y(outside.height) + FIRST
    for at, points in enumerate(rows):
        chain_across(drawing, ruler, scale, points, foot + sum(high[:at]))
    for at, points in enumerate(columns):
        chain_down(drawing, ruler, scale, points, scale.left - FIRST - sum(wide[:at]))
    if view.sight:
        drawing.notes.append("dashed: the package's edge under the lip")
    return drawing


def _inset(view: FrontView, inner: Size) -> tuple[Length, Length]:
    """Return the distances of a centred rectangle from the outside's left and top."""
    outside = view.outside()
    return (outside.width - inner.width).halves()[0], (outside.height - inner.height).halves()[0]


def _chains(view: FrontView) -> tuple[list[list[Length]], list[list[Length]]]:
    """Return the dimension points down and across, the finest first."""
    outside = view.outside()
    right, low = _inset(view, view.package)
    down: list[list[Length]] = []
    across: list[list[Length]] = []
    if view.layers:
        top = view.layers[0]
        xs = {ZERO, view.package.width, *(w.x for w in top), *(w.right() for w in top)}
        ys = {ZERO, view.package.height, *(w.y for w in top), *(w.bottom() for w in top)}
        across.append([right + x for x in sorted(xs)])
        down.append([low + y for y in sorted(ys)])
    across.append([right, right + view.package.width])
    down.append([low, low + view.package.height])
    if view.sight and not view.layers:
        x, y = _inset(view, view.sight)
        across.insert(0, [x, x + view.sight.width])
        down.insert(0, [y, y + view.sight.height])
    if view.rings:
        across.append([ZERO, outside.width])
        down.append([ZERO, outside.height])
    return (
        [chain for chain in down if len(chain) <= MOST_PARTS + 1],
        [chain for chain in across if len(chain) <= MOST_PARTS + 1],
    )


def _frame(drawing: Drawing, view: FrontView, scale: Scale) -> None:
    rings: list[Size] = [*reversed(view.rings), *([view.sight] if view.sight else [])]
    tones: tuple[Tone, ...] = ("mid", "pale")
    outer = None
    for at, ring in enumerate(rings):
        corners = _corners(view, ring, scale)
        last = at == len(rings) - 1 and view.sight is not None
        drawing.marks.append(
            Polygon(tuple(corners), "white" if last else tones[at % 2], 90 if at == 0 else 60)
        )
        if outer:
            for (x1, y1), (x2, y2) in zip(outer, corners, strict=True):
                drawing.marks.append(Stroke(x1, y1, x2, y2, 40))
        outer = corners
    if not view.rings:
        drawing.marks.append(Polygon(tuple(_corners(view, view.package, scale)), "white", 60))
    else:
        edge = tuple(_corners(view, view.package, scale))
        drawing.marks.append(Polygon(edge, "none", 35, "dashed"))


def _corners(view: FrontView, size: Size, scale: Scale) -> list[tuple[int, int]]:
    x, y = _inset(view, size)
    left, top = scale.x(x), scale.y(y)
    right, low = scale.x(x + size.width), scale.y(y + size.height)
    if view.sides == 4:
        return [(left, top), (right, top), (right, low), (left, low)]
    return list(_polygon(left, top, right - left, view.sides))


_EIGHT = ((2929, 0), (7071, 0))
_TWELVE = ((3660, 0), (6340, 0), (8660, 1340))
"""The first corners of a regular dodecagon, 10 000 units across flats, to the unit."""


def _polygon(left: int, top: int, long: int, sides: int) -> Iterator[tuple[int, int]]:
    quarter: Sequence[tuple[int, int]] = _EIGHT if sides == 8 else _TWELVE
    for turn in range(4):
        for x, y in quarter[1:] if sides == 12 else quarter:
            yield _turned(left, top, long, x, y, turn)
        if sides == 12:
            yield _turned(left, top, long, 10_000, 3660, turn)


def _turned(left: int, top: int, long: int, x: int, y: int, turn: int) -> tuple[int, int]:
    for _ in range(turn):
        x, y = 10_000 - y, x
    return left + long * x // 10_000, top + long * y // 10_000


def _mats(drawing: Drawing, view: FrontView, scale: Scale, ruler: Ruler) -> None:
    x, y = _inset(view, view.package)
    for layer, windows in enumerate(view.layers):
        for window in windows:
            _outline(drawing, window.moved(-x, -y), scale, 70 if layer == 0 else 40, layer)
    for number, window in enumerate(view.layers[-1] if view.layers else (), start=1):
        name = str(number) if len(view.layers[-1]) > 1 else ""
        _inside(drawing, window.moved(-x, -y), scale, ruler, name)


def _outline(drawing: Drawing, window: Window, scale: Scale, weight: int, layer: int) -> None:
    left, top = scale.x(window.x), scale.y(window.y)
    wide, high = scale.x(window.right()) - left, scale.y(window.bottom()) - top
    tone: Tone = "pale" if layer == 0 else "white"
    drawing.marks.append(Outline(window.shape, left, top, wide, high, tone, weight))


def _inside(drawing: Drawing, window: Window, scale: Scale, ruler: Ruler, name: str) -> None:
    """Write the window's number and size, if they fit inside it."""
    x = (scale.x(window.x) + scale.x(window.right())) // 2
    y = (scale.y(window.y) + scale.y(window.bottom())) // 2
    wide = scale.x(window.right()) - scale.x(window.x)
    high = scale.y(window.bottom()) - scale.y(window.y)
    size = f"{ruler.mark(window.size.width)} x {ruler.mark(window.size.height)}"
    text = f"{name}: {size}" if name else size
    for label in (text, name):
        drawn = Text(x, y, label)
        if label and drawn.width() + 4 * POINT <= wide and high >= TEXT + 2 * POINT:
            drawing.write_if_room(drawn)
            return
