"""A cutting plan, and the label of an offcut, on paper."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, LongTable, Spacer, Table

from service.printing.cutting.rows import ItemRows, PlanRows, UseRows, plan_rows
from service.printing.parts.paper import (
    BODY,
    CODE,
    GRID,
    LARGE,
    PLAIN,
    STRONG,
    TITLE,
    headed,
    inner_width,
    paragraph,
    pdf,
    ready,
)
from service.printing.parts.paper_drawing import Code, Picture
from service.printing.parts.words import Document

NUMBER = 6 * mm


def plan_pdf(plan: Document, shop: str, paper: str = "letter") -> bytes:
    """Return the plan as PDF on "letter" or "a4"."""
    ready()
    wide = inner_width(paper)
    rows = plan_rows(plan, shop)
    story: list[Flowable] = [_head(rows, wide), Spacer(0, 4)]
    story += [paragraph(caution, STRONG, wide) for caution in rows.cautions]
    for title, lines in (("To buy", rows.buy), ("To take", rows.take)):
        if lines:
            story += headed(title)
            story += [paragraph(line, BODY, wide) for line in lines]
    for item in rows.items:
        story += _item(item, wide)
    if rows.unplaced:
        story += headed("Not in this plan")
        story += [paragraph(line, BODY, wide) for line in rows.unplaced]
    return pdf(story, paper, rows.title, f"{rows.shop}  {rows.title}")


def _head(rows: PlanRows, wide: float) -> Table:
    left = wide - CODE - 4
    lines: list[Flowable] = [
        paragraph(rows.title, TITLE, left),
        paragraph(rows.shop, STRONG, left),
        *(paragraph(f"{name} {value}", LARGE, left) for name, value in rows.facts),
    ]
    code: Flowable = Code(rows.number, CODE) if rows.number else Spacer(CODE, 1)
    return Table([[lines, code]], colWidths=[left, CODE + 4], style=PLAIN)


def _item(item: ItemRows, wide: float) -> list[Flowable]:
    first = [Picture(use.drawing).height for use in item.uses[:1]]
    story: list[Flowable] = [
        CondPageBreak(sum(first) + 120),
        *headed(item.title),
        paragraph(item.figures, BODY, wide),
    ]
    story += [paragraph(line, BODY, wide) for line in item.stock]
    for use in item.uses:
        story += _use(use, wide)
    return story


def _use(use: UseRows, wide: float) -> list[Flowable]:
    picture = Picture(use.drawing)
    rows = [
        [paragraph(str(at), BODY, NUMBER), paragraph(step, BODY, wide - NUMBER)]
        for at, step in enumerate(use.steps, start=1)
    ]
    rows += [
        [paragraph("", BODY, NUMBER), paragraph(f"Keep {each}", STRONG, wide - NUMBER)]
        for each in use.keep
    ]
    story: list[Flowable] = [CondPageBreak(picture.height + 50), Spacer(0, 6), picture]
    if use.count > 1:
        story.append(paragraph(use.title, STRONG, wide))
    if rows:
        story.append(LongTable(rows, colWidths=[NUMBER, wide - NUMBER], style=GRID))
    return story
