"""Labels of offcuts and pieces: on a roll or on a sheet, each with a code, an item and a size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from service.printing.cutting.drawing import size_of
from service.printing.drawing.lettering import text_width
from service.printing.parts import barcode
from service.printing.parts.press import Sheet, press
from service.printing.parts.svg import FONT
from service.printing.parts.words import Document, clean

STOCKS = ("62x29", "50x25", "a4", "letter")
"""Rolls of labels of so many millimetres, and sheets: 3 by 8 of 70 x 37 mm on A4, 3 by 10 of
2 5/8 x 1 in on US Letter. Common practice, no source."""
WIDE, HIGH = 6_200, 2_900
"""The drawn label's size in hundredths of a millimetre."""
CODE = 2_300
LEFT = CODE + 350
LARGE, SMALL = 520, 330


@dataclass(frozen=True, slots=True)
class Label:
    """One label: what it is called, the code of that, and lines below it."""

    name: str
    code: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelPaper(Sheet):
    """Labels in order, for one of `STOCKS`."""

    stock: str
    labels: tuple[Label, ...]


def labels_pdf(offcuts: Sequence[Document], unit: str, stock: str = "62x29") -> bytes:
    """Return the rack labels of offcuts as PDF for a label stock."""
    return _printed("Rack labels", map(_of_offcut, offcuts, [unit] * len(offcuts)), unit, stock)


def piece_labels_pdf(plan: Document, stock: str = "62x29") -> bytes:
    """Return a label for each piece of a plan, in the order of its sheets and sticks."""
    unit = plan["ruler"]["unit"]
    return _printed(f"Labels of plan {plan.get('number') or ''}", _of_plan(plan), unit, stock)


def _printed(title: str, labels: Iterable[Label], unit: str, stock: str) -> bytes:
    made = tuple(labels)
    told = f"{title.strip()}: {', '.join(label.name for label in made[:20])}"
    return press(
        "labels", LabelPaper(title=told, foot="", shop="", unit=unit, stock=stock, labels=made)
    )


def _of_offcut(offcut: Document, unit: str) -> Label:
    name, *lines = label_lines(offcut, unit)
    return Label(name, barcode.svg(name), tuple(lines))


def label_lines(offcut: Document, unit: str) -> tuple[str, ...]:
    """Return the lines of an offcut's label, its own label first."""
    lines = (clean(offcut["label"], 20), clean(offcut["item"], 40), f"{size_of(offcut)} {unit}")
    return (*lines, clean(offcut["place"], 40)) if offcut["place"] else lines


def _of_plan(plan: Document) -> Iterator[Label]:
    names = {piece["piece"]: clean(piece["name"] or "", 40) for piece in plan["pieces"]}
    for item in plan["items"]:
        for use in item["uses"]:
            for piece in use["placements"]:
                name = clean(piece["piece"], 40)
                told = (names.get(piece["piece"], ""), clean(item["item"], 40))
                lines = (*told, f"{size_of(piece)} {plan['ruler']['unit']}, #{piece['copy']}")
                yield Label(name, barcode.svg(name), tuple(line for line in lines if line))


def label_svg(offcut: Document, unit: str) -> str:
    """Return an offcut's label as an SVG file, 62 x 29 mm."""
    rows = barcode.modules(clean(offcut["label"], 20))
    each = CODE // (len(rows) + 2 * barcode.QUIET)
    squares = "".join(
        f"M{300 + (x + barcode.QUIET) * each} {300 + (y + barcode.QUIET) * each}"
        f"h{each}v{each}h-{each}z"
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
    for at, text in enumerate(label_lines(offcut, unit)):
        size = SMALL if at else LARGE
        down += size + 180
        room = min(text_width(text, size), WIDE - LEFT - 150)
        parts.append(
            f'<text x="{LEFT}" y="{300 + down}" font-size="{size}" textLength="{room}" '
            f'lengthAdjust="spacingAndGlyphs">{escape(text)}</text>'
        )
    return "".join([*parts, "</svg>"])
