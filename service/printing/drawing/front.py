"""The framed piece seen from the front, to scale, with its dimensions.

What the lip hides (the edge of the package) is dashed. Below stand the dimensions across: of the
top mat's borders and windows, of the package, of the outside; at the left those from top to bottom.
More than four windows in a row, or a part between others that is too narrow for its number, are
told as running dimensions from the package's left and top edges, the reference edges.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import product
from typing import Literal, get_args

from service.domain.errors import BadValue
from service.domain.jobs.mat import Window
from service.domain.jobs.places import curve as curve_of
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.dimensions import (
    DATUM,
    FIRST,
    NEXT,
    Side,
    chain,
    datum,
    overall,
    running,
    sides,
)
from service.printing.drawing.inside import lengths_inside, outlines, sizes_inside
from service.printing.drawing.reading import Reading
from service.printing.drawing.scale import Scale, fitted
from service.printing.drawing.sheet import HEAVY, THIN, WIDE, Drawing, Polygon, Stroke, Tone
from service.printing.language.spoken import _

MOST_IN_A_CHAIN = 4
"""More windows in a row are dimensioned from one edge."""
Mode = Literal["chain", "running", "overall", "none"]
_MODES: tuple[Mode, ...] = get_args(Mode)
Points = tuple[Length, ...]


@dataclass(frozen=True, slots=True)
class FrontView:
    """The piece seen from the front. Windows are placed from the package's left and top edges.

    `layers` are the windows of each mat, the top one first; without mats it is empty. `rings` are
    the outsides of the frames, the innermost first; `sight` is that of the innermost frame. `art`
    is the place of art whose edges are seen.
    """

    package: Size
    layers: tuple[tuple[Window, ...], ...]
    sight: Size | None
    rings: tuple[Size, ...]
    sides: int = 4
    art: tuple[Window, ...] = ()

    def outside(self) -> Size:
        """Return the overall size."""
        return self.rings[-1] if self.rings else self.package

    def inset(self, inner: Size) -> tuple[Length, Length]:
        """Return the distances of a centred rectangle from the outside's left and top."""
        whole = self.outside()
        return (whole.width - inner.width).halves()[0], (whole.height - inner.height).halves()[0]

    def windows(self) -> tuple[Window, ...]:
        """Return the top mat's windows."""
        return self.layers[0] if self.layers else ()


@dataclass(frozen=True, slots=True)
class Axis:
    """What is told along one axis, as points from the outside's edge.

    `chains` run from edge to edge of the package, the finest first; `whole` is the frame's outside,
    and empty without a frame. `in_a_row` is the number of windows in a row.
    """

    chains: tuple[Points, ...]
    whole: Points
    in_a_row: int

    def told(self, mode: Mode) -> tuple[Points, ...]:
        """Return the chains that are told in this way, without the running one."""
        whole = (self.whole,) if self.whole else ()
        chains = {"chain": self.chains, "overall": self.chains[-1:]}.get(mode, ())
        return () if mode == "none" else (*chains, *whole)

    def allows(self, mode: Mode) -> bool:
        """Return True if the axis may be told in this way."""
        return mode != "chain" or self.in_a_row <= MOST_IN_A_CHAIN


def draw_front(view: FrontView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the front in a drawing of at most that width and height, in hundredths of a point.

    The unit is one in which the package's sizes are exact; the outside is told in the same.
    """
    axes = _axes(view)
    reading = Reading.of(ruler, [*_lengths(axes), *lengths_inside(view.layers)])
    outside = view.outside()
    for modes in sorted(product(_MODES, repeat=2), key=lambda two: sum(map(_MODES.index, two))):
        if all(axis.allows(mode) for axis, mode in zip(axes, modes, strict=True)):
            compose = partial(_composed, view, axes, modes, reading)
            drawing = fitted(compose, outside.width, outside.height, (width, height))
            if drawing is not None:
                return drawing
    raise BadValue("a drawing of the front needs more room", "/width")


def _axes(view: FrontView) -> tuple[Axis, Axis]:
    """Return what is told across and down."""
    inset, outside = view.inset(view.package), view.outside()
    sight = view.sight if view.sight and not view.layers else None
    hidden = view.inset(sight) if sight else None
    art = view.art if len(view.art) == 1 else ()
    windows = view.windows()
    across = _chains(
        inset[0],
        view.package.width,
        [(w.x, w.right()) for w in windows],
        [curve.centre_x for curve in map(curve_of, windows) if curve],
        [(w.x, w.right()) for w in art],
        (hidden[0], hidden[0] + sight.width) if sight and hidden else (),
        outside.width,
    )
    down = _chains(
        inset[1],
        view.package.height,
        [(w.y, w.bottom()) for w in windows],
        [curve.centre_y for curve in map(curve_of, windows) if curve],
        [(w.y, w.bottom()) for w in art],
        (hidden[1], hidden[1] + sight.height) if sight and hidden else (),
        outside.height,
    )
    return across, down


def _chains(
    inset: Length,
    held: Length,
    windows: Sequence[tuple[Length, Length]],
    centres: Sequence[Length],
    art: Sequence[tuple[Length, Length]],
    sight: Points,
    whole: Length,
) -> Axis:
    """Return the chains of one axis: windows or sight, centres, art, package, outside."""

    def through(places: Iterable[Length]) -> Points:
        return tuple(inset + place for place in sorted({ZERO, *places, held}))

    edges = through(edge for window in windows for edge in window) if windows else ()
    seen = tuple(sorted({inset, inset + held, *sight})) if sight else ()
    found = [edges or seen, through(edge for pair in art for edge in pair), through(centres)]
    kept = dict.fromkeys([*(points for points in found if len(points) > 2), through(())])
    return Axis(tuple(kept), (ZERO, whole) if inset else (), len({start for start, _ in windows}))


def _lengths(axes: Iterable[Axis]) -> Iterator[Length]:
    for axis in axes:
        for points in axis.chains:
            yield from (point - points[0] for point in points)


def _composed(
    view: FrontView,
    axes: tuple[Axis, Axis],
    modes: Sequence[Mode],
    reading: Reading,
    scale: Scale,
    width: int,
    height: int,
) -> Drawing | None:
    """Return the drawing with each axis told in its mode; None if a number has no room."""
    drawing = Drawing(_("Front"), scale.ratio_text(), width, height, notes=[reading.note()])
    _frame(drawing, view, scale)
    inset = view.inset(view.package)
    _reference(drawing, scale.x(inset[0]), scale.y(inset[1]))
    outlines(drawing, view.layers, view.art, scale.from_here(*inset))
    outside = view.outside()
    around = sides(scale.left, scale.top, scale.x(outside.width), scale.y(outside.height))
    if not (
        _told(drawing, axes[0], modes[0], reading, scale.x, (around["below"], around["above"]))
        and _told(drawing, axes[1], modes[1], reading, scale.y, (around["left"], around["right"]))
    ):
        return None
    sizes_inside(drawing, view.layers, view.art, scale.from_here(*inset), reading)
    if view.sight and view.rings:
        drawing.notes.append(_("dashed: the package's edge under the lip"))
    if any(mode in ("overall", "none") for mode in modes):
        drawing.notes.append(_("more sizes than can be drawn: see the pieces"))
    return drawing


def _told(
    drawing: Drawing,
    axis: Axis,
    mode: Mode,
    reading: Reading,
    place: Callable[[Length], int],
    near_and_far: tuple[Side, Side],
) -> bool:
    """Draw what is told along one axis; return False if a number has no room."""
    near, far = near_and_far
    written = []
    if mode == "running":
        points = tuple(sorted({point for points in axis.chains for point in points}))
        texts = [reading.mark(point - points[0]) for point in points[1:]]
        written.append(running(drawing, near, list(map(place, points)), texts))
    side = far if mode == "running" else near
    for row, points in enumerate(axis.told(mode)):
        places, out = list(map(place, points)), FIRST + row * NEXT
        if len(points) == 2:
            written.append(overall(drawing, side, places, points[1] - points[0], reading, out))
        else:
            written.append(chain(drawing, side, places, reading.parts(points), out))
    return all(written)


def _reference(drawing: Drawing, x: int, y: int) -> None:
    """Mark the package's left and top edges, from which windows are placed."""
    drawing.marks += [datum(x, y + 4 * DATUM, "left"), datum(x + 4 * DATUM, y, "top")]
    drawing.notes.append(_("filled triangles: the edges that windows are measured from"))


def _frame(drawing: Drawing, view: FrontView, scale: Scale) -> None:
    rings = [*reversed(view.rings), *([view.sight] if view.sight and view.rings else [])]
    tones: tuple[Tone, ...] = ("mid", "pale")
    outer = None
    for at, ring in enumerate(rings):
        corners = _corners(view, ring, scale)
        tone = "white" if at == len(view.rings) else tones[at % 2]
        drawing.marks.append(Polygon(tuple(corners), tone, WIDE if at else HEAVY))
        if outer:
            for (x1, y1), (x2, y2) in zip(outer, corners, strict=True):
                drawing.marks.append(Stroke(x1, y1, x2, y2, THIN))
        outer = corners
    edge = tuple(_corners(view, view.package, scale))
    if view.rings:
        drawing.marks.append(Polygon(edge, "none", THIN, "dashed"))
    else:
        drawing.marks.append(Polygon(edge, "white", HEAVY))


def _corners(view: FrontView, size: Size, scale: Scale) -> list[tuple[int, int]]:
    x, y = view.inset(size)
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
    for _each in range(turn):
        x, y = 10_000 - y, x
    return left + long * x // 10_000, top + long * y // 10_000
