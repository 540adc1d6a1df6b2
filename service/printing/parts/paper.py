"""PDF pages: paper sizes, the embedded font, texts that cannot break a page.

The font is DejaVu Sans Condensed, which has Latin, Greek, Cyrillic, Hebrew and Arabic letters; a
missing character is printed as an empty box. Right-to-left text is shaped and reordered line by
line, since PDF only has visual order.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache, partial
from html import escape
from io import BytesIO
from pathlib import Path
from threading import Lock
from typing import Any

import arabic_reshaper  # type: ignore[import-untyped]
from bidi import get_display  # type: ignore[import-untyped]
from reportlab.lib.colors import Color, black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    PageTemplate,
    Paragraph,
    TableStyle,
)

PAPERS = {"letter": LETTER, "a4": A4}
MARGIN = 34
REGULAR, BOLD = "Sheet", "Sheet-Bold"
_FONTS = Path(__file__).parent / "fonts"
_LOCK = Lock()
MISSING = "\u25a1"


def _style(name: str, size: float, font: str = REGULAR, *, right: bool = False) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=font, fontSize=size, leading=size * 1.22, alignment=2 if right else 0
    )


BODY = _style("body", 7.5)
STRONG = _style("strong", 7.5, BOLD)
SMALL = _style("small", 6.6)
HEADING = _style("heading", 9, BOLD)
HEADING.spaceBefore, HEADING.spaceAfter = 5, 2
TITLE = _style("title", 14, BOLD)
RIGHT = _style("right", 8.5, right=True)
RIGHT_STRONG = _style("right-strong", 8.5, BOLD, right=True)
LARGE = _style("large", 8.5)
LARGE_STRONG = _style("large-strong", 8.5, BOLD)


@lru_cache(maxsize=1)
def ready() -> frozenset[int]:
    """Load the fonts once per process, and return the characters they have."""
    with _LOCK:
        for name, file in (
            (REGULAR, "DejaVuSansCondensed.ttf"),
            (BOLD, "DejaVuSansCondensed-Bold.ttf"),
        ):
            pdfmetrics.registerFont(TTFont(name, str(_FONTS / file)))
        pdfmetrics.registerFontFamily(REGULAR, REGULAR, BOLD, REGULAR, BOLD)
    font: Any = pdfmetrics.getFont(REGULAR)
    return frozenset(font.face.charToGlyph)


def printable(text: str) -> str:
    """Return the text with an empty box for every character that the font lacks."""
    known = ready()
    return "".join(c if ord(c) in known or c == " " else MISSING for c in text)


def runs_left(text: str) -> bool:
    """Return True if any of it is right-to-left."""
    return any(unicodedata.bidirectional(c) in ("R", "AL") for c in text)


def seen(text: str, font: str, size: float, width: float) -> list[str]:
    """Return the lines of a right-to-left text in visual order."""
    joined = printable(arabic_reshaper.reshape(text))
    lines, line = [], ""
    for word in joined.split(" "):
        longer = f"{line} {word}".strip()
        if line and pdfmetrics.stringWidth(longer, font, size) > width:
            lines.append(line)
            longer = word
        line = longer
    return [str(get_display(part)) for part in (*lines, line)]


def paragraph(text: str, style: ParagraphStyle = BODY, width: float = 200) -> Paragraph:
    """Return a paragraph of plain text without markup. `width` breaks right-to-left text."""
    if text.isascii():
        return Paragraph(escape(text), style)
    if not runs_left(text):
        return Paragraph(escape(printable(text)), style)
    lines = seen(text, style.fontName, style.fontSize, width - 4)
    return Paragraph("<br/>".join(escape(line) for line in lines), style)


def marked(parts: Iterable[tuple[str, str]], style: ParagraphStyle = BODY) -> Paragraph:
    """Return a paragraph of lines in "regular", "bold" or "small"; texts are the service's own."""
    shapes = {"regular": "{}", "bold": "<b>{}</b>", "small": '<font size="6.6">{}</font>'}
    lines = [shapes[kind].format(escape(printable(text))) for kind, text in parts]
    return Paragraph("<br/>".join(lines), style)


def headed(heading: str) -> tuple[Flowable, Flowable]:
    """Return a heading that is not left alone at the foot of a page."""
    return CondPageBreak(54), paragraph(heading, HEADING, 500)


class NumberedCanvas(Canvas):
    """Pages with a page count: each is kept until the last one is made."""

    def __init__(self, *args: Any, foot: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._foot = foot
        self._kept: list[dict[str, object]] = []

    def showPage(self) -> None:  # noqa: N802 — the library's own name
        """Keep the page for later."""
        self._kept.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined] # missing from the stubs

    def save(self) -> None:
        """Write all pages, each with its number and the page count."""
        for at, page in enumerate(self._kept, start=1):
            self.__dict__.update(page)
            self.setFont(REGULAR, 6.6)
            self.drawString(MARGIN, 20, self._foot)
            wide: float = self._pagesize[0]  # type: ignore[attr-defined]
            self.drawRightString(wide - MARGIN, 20, f"page {at} of {len(self._kept)}")
            super().showPage()
        super().save()


def pdf(story: Sequence[Flowable], paper: str, title: str, foot: str) -> bytes:
    """Return a PDF of the story on "letter" or "a4"; the same story gives the same bytes."""
    ready()
    out = BytesIO()
    size = PAPERS[paper]
    document = BaseDocTemplate(
        out, pagesize=size, title=printable(title), invariant=1, author="", subject="",
    )  # fmt: skip
    frame = Frame(MARGIN, MARGIN, size[0] - 2 * MARGIN, size[1] - 2 * MARGIN, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate("all", [frame]))
    made: Callable[..., Canvas] = partial(NumberedCanvas, foot=one_line(foot))
    document.build(list(story), canvasmaker=made)
    return out.getvalue()


def one_line(text: str) -> str:
    """Return a short text for one line, in visual order."""
    if runs_left(text):
        return str(get_display(printable(arabic_reshaper.reshape(text))))
    return printable(text)


def inner_width(paper: str) -> float:
    """Return the width of the page between its margins."""
    return float(PAPERS[paper][0]) - 2 * MARGIN


LINE = Color(0.6, 0.6, 0.6)
GRID = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.3, LINE),
        ("LINEBELOW", (0, 0), (-1, 0), 0.7, black),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2),
        ("TOPPADDING", (0, 0), (-1, -1), 1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
    ]
)
PLAIN = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ]
)
CODE = 62.0
