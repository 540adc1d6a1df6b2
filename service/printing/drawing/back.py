"""A mat as it lies on the bench, with its lines and the guide's settings.

The settings are placed around the board, each where its line meets the edge: those from the left
edge above it, from the right edge below it, from the top at the left, from the bottom at the right;
so each setting is read from its own edge inwards.
"""

from __future__ import annotations

from dataclasses import replace

from service.domain.jobs.mat import Window
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.labels import Label, Rail, along, longest, rooms
from service.printing.drawing.sheet import POINT, TEXT, Drawing, Outline, Scale, Stroke, Text

OUT = 9 * POINT
"""The distance from the board's edge to the settings' texts."""
EDGE = 2 * POINT
LETTERS = {"left": "L", "right": "R", "top": "T", "bottom": "B"}


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the guide: its edge, and the distance from that edge."""

    side: str
    distance: Length


@dataclass(frozen=True, slots=True)
class BackView:
    """A mat as it lies on the bench. Windows are placed from the left and top of `bounds`.

    `bounds` is the rectangle that settings are measured from; `inset` is how far the blank's own
    edge lies inside it.
    """

    name: str
    face_down: bool
    bounds: Size
    inset: Length
    windows: tuple[Window, ...]
    settings: tuple[Setting, ...]


def draw_back(view: BackView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the mat in a drawing of that width and height, in hundredths of a point."""
    texts = {side: _texts(view, side, ruler) for side in LETTERS}
    beside = OUT + EDGE + max(longest(texts["top"]), longest(texts["bottom"]))
    between = width - 2 * beside
    above = [OUT + EDGE + _row_height(texts[side], between) for side in ("left", "right")]
    room = (between, height - sum(above))
    scale = Scale.to_fit(view.bounds.width, view.bounds.height, room)
    scale = scale.at(
        (width - scale.long(view.bounds.width)) // 2,
        above[0] + (room[1] - scale.long(view.bounds.height)) // 2,
    )
    seen = "from the back" if view.face_down else "from the face"
    drawing = Drawing(f"{view.name} {seen}", scale.ratio_text(), width, height)
    _board(drawing, view, scale)
    _lines(drawing, view, scale)
    if not _settings(drawing, view, scale, ruler):
        drawing.notes.append("more settings than can be drawn: see the steps")
    _windows(drawing, view, scale, ruler)
    drawing.notes.append("L, R, T, B: guide settings from the left, right, top and bottom edge")
    if view.inset:
        drawing.notes.append("dashed: the top mat's edge, which the settings run from")
    return drawing


def _board(drawing: Drawing, view: BackView, scale: Scale) -> None:
    left, top = scale.left, scale.top
    wide, high = scale.long(view.bounds.width), scale.long(view.bounds.height)
    if view.inset:
        drawing.rectangle(left, top, wide, high, weight=35, line="dashed")
    by = scale.long(view.inset)
    drawing.rectangle(left + by, top + by, wide - 2 * by, high - 2 * by, "pale", 70)


def _lines(drawing: Drawing, view: BackView, scale: Scale) -> None:
    """Draw the lines to cut, extended as thin lines to the board's edges."""
    right, low = scale.x(view.bounds.width), scale.y(view.bounds.height)
    for setting in view.settings:
        if setting.side in ("left", "right"):
            x = _place(view, scale, setting)
            drawing.marks.append(Stroke(x, scale.top, x, low, 25, "dotted"))
        else:
            y = _place(view, scale, setting)
            drawing.marks.append(Stroke(scale.left, y, right, y, 25, "dotted"))


def _place(view: BackView, scale: Scale, setting: Setting) -> int:
    if setting.side == "left":
        return scale.x(setting.distance)
    if setting.side == "right":
        return scale.x(view.bounds.width - setting.distance)
    if setting.side == "top":
        return scale.y(setting.distance)
    return scale.y(view.bounds.height - setting.distance)


def _distances(view: BackView, side: str) -> list[Length]:
    return list(dict.fromkeys(s.distance for s in view.settings if s.side == side))


def _texts(view: BackView, side: str, ruler: Ruler) -> list[str]:
    return [f"{LETTERS[side]} {ruler.mark(distance)}" for distance in _distances(view, side)]


def _row_height(texts: list[str], width: int) -> int:
    return longest(texts) if sum(rooms(texts, upright=False)) > width else TEXT


def _settings(drawing: Drawing, view: BackView, scale: Scale, ruler: Ruler) -> bool:
    left, top = scale.left, scale.top
    right, low = scale.x(view.bounds.width), scale.y(view.bounds.height)
    rails = {
        "left": Rail(True, top - OUT, top, EDGE, drawing.width - EDGE),
        "right": Rail(True, low + OUT, low, EDGE, drawing.width - EDGE),
        "top": Rail(False, left - OUT, left, top, low),
        "bottom": Rail(False, right + OUT, right, top, low),
    }
    written = []
    for side, rail in rails.items():
        texts = _texts(view, side, ruler)
        labels = [
            Label(_place(view, scale, Setting(side, distance)), text)
            for distance, text in zip(_distances(view, side), texts, strict=True)
        ]
        upright = rail.across and sum(rooms(texts, upright=False)) > rail.high - rail.low
        written.append(along(drawing, labels, replace(rail, upright=upright)))
    return all(written)


def _windows(drawing: Drawing, view: BackView, scale: Scale, ruler: Ruler) -> None:
    for number, window in enumerate(view.windows, start=1):
        left, top = scale.x(window.x), scale.y(window.y)
        wide, high = scale.x(window.right()) - left, scale.y(window.bottom()) - top
        drawing.marks.append(Outline(window.shape, left, top, wide, high, "white", 80))
        size = f"{ruler.mark(window.size.width)} x {ruler.mark(window.size.height)}"
        name = str(number) if len(view.windows) > 1 else ""
        for label in (f"{name}: {size}" if name else size, name):
            text = Text(left + wide // 2, top + high // 2, label)
            if label and text.width() + 4 * POINT <= wide and high >= TEXT + 2 * POINT:
                drawing.write_if_room(text)
                break
