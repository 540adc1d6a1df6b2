"""A mat as it lies on the bench, with its lines and the guide's settings.

The settings are placed around the board, each where its line meets the edge: those from the left
edge above it, from the right edge below it, from the top at the left, from the bottom at the right;
so each setting is read from its own edge inwards. Filled triangles mark those edges.
"""

from __future__ import annotations

from functools import partial

from service.domain.errors import BadValue
from service.domain.jobs.mat import Window
from service.domain.jobs.places import curve
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.value import dataclass
from service.printing.drawing.dimensions import DATUM, Side, chain, datum, overall, past, sides
from service.printing.drawing.inside import centre_lines
from service.printing.drawing.labels import Label, Rail, along, rooms
from service.printing.drawing.lettering import CAPITALS, POINT
from service.printing.drawing.reading import Reading
from service.printing.drawing.scale import Scale, fitted
from service.printing.drawing.sheet import (
    HAIR,
    HEAVY,
    MEDIUM,
    THIN,
    Drawing,
    Outline,
    Stroke,
    Text,
)
from service.printing.language.phrases import told
from service.printing.language.spoken import _

OUT = 9 * POINT
"""The distance from the board's edge to the settings' texts."""
LETTERS = {"left": "L", "right": "R", "top": "T", "bottom": "B"}
SIDES = {"left": "above", "right": "below", "top": "left", "bottom": "right"}
"""The side of the drawing on which the settings from each edge stand."""


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

    def board(self) -> Size:
        """Return the blank's own size."""
        return self.bounds.grown(-2 * self.inset)

    def distances(self, side: str) -> list[Length]:
        """Return the settings from one edge, each once, in their order along the drawing."""
        found = sorted({s.distance for s in self.settings if s.side == side})
        return found if side in ("left", "top") else found[::-1]

    def lengths(self) -> list[Length]:
        """Return every length that is written."""
        sizes = [self.board(), self.bounds, *(window.size for window in self.windows)]
        centres = [one for one in map(curve, self.windows) if one]
        return [
            *(one.centre_x - self.inset for one in centres),
            *(one.centre_y - self.inset for one in centres),
            *(setting.distance for setting in self.settings),
            *(length for size in sizes for length in (size.width, size.height)),
        ]


def draw_back(view: BackView, ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the mat in a drawing of at most that width and height, in hundredths of a point."""
    reading = Reading.of(ruler, view.lengths())
    for wanted in ("all", "overall", "none"):
        compose = partial(_composed, view, reading, wanted)
        drawing = fitted(compose, view.bounds.width, view.bounds.height, (width, height))
        if drawing is not None:
            return drawing
    raise BadValue("a drawing of a mat needs more room", "/width")


def _composed(
    view: BackView, reading: Reading, wanted: str, scale: Scale, width: int, height: int
) -> Drawing | None:
    """Return the drawing; None if a setting has no room."""
    seen = _("{mat} from the back") if view.face_down else _("{mat} from the face")
    drawing = Drawing(seen.format(mat=told(view.name)), scale.ratio_text(), width, height)
    drawing.notes.append(reading.note())
    right, low = scale.x(view.bounds.width), scale.y(view.bounds.height)
    around = sides(scale.left, scale.top, right, low)
    _board(drawing, view, scale)
    _lines(drawing, view, scale, right, low)
    edges = LETTERS if wanted == "all" else ()
    rows = [_settings(drawing, view, side, around[SIDES[side]], scale, reading) for side in edges]
    if not all(rows):
        return None
    _windows(drawing, view, scale, reading)
    if wanted != "none":
        _overall(drawing, view, scale, reading)
    _notes(drawing, view, wanted == "all")
    return drawing


def _notes(drawing: Drawing, view: BackView, every: bool) -> None:
    if view.settings and every:
        drawing.notes.append(_("L, R, T, B: guide settings from the left, right, top, bottom edge"))
    if not every:
        drawing.notes.append(_("more sizes than can be drawn: see the windows"))
    if view.inset:
        drawing.notes.append(_("dashed: the top mat's edge, which the settings run from"))


def _board(drawing: Drawing, view: BackView, scale: Scale) -> None:
    if view.inset:
        wide, high = scale.long(view.bounds.width), scale.long(view.bounds.height)
        drawing.rectangle(scale.left, scale.top, wide, high, weight=THIN, line="dashed")
    left, top = scale.x(view.inset), scale.y(view.inset)
    right = scale.x(view.bounds.width - view.inset)
    low = scale.y(view.bounds.height - view.inset)
    drawing.rectangle(left, top, right - left, low - top, "pale", HEAVY)


def _lines(drawing: Drawing, view: BackView, scale: Scale, right: int, low: int) -> None:
    """Draw the lines to cut, extended as thin lines to the board's edges."""
    for setting in view.settings:
        place = _place(view, scale, setting)
        if setting.side in ("left", "right"):
            drawing.marks.append(Stroke(place, scale.top, place, low, HAIR, "dotted"))
        else:
            drawing.marks.append(Stroke(scale.left, place, right, place, HAIR, "dotted"))


def _place(view: BackView, scale: Scale, setting: Setting) -> int:
    if setting.side == "left":
        return scale.x(setting.distance)
    if setting.side == "right":
        return scale.x(view.bounds.width - setting.distance)
    if setting.side == "top":
        return scale.y(setting.distance)
    return scale.y(view.bounds.height - setting.distance)


def _settings(
    drawing: Drawing, view: BackView, side: str, at: Side, scale: Scale, reading: Reading
) -> bool:
    """Write the settings from one edge; return False if they have no room."""
    labels = [
        Label(_place(view, scale, Setting(side, d)), f"{_(LETTERS[side])} {reading.mark(d)}")
        for d in view.distances(side)
    ]
    if not labels:
        return True
    x, y = {
        "left": (scale.left, scale.y(view.inset) + 3 * DATUM),
        "right": (scale.x(view.bounds.width), scale.y(view.inset) + 3 * DATUM),
        "top": (scale.x(view.inset) + 3 * DATUM, scale.top),
        "bottom": (scale.x(view.inset) + 3 * DATUM, scale.y(view.bounds.height)),
    }[side]
    drawing.marks.append(datum(x, y, side))
    texts = [label.text for label in labels]
    between = at.high - at.low - 2 * CAPITALS
    upright = at.across and sum(rooms(texts, upright=False)) > between
    needed = sum(rooms(texts, upright=upright or not at.across))
    spared = CAPITALS - max(0, needed - between) // 2 - 1
    level = at.root + at.outwards * OUT
    rail = Rail(at.across, level, at.root, at.low + spared, at.high - spared, upright=upright)
    return along(drawing, labels, rail)


def _overall(drawing: Drawing, view: BackView, scale: Scale, reading: Reading) -> None:
    """Draw the centres of curved windows and the board's own size, outside of the settings."""
    size = view.board()
    ends = scale.x(view.inset), scale.x(view.bounds.width - view.inset)
    tops = scale.y(view.inset), scale.y(view.bounds.height - view.inset)
    around = sides(ends[0], tops[0], ends[1], tops[1])
    centres = [one for one in map(curve, view.windows) if one]
    for side, place, whole, found in (
        (around["below"], scale.x, size.width, {one.centre_x for one in centres}),
        (around["right"], scale.y, size.height, {one.centre_y for one in centres}),
    ):
        points = [view.inset, *sorted(found), view.inset + whole]
        if found:
            out = past(side.root, _reach(drawing, side))
            chain(drawing, side, list(map(place, points)), reading.parts(points), out)
        out = past(side.root, _reach(drawing, side))
        overall(drawing, side, [place(points[0]), place(points[-1])], whole, reading, out)


def _reach(drawing: Drawing, side: Side) -> int:
    taken = drawing.extent()
    return taken.bottom if side.across else taken.right


def _windows(drawing: Drawing, view: BackView, scale: Scale, reading: Reading) -> None:
    for number, window in enumerate(view.windows, start=1):
        left, top = scale.x(window.x), scale.y(window.y)
        wide, high = scale.x(window.right()) - left, scale.y(window.bottom()) - top
        drawing.marks.append(Outline(window.shape, left, top, wide, high, "white", MEDIUM))
        drawing.marks += centre_lines(window, scale)
        size, name = reading.by(window.size), str(number) if len(view.windows) > 1 else ""
        for label in (f"{name}: {size}" if name else size, name):
            text = Text(left + wide // 2, top + high // 2, label)
            if label and text.width() + CAPITALS <= wide and high >= 2 * CAPITALS:
                drawing.write_if_room(text)
                break
