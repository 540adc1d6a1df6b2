"""The label of an offcut on the rack: 62 by 29 mm, with its code, item and size."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from service.printing.cutting.drawing import size_of
from service.printing.drawing.lettering import text_width
from service.printing.parts.barcode import QUIET, modules
from service.printing.parts.paper import BOLD, REGULAR, one_line, ready
from service.printing.parts.svg import FONT
from service.printing.parts.words import Document, clean

WIDE, HIGH = 6_200, 2_900
"""The label's size in hundredths of a millimetre."""
CODE = 2_300
LEFT = CODE + 350
LARGE, SMALL = 520, 330


def label_lines(offcut: Document, unit: str) -> tuple[tuple[str, int], ...]:
    """Return a label's lines, each with its height in hundredths of a millimetre."""
    lines = [
        (clean(offcut["label"], 20), LARGE),
        (clean(offcut["item"], 40), SMALL),
        (f"{size_of(offcut)} {unit}", SMALL),
    ]
    if offcut["place"]:
        lines.append((clean(offcut["place"], 40), SMALL))
    return tuple(lines)


def label_svg(offcut: Document, unit: str) -> str:
    """Return the label as an SVG file, at its own size."""
    rows = modules(clean(offcut["label"], 20))
    each = CODE // (len(rows) + 2 * QUIET)
    squares = "".join(
        f"M{300 + (x + QUIET) * each} {300 + (y + QUIET) * each}h{each}v{each}h-{each}z"
        for y, row in enumerate(rows)
        for x, dark in enumerate(row)
        if dark
    )
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {WIDE} {HIGH}" '
        f'width="{WIDE // 100}mm" height="{HIGH // 100}mm" font-family="{FONT}">',
        f"<title>Rack label {escape(clean(offcut['label'], 20))}</title>",
        f'<path fill="#fff" d="M0 0h{WIDE}v{HIGH}h-{WIDE}z"/><path d="{squares}"/>',
    ]
    down = 0
    for text, size in label_lines(offcut, unit):
        down += size + 180
        room = min(text_width(text, size), WIDE - LEFT - 150)
        parts.append(
            f'<text x="{LEFT}" y="{300 + down}" font-size="{size}" textLength="{room}" '
            f'lengthAdjust="spacingAndGlyphs">{escape(text)}</text>'
        )
    return "".join([*parts, "</svg>"])


def labels_pdf(offcuts: Sequence[Document], unit: str) -> bytes:
    """Return labels as PDF, each on a page of its own size."""
    ready()
    out = BytesIO()
    canvas = Canvas(out, pagesize=(WIDE / 100 * mm, HIGH / 100 * mm), invariant=1)
    canvas.setTitle(f"Rack label {', '.join(clean(o['label'], 20) for o in offcuts[:20])}")
    for offcut in offcuts:
        _draw(canvas, offcut, unit)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, offcut: Document, unit: str) -> None:
    wide, high = WIDE / 100 * mm, HIGH / 100 * mm
    rows = modules(clean(offcut["label"], 20))
    each = CODE / 100 * mm / (len(rows) + 2 * QUIET)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                left = 3 * mm + (x + QUIET) * each
                canvas.rect(left, high - 3 * mm - (y + QUIET + 1) * each, each, each, 0, 1)
    down = 3 * mm
    for text, size in label_lines(offcut, unit):
        height = size / 100 * mm
        down += height + 1.8 * mm
        font = BOLD if size == LARGE else REGULAR
        room, shown = wide - (LEFT + 150) / 100 * mm, one_line(text)
        actual = canvas.stringWidth(shown, font, height)
        canvas.setFont(font, height * min(1, room / max(actual, 1)))
        canvas.drawString(LEFT / 100 * mm, high - down, shown)
