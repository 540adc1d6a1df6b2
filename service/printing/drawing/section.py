"""A section through one side of the frame: the lip, the rabbet, and every layer of the package.

Across, from the frame's outside inwards, it is to one scale. In depth the layers would be too thin
to see, so the depth has a larger scale, the same for all layers and as large as fits, and the
drawing states the ratio.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from service.domain.measure.length import TICKS_PER_MM, ZERO, Length
from service.domain.measure.rounding import decimal_text, half_up
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.labels import Label, Rail, along, longest
from service.printing.drawing.sheet import (
    POINT,
    TEXT,
    Dot,
    Drawing,
    Polygon,
    Scale,
    Stroke,
    Text,
    Tone,
)

_TONES: dict[str, Tone] = {
    "glazing": "white", "spacer": "dark", "mat": "pale", "fillet": "dark", "artwork": "dark",
    "mount": "white", "backing": "mid",
}  # fmt: skip
LIP = Length(101_600)
"""The lip's thickness as drawn, a quarter of an inch: no catalogue states it."""


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
class SectionView:
    """A side of the frame: its moulding, its rabbet, and the layers from the lip backwards.

    `shown` is how far into the package the section reaches.
    """

    face_width: Length
    rabbet_width: Length
    rabbet_depth: Length
    play: Length
    shown: Length
    layers: tuple[Layer, ...]


def draw_section(view: SectionView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the section in a drawing of that width and height, in hundredths of a point."""
    names = [f"{layer.name} {thickness(layer.thickness, ruler)}" for layer in view.layers]
    right = width - longest(names) - 16 * POINT
    top = 24 * POINT
    depth = max(view.rabbet_depth, Length(sum(layer.thickness.ticks for layer in view.layers)))
    past = view.face_width - view.rabbet_width + view.play
    across = Scale.to_fit(past + view.shown, ZERO, (right - 4 * POINT, 1)).at(4 * POINT, 0)
    whole = Length(depth.ticks + LIP.ticks)
    down = Scale(Fraction(height - top - 20 * POINT, whole.ticks), 0, top)
    times = half_up(*(10 * down.per_tick / across.per_tick).as_integer_ratio())
    drawing = Drawing("Section", f"{across.ratio_text()} across", width, height)
    drawing.notes.append(f"depth drawn {times // 10}.{times % 10} times as large as width")
    drawing.notes.append("the moulding's back and lip are drawn plain: only its rabbet is to scale")
    _moulding(drawing, view, across, down)
    middles = _layers(drawing, view, across, down, past)
    labels = [Label(place, name) for place, name in zip(middles, names, strict=True)]
    low = down.y(LIP + depth) + 2 * POINT
    along(drawing, labels, Rail(False, right + 12 * POINT, right + 2 * POINT, top, low + TEXT))
    _dimensions(drawing, view, across, down, ruler)
    return drawing


def thickness(length: Length, ruler: Ruler) -> str:
    """Return a thickness on the shop's ruler, or in millimetres if it falls between two marks."""
    mark = ruler.mark(length)
    if not mark.startswith("≈"):
        return f"{mark} {ruler.unit}"
    return f"{decimal_text(length.ticks, TICKS_PER_MM, 2)} mm"


def _moulding(drawing: Drawing, view: SectionView, across: Scale, down: Scale) -> None:
    """Draw an L: the lip over the package, the side beside it."""
    side, face = view.face_width - view.rabbet_width, view.face_width
    over, foot = down.top, down.y(LIP + view.rabbet_depth)
    under = down.y(LIP)
    points = (
        (across.x(ZERO), over),
        (across.x(face), over),
        (across.x(face), under),
        (across.x(side), under),
        (across.x(side), foot),
        (across.x(ZERO), foot),
    )
    drawing.marks.append(Polygon(points, "mid", 70))


def _layers(
    drawing: Drawing, view: SectionView, across: Scale, down: Scale, past: Length
) -> list[int]:
    """Draw the layers and return the middle of each."""
    middles, depth = [], LIP
    end = across.x(past + view.shown)
    for layer in view.layers:
        top, low = down.y(depth), down.y(depth + layer.thickness)
        left = across.x(past + layer.trim)
        middle = (top + low) // 2
        drawing.marks.append(Stroke(left, middle, end, middle, 20, "dotted"))
        drawing.marks.append(
            Polygon(_outline(layer, across, past, (left, end), (top, low)), _tone(layer), 40)
        )
        middles.append(middle)
        depth = depth + layer.thickness
    top = down.y(LIP)
    drawing.marks.append(Stroke(end, top - 4 * POINT, end, down.y(depth) + 4 * POINT, 30, "dashed"))
    return middles


def _tone(layer: Layer) -> Tone:
    return _TONES.get(layer.part, "white")


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


def _dimensions(
    drawing: Drawing, view: SectionView, across: Scale, down: Scale, ruler: Ruler
) -> None:
    """Draw the widths of lip and face above, and the rabbet's depth below."""
    level = down.top - 5 * POINT
    side = view.face_width - view.rabbet_width
    parts: Sequence[tuple[Length, Length, str]] = (
        (ZERO, view.face_width, f"face {ruler.mark(view.face_width)}"),
        (side, view.face_width, f"lip {ruler.mark(view.rabbet_width)}"),
    )
    for row, (start, to, label) in enumerate(parts):
        y = level - row * 9 * POINT
        drawing.marks.append(Stroke(across.x(start), y, across.x(to), y, 35))
        drawing.marks.extend(Dot(across.x(place), y, 80) for place in (start, to))
        drawing.write_if_room(Text(across.x(to) + 4 * POINT, y, label, anchor="start"))
    stack = Length(sum(layer.thickness.ticks for layer in view.layers))
    foot = down.y(LIP + max(view.rabbet_depth, stack)) + 9 * POINT
    label = f"rabbet {ruler.mark(view.rabbet_depth)} deep"
    drawing.write_if_room(Text(across.x(ZERO), foot, label, anchor="start"))
