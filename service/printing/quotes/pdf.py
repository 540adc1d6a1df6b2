"""A customer's quote on paper, US Letter or A4, without costs."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table

from service.domain.measure.ruler import Ruler
from service.printing.parts.paper import (
    BODY,
    CODE,
    GRID,
    LARGE,
    LARGE_STRONG,
    PLAIN,
    RIGHT,
    RIGHT_STRONG,
    STRONG,
    TITLE,
    headed,
    inner_width,
    marked,
    paragraph,
    pdf,
    ready,
)
from service.printing.parts.paper_drawing import Code, Picture
from service.printing.parts.words import Document
from service.printing.quotes.rows import JobRows, QuoteRows, quote_sheet


def quote_pdf(quote: Document, shop: str, shop_ruler: Ruler, paper: str = "letter") -> bytes:
    """Return the quote as PDF on "letter" or "a4"."""
    ready()
    wide = inner_width(paper)
    sheet = quote_sheet(quote, shop, shop_ruler)
    story: list[Flowable] = [_head(sheet, wide)]
    for job in sheet.jobs:
        story += _job(job, wide)
    story += [*headed("Total"), _sums(sheet.sums, wide)]
    story += [Spacer(0, 6), *(paragraph(note, BODY, wide) for note in sheet.notes)]
    return pdf(story, paper, f"Quote {sheet.number}", f"{sheet.shop}  Quote {sheet.number}")


def _head(sheet: QuoteRows, wide: float) -> Table:
    left = wide - CODE - 4
    lines: list[Flowable] = [
        paragraph(f"Quote {sheet.number}", TITLE, left),
        paragraph(sheet.shop, STRONG, left),
        *(paragraph(f"{name} {value}", LARGE, left) for name, value in sheet.facts),
    ]
    return Table([[lines, Code(sheet.number, CODE)]], colWidths=[left, CODE + 4], style=PLAIN)


def _job(job: JobRows, wide: float) -> list[Flowable]:
    picture = Picture(job.front)
    left = picture.width + 8
    facts = marked(
        [part for name, value in job.facts for part in (("small", name), ("bold", value))]
    )
    lines = [
        [paragraph(line.text, LARGE, wide - 90), paragraph(line.amount, RIGHT)]
        for line in job.lines
    ]
    for name, amount in job.sums:
        lines.append([paragraph(name, LARGE_STRONG), paragraph(amount, RIGHT_STRONG)])
    return [
        CondPageBreak(picture.height + 60),
        *headed(job.title),
        Table([[picture, facts]], colWidths=[left, wide - left], style=PLAIN, spaceAfter=4),
        Table(lines, colWidths=[wide - 90, 90], style=GRID),
    ]


def _sums(sums: tuple[tuple[str, str], ...], wide: float) -> Table:
    last = len(sums) - 1
    rows = [
        [
            paragraph(name, LARGE_STRONG if at == last else LARGE, wide - 110),
            paragraph(amount, RIGHT_STRONG if at == last else RIGHT),
        ]
        for at, (name, amount) in enumerate(sums)
    ]
    return Table(rows, colWidths=[wide - 110, 110], style=GRID)
