"""A section through one side of the frame: every frame of a stack, and every layer of the package.

Across, from the outermost frame's outside inwards, it is to one scale. In depth the layers would be
too thin to see, so the depth has a larger scale, the same for all layers and as large as fits, and
the drawing states the ratio.
"""

from __future__ import annotations

from fractions import Fraction

from service.domain.measure.length import TICKS_PER_MM, ZERO, Length
from service.domain.measure.rounding import decimal_text, half_up
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.dimensions import FIRST, NEXT, Side, chain, named
from service.printing.drawing.labels import Label, Rail, along, rooms
from service.printing.drawing.lettering import APART, CAPITALS, POINT, longest, text_width
from service.printing.drawing.scale import Scale
from service.printing.drawing.sheet import (
    MEDIUM,
    THIN,
    WIDE,
    Dot,
    Drawing,
    Polygon,
    Stroke,
    Tone,
)
from service.printing.language.phrases import told
from service.printing.language.spoken import _, number

_TONES: dict[str, Tone] = {
    "glazing": "white", "spacer": "dark", "mat": "pale", "fillet": "dark", "artwork": "dark",
    "mount": "white", "backing": "mid",
}  # fmt: skip
LIP = Length(101_600)
"""The lip's thickness as drawn, a quarter of an inch: no catalogue states it."""
LEADER = 12 * POINT
NEAR = FIRST - CAPITALS
"""From the section to the first dimension line: 6 mm."""
EDGE = 3 * POINT


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer: its kind, name, thickness, and the offset of its edge from the package's edge.

    A mat's `edge` is its window's sight edge; `lean` is the direction of the bevel from the face
    (the glazing's side) to the back: outwards for standard (+1), inwards for reverse (-1).
    """

    part: str
    name: str
    thickness: Length
    edge: Length = ZERO
    trim: Length = ZERO
    lean: int = 0


@dataclass(frozen=True, slots=True)
class Profile:
    """One frame as cut through: `play` is from its rabbet's side to what it holds."""

    face_width: Length
    rabbet_width: Length
    rabbet_depth: Length
    play: Length

    def holds_at(self) -> Length:
        """Return the distance from its outside to what it holds."""
        return self.face_width - self.rabbet_width + self.play


@dataclass(frozen=True, slots=True)
class SectionView:
    """A side of the frame: its profiles, the innermost first, and the layers from the lip back.

    `shown` is how far into the package the section reaches.
    """

    profiles: tuple[Profile, ...]
    shown: Length
    layers: tuple[Layer, ...]

    def stack(self) -> Length:
        """Return the thickness of all layers."""
        return Length(sum(layer.thickness.ticks for layer in self.layers))

    def past(self) -> Length:
        """Return the distance from the outermost outside to the package."""
        return Length(sum(profile.holds_at().ticks for profile in self.profiles))

    def depth(self) -> Length:
        """Return the depth from the outermost frame's face to the back of what is deepest."""
        lips = len(self.profiles) * LIP.ticks
        deepest = max(self.stack(), *(profile.rabbet_depth for profile in self.profiles))
        return Length(lips + deepest.ticks)


def draw_section(view: SectionView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the section in a drawing of that width and height, in hundredths of a point."""
    names = [f"{told(layer.name)} {thickness(layer.thickness, ruler)}" for layer in view.layers]
    right = width - longest(names) - LEADER - EDGE
    left = FIRST + NEXT
    top = len(view.profiles) * NEXT + FIRST
    across = Scale.to_fit(view.past() + view.shown, ZERO, (right - left, 1)).at(left, 0)
    room = height - top - 2 * CAPITALS
    down = Scale(Fraction(room, view.depth().ticks), 0, top)
    times = half_up(*(10 * down.per_tick / across.per_tick).as_integer_ratio())
    drawing = Drawing(_("Section"), _("{ratio} across", ratio=across.ratio_text()), width, height)
    times_told = number(f"{times // 10}.{times % 10}")
    drawing.notes.append(_("depth drawn {times} times as large as width", times=times_told))
    drawing.notes.append(_("mouldings are drawn plain: only face, lip and rabbet are to scale"))
    _profiles(drawing, view, across, down)
    _leaders(drawing, names, _layers(drawing, view, across, down), (right, top, height))
    _dimensions(drawing, view, across, down, ruler)
    return drawing


def thickness(length: Length, ruler: Ruler) -> str:
    """Return a thickness on the shop's ruler, or in millimetres if it falls between two marks."""
    mark = ruler.mark(length)
    if not mark.startswith("≈"):
        return told(f"{mark} {ruler.unit}")
    return told(f"{decimal_text(length.ticks, TICKS_PER_MM, 2)} mm")


def _starts(view: SectionView) -> list[tuple[Length, Length]]:
    """Return where each profile starts, innermost first: its outside, and its face in depth."""
    found, x, y = [], ZERO, ZERO
    for profile in reversed(view.profiles):
        found.append((x, y))
        x, y = x + profile.holds_at(), y + LIP
    return found[::-1]


def _profiles(drawing: Drawing, view: SectionView, across: Scale, down: Scale) -> None:
    """Draw each frame as an L: the lip over what it holds, the side beside it."""
    for profile, (x, y) in zip(view.profiles, _starts(view), strict=True):
        out, side = across.x(x), across.x(x + profile.face_width - profile.rabbet_width)
        face, over = across.x(x + profile.face_width), down.y(y)
        under, foot = down.y(y + LIP), down.y(y + LIP + profile.rabbet_depth)
        points = (
            (out, over),
            (face, over),
            (face, under),
            (side, under),
            (side, foot),
            (out, foot),
        )
        drawing.marks.append(Polygon(points, "mid", WIDE))


def _layers(
    drawing: Drawing, view: SectionView, across: Scale, down: Scale
) -> list[tuple[int, int]]:
    """Draw the layers; return a point inside of each, where its leader starts."""
    inside, depth, past = [], Length(len(view.profiles) * LIP.ticks), view.past()
    end = across.x(past + view.shown)
    first = down.y(depth)
    for layer in view.layers:
        top, low = down.y(depth), down.y(depth + layer.thickness)
        left = across.x(past + layer.trim)
        points = _outline(layer, across, past, (left, end), (top, low))
        drawing.marks.append(Polygon(points, _TONES.get(layer.part, "white"), MEDIUM))
        inside.append((max((left + points[1][0]) // 2, points[1][0] - 4 * EDGE), (top + low) // 2))
        depth = depth + layer.thickness
    drawing.marks.append(Stroke(end, first - EDGE, end, down.y(depth) + EDGE, THIN, "chain"))
    return inside


def _outline(
    layer: Layer, across: Scale, past: Length, ends: tuple[int, int], depths: tuple[int, int]
) -> tuple[tuple[int, int], ...]:
    (left, end), (top, low) = ends, depths
    if not layer.edge:
        return ((left, top), (end, top), (end, low), (left, low))
    edge = across.x(past + layer.edge)
    slope = across.long(layer.thickness)
    # The sight edge is the innermost edge; the other is one board thickness back.
    face = edge - slope if layer.lean > 0 else edge
    back = edge - slope if layer.lean < 0 else edge
    return ((left, top), (face, top), (back, low), (left, low))


def _leaders(
    drawing: Drawing,
    names: list[str],
    inside: list[tuple[int, int]],
    column: tuple[int, int, int],
) -> None:
    """Write each layer's name beside the section; a leader runs to a dot inside of the layer."""
    right, top, height = column
    if sum(rooms(names, upright=True)) > height - EDGE:
        drawing.notes += names
        return
    labels = [Label(y, name) for (_, y), name in zip(inside, names, strict=True)]
    low = max(EDGE, min(top, height - EDGE - sum(rooms(names, upright=True))))
    along(drawing, labels, Rail(False, right + LEADER, right, low, height - EDGE))
    for x, y in inside:
        drawing.marks += [Stroke(x, y, right, y, THIN), Dot(x, y, 90)]


def _dimensions(
    drawing: Drawing, view: SectionView, across: Scale, down: Scale, ruler: Ruler
) -> None:
    """Draw each frame's face and lip above, the innermost rabbet and the package at the left."""
    above = Side(True, -1, down.top, across.left, drawing.width)
    for row, (profile, start) in enumerate(zip(view.profiles, _starts(view), strict=True)):
        x = start[0]
        face = x + profile.face_width
        places = [across.x(place) for place in (x, face - profile.rabbet_width, face)]
        said = _(
            "face {face}, lip {lip}",
            face=thickness(profile.face_width, ruler),
            lip=thickness(profile.rabbet_width, ruler),
        )
        if len(view.profiles) > 1:
            said = _("frame {n}: {sizes}", n=row + 1, sizes=said)
        if not named(drawing, above, places, said, NEAR + row * NEXT):
            drawing.notes.append(said)
    profile, y = view.profiles[0], _starts(view)[0][1]
    side = Side(False, -1, across.left, 0, drawing.height)
    top, row = down.y(y + LIP), 0
    for what, deep in (("rabbet {depth}", profile.rabbet_depth), ("package {depth}", view.stack())):
        said, long = _(what, depth=thickness(deep, ruler)), down.long(deep)
        if text_width(said) + APART > long:
            drawing.notes.append(_("depth: {depth}", depth=said))
        else:
            chain(drawing, side, [top, top + long], [said], NEAR + row * NEXT)
            row += 1
