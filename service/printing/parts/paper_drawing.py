"""Drawings and QR codes on a PDF page."""

from __future__ import annotations

from reportlab.lib.colors import black, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.platypus import Flowable

from service.printing.drawing.lettering import CAPITALS, TEXT
from service.printing.drawing.sheet import Dot, Drawing, Outline, Polygon, Stroke, Text
from service.printing.parts.barcode import QUIET, modules
from service.printing.parts.paper import REGULAR, SMALL, marked

_GREYS = {"white": 1.0, "pale": 0.93, "mid": 0.8, "dark": 0.47, "black": 0.0}
_DASHES: dict[str, tuple[float, ...]] = {
    "solid": (),
    "dashed": (4.5, 2.5),
    "chain": (10, 2, 1.5, 2),
    "dotted": (0.8, 1.6),
}


class Picture(Flowable):
    """A drawing on the page, with its title and notes below."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self.drawing = drawing
        self.width, self.height = drawing.width / 100, drawing.height / 100
        self.below = 0.0
        self.under = marked(
            [
                ("bold", f"{drawing.title}, scale {drawing.scale}"),
                ("small", "; ".join(drawing.notes)),
            ],
            SMALL,
        )

    def wrap(self, *_: float) -> tuple[float, float]:
        """Return its width and height."""
        self.below = self.under.wrap(self.width, 200)[1]
        return self.width, self.height + self.below

    def draw(self) -> None:
        """Draw it on the page's canvas."""
        canvas: Canvas = self.canv
        self.under.drawOn(canvas, 0, 0)
        canvas.translate(0, self.below)
        for mark in self.drawing.marks:
            _draw(canvas, mark, self.height)


def _draw(canvas: Canvas, mark: Stroke | Polygon | Outline | Dot | Text, high: float) -> None:
    if isinstance(mark, Text):
        _write(canvas, mark, high)
        return
    canvas.setStrokeColor(black)
    if isinstance(mark, Dot):
        canvas.setFillGray(0)
        canvas.circle(mark.x / 100, high - mark.y / 100, mark.radius / 100, stroke=0, fill=1)
        return
    canvas.setLineWidth(mark.weight / 100)
    canvas.setDash(_DASHES[mark.line])
    path = canvas.beginPath()
    if isinstance(mark, Stroke):
        canvas.line(mark.x1 / 100, high - mark.y1 / 100, mark.x2 / 100, high - mark.y2 / 100)
        return
    if isinstance(mark, Polygon):
        points = [(x / 100, high - y / 100) for x, y in mark.points]
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        path.close()
    else:
        _outline(path, mark, high)
    if mark.tone != "none":
        canvas.setFillGray(_GREYS[mark.tone])
    canvas.drawPath(path, stroke=1, fill=int(mark.tone != "none"))


def _outline(path: PDFPathObject, mark: Outline, high: float) -> None:
    x, y = mark.x / 100, high - (mark.y + mark.height) / 100
    wide, tall = mark.width / 100, mark.height / 100
    if mark.shape == "rectangle":
        path.rect(x, y, wide, tall)
    elif mark.shape == "ellipse":
        path.ellipse(x, y, wide, tall)
    else:
        top = y + tall
        path.moveTo(x, y)
        path.lineTo(x, top - wide / 2)
        path.arcTo(x, top - wide, x + wide, top, 180, -180)
        path.lineTo(x + wide, y)
        path.close()


def _write(canvas: Canvas, text: Text, high: float) -> None:
    size = TEXT / 100
    canvas.setFont(REGULAR, size)
    canvas.setFillGray(0)
    long = canvas.stringWidth(text.text, REGULAR, size)
    before = {"start": 0.0, "middle": long / 2, "end": long}[text.anchor]
    drop = CAPITALS / 200
    x, y = text.x / 100, high - text.y / 100
    if text.upright:
        canvas.saveState()
        canvas.translate(x + drop, y - before)
        canvas.rotate(90)
        canvas.drawString(0, 0, text.text)
        canvas.restoreState()
    else:
        canvas.drawString(x - before, y - drop, text.text)


class Code(Flowable):
    """The QR code of a number."""

    def __init__(self, number: str, size: float) -> None:
        super().__init__()
        self.number, self.width, self.height = number, size, size

    def draw(self) -> None:
        """Draw it on the page's canvas."""
        canvas: Canvas = self.canv
        rows = modules(self.number)
        each = self.width / (len(rows) + 2 * QUIET)
        canvas.setFillColor(white)
        canvas.rect(0, 0, self.width, self.height, stroke=0, fill=1)
        canvas.setFillColor(black)
        path = canvas.beginPath()
        for y, row in enumerate(rows):
            for x, dark in enumerate(row):
                if dark:
                    top = self.height - (y + QUIET + 1) * each
                    path.rect((x + QUIET) * each, top, each, each)
        canvas.drawPath(path, stroke=0, fill=1)
