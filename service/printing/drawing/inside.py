"""What is seen inside the mats' windows: outlines, centre lines, sizes, the art's own edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.jobs.mat import Window
from service.domain.jobs.places import curve
from service.domain.measure.length import Length
from service.printing.drawing.lettering import APART, CAPITALS, POINT
from service.printing.drawing.reading import Reading, runs
from service.printing.drawing.scale import Scale
from service.printing.drawing.sheet import (
    MEDIUM,
    THIN,
    WIDE,
    Dot,
    Drawing,
    Outline,
    Stroke,
    Text,
    Tone,
)
from service.printing.language.spoken import _

Layers = Sequence[Sequence[Window]]
PAST = 700
"""Centre lines run 2.5 mm past the outline that they halve."""
LINE = CAPITALS + APART
"""From one line of text to the next."""
ARC = 7071
"""The sine of 45°, in ten-thousandths: where a radius meets its arch."""


def lengths_inside(layers: Layers) -> Iterator[Length]:
    """Yield every length that is written inside windows."""
    for window in (window for layer in layers for window in layer):
        yield from (window.size.width, window.size.height)
        if window.shape == "arch":
            yield window.size.width.halves()[0]


def outlines(drawing: Drawing, layers: Layers, art: Sequence[Window], scale: Scale) -> None:
    """Draw the windows of each mat, the top one first, then the art's edges and centre lines."""
    for at, layer in enumerate(layers):
        tone: Tone = "pale" if at == 0 and len(layers) > 1 else "white"
        for window in layer:
            drawing.marks.append(_outline(window, scale, tone, MEDIUM if at else WIDE))
    drawing.marks += [_outline(each, scale, "white", MEDIUM) for each in art]
    for window in layers[0] if layers else ():
        drawing.marks += centre_lines(window, scale)


def _outline(window: Window, scale: Scale, tone: Tone, weight: int) -> Outline:
    left, top = scale.x(window.x), scale.y(window.y)
    wide, high = scale.x(window.right()) - left, scale.y(window.bottom()) - top
    return Outline(window.shape, left, top, wide, high, tone, weight)


def centre_lines(window: Window, scale: Scale) -> Iterator[Stroke]:
    """Yield both axes of an ellipse; of an arch the upright axis and the spring line."""
    shaped = curve(window)
    if shaped is None:
        return
    x, y = scale.x(shaped.centre_x), scale.y(shaped.centre_y)
    left, right = scale.x(window.x) - PAST, scale.x(window.right()) + PAST
    yield Stroke(left, y, right, y, THIN, "chain")
    yield Stroke(x, scale.y(window.y) - PAST, x, scale.y(window.bottom()) + PAST, THIN, "chain")


def sizes_inside(
    drawing: Drawing, layers: Layers, art: Sequence[Window], scale: Scale, reading: Reading
) -> None:
    """Write what each window measures into it, or below the drawing where there is no room."""
    windows = layers[-1] if layers else art
    unwritten: dict[str, list[int]] = {}
    for number, window in enumerate(windows, start=1):
        told = list(_told(number, layers, art, reading))
        name = [str(number)] if len(windows) > 1 else []
        split = [part for line in told for part in line.split(": ")]
        tries = [[*name, *told], [*name, *split]] if told else []
        if not any(_written(drawing, window, scale, lines) for lines in tries):
            _written(drawing, window, scale, name)
            unwritten.setdefault(", ".join(told), []).append(number)
        if window.shape == "arch" and (radius := _radius(drawing, window, scale, reading)):
            unwritten.setdefault(_("arch {radius}", radius=radius), []).append(number)
    for text, numbers in unwritten.items():
        word = _("window") if len(numbers) == 1 else _("windows")
        which = f"{word} {runs(numbers)}: " if len(windows) > 1 else ""
        drawing.notes += [which + text] if text else []


def _told(number: int, layers: Layers, art: Sequence[Window], reading: Reading) -> Iterator[str]:
    """Yield the sizes that no dimension line tells of a window: of all its mats, if many."""
    sizes = [windows[number - 1].size for windows in layers]
    for layer, size in enumerate(sizes, start=1):
        if layer > 1 or len(layers[0]) > 1:
            shown = reading.by(size)
            yield _("mat {n}: {size}", n=layer, size=shown) if len(sizes) > 1 else shown
    if art:
        yield _("art: {size}", size=reading.by(art[number - 1].size))


def _written(drawing: Drawing, window: Window, scale: Scale, lines: Sequence[str]) -> bool:
    """Write lines into the middle of a window, or of a curved one's lower half."""
    left, right = scale.x(window.x), scale.x(window.right())
    top, low = scale.y(window.y), scale.y(window.bottom())
    shaped = curve(window)
    if shaped:
        top, spared = scale.y(shaped.centre_y), (right - left) // 10
        left, right = left + spared, right - spared
    x, y = (left + right) // 2, (top + low) // 2 - (len(lines) - 1) * LINE // 2
    texts = [Text(x, y + at * LINE, line) for at, line in enumerate(lines)]
    long = max((text.width() for text in texts), default=0)
    if not texts or long + 2 * POINT > right - left or len(texts) * LINE > low - top:
        return False
    written = [drawing.write_if_room(text) for text in texts]
    return all(written)


def _radius(drawing: Drawing, window: Window, scale: Scale, reading: Reading) -> str:
    """Draw an arch's radius from its centre to the arc; return its length if it has no room."""
    x = (scale.x(window.x) + scale.x(window.right())) // 2
    long = x - scale.x(window.x)
    y, away = scale.y(window.y) + long, long * ARC // 10_000
    told = f"R {reading.mark(window.size.width.halves()[0])}"
    drawing.marks += [Stroke(x, y, x + away, y - away, THIN), Dot(x + away, y - away)]
    text = Text(x + away // 2, y - away // 2, told)
    has_room = text.width() + 2 * POINT <= away and drawing.write_if_room(text)
    return "" if has_room else told
