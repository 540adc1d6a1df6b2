"""A drawing as SVG, in millimetres. Every text has the width that the drawing computed."""

from __future__ import annotations

from html import escape

from service.domain.measure.rounding import decimal_text
from service.printing.drawing.lettering import CAPITALS, POINT, TEXT, UNITS_PER_INCH
from service.printing.drawing.sheet import Dot, Drawing, Outline, Polygon, Stroke, Text

_TONES = {
    "none": "none",
    "white": "#fff",
    "pale": "#eee",
    "mid": "#ccc",
    "dark": "#777",
    "black": "#000",
}
_DASHES = {
    "solid": "",
    "dashed": ' stroke-dasharray="450 250"',
    "dotted": ' stroke-dasharray="80 160"',
    "chain": ' stroke-dasharray="1000 200 150 200"',
}
FONT = "DejaVu Sans Condensed, DejaVu Sans, Verdana, sans-serif"


def svg(drawing: Drawing, *, standalone: bool = True) -> str:
    """Return the drawing; `standalone` adds what a file needs and markup inside a page does not.

    Either has its size in millimetres, at which its scale holds and its lettering is 2.5 mm high.
    """
    wide, high = drawing.width, drawing.height
    name = ' xmlns="http://www.w3.org/2000/svg"' if standalone else ""
    scale = f", scale {drawing.scale}" if standalone else ""
    parts = [
        f'<svg{name} role="img" viewBox="0 0 {wide} {high}" width="{_millimetres(wide)}mm" '
        f'height="{_millimetres(high)}mm" stroke="#000" stroke-linejoin="round" '
        f'font-family="{FONT}">',
        f"<title>{escape(drawing.title)}{scale}</title>",
    ]
    if drawing.notes:
        parts.append(f"<desc>{escape('; '.join(drawing.notes))}</desc>")
    # Texts come last, on white, so that no line runs through a number.
    parts.extend(_mark(mark) for mark in sorted(drawing.marks, key=lambda m: isinstance(m, Text)))
    parts.append("</svg>")
    return "".join(parts)


def _millimetres(units: int) -> str:
    return decimal_text(254 * units, 10 * UNITS_PER_INCH, 2)


def _mark(mark: Stroke | Polygon | Outline | Dot | Text) -> str:
    if isinstance(mark, Stroke):
        return (
            f'<path d="M{mark.x1} {mark.y1}L{mark.x2} {mark.y2}" stroke-width="{mark.weight}"'
            f"{_DASHES[mark.line]}/>"
        )
    if isinstance(mark, Polygon):
        points = "L".join(f"{x} {y}" for x, y in mark.points)
        return _path(f"M{points}Z", mark)
    if isinstance(mark, Outline):
        return _outline(mark)
    if isinstance(mark, Dot):
        return f'<circle cx="{mark.x}" cy="{mark.y}" r="{mark.radius}" stroke="none"/>'
    return _text(mark)


def _path(path: str, mark: Polygon | Outline) -> str:
    return (
        f'<path d="{path}" fill="{_TONES[mark.tone]}" stroke-width="{mark.weight}"'
        f"{_DASHES[mark.line]}/>"
    )


def _outline(mark: Outline) -> str:
    left, top, wide, high = mark.x, mark.y, mark.width, mark.height
    if mark.shape == "rectangle":
        return _path(f"M{left} {top}h{wide}v{high}h{-wide}Z", mark)
    if mark.shape == "ellipse":
        return (
            f'<ellipse cx="{left + wide // 2}" cy="{top + high // 2}" rx="{wide // 2}" '
            f'ry="{high // 2}" fill="{_TONES[mark.tone]}" stroke-width="{mark.weight}"/>'
        )
    radius = wide // 2
    return _path(
        f"M{left} {top + high}V{top + radius}A{radius} {radius} 0 0 1 {left + wide} "
        f"{top + radius}V{top + high}Z",
        mark,
    )


def _text(text: Text) -> str:
    turned = f' transform="rotate(-90 {text.x} {text.y})"' if text.upright else ""
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    box = text.box().grown(POINT)
    return (
        f'<path d="M{box.left} {box.top}H{box.right}V{box.bottom}H{box.left}Z" fill="#fff" '
        'stroke="none"/>'
        f'<text x="{text.x}" y="{text.y + CAPITALS // 2}" font-size="{TEXT}" stroke="none"{anchor}'
        f' textLength="{text.width()}" lengthAdjust="spacingAndGlyphs"{turned}>'
        f"{escape(text.text)}</text>"
    )
