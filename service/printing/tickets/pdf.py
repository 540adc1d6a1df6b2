"""A ticket on paper: US Letter or A4, a common job on two pages at most."""

from __future__ import annotations

from textwrap import wrap

from reportlab.platypus import Flowable, LongTable, Spacer, Table, TableStyle

from service.printing.drawing.sheet import Drawing
from service.printing.parts.paper import (
    BODY,
    CODE,
    GRID,
    PLAIN,
    SMALL,
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
from service.printing.parts.views import ticket_backs, ticket_front, ticket_section
from service.printing.parts.words import Document, clean
from service.printing.tickets.rows import (
    PieceRow,
    StepRow,
    TicketHead,
    advisory_rows,
    facts,
    hardware_rows,
    piece_rows,
    step_rows,
    supply_rows,
    title,
    which,
    window_rows,
)

SPACED = TableStyle([*PLAIN.getCommands(), ("RIGHTPADDING", (0, 0), (-1, -1), 6)])
FEW_WINDOWS = 12
"""The maximum number of windows listed; more, or a single one, are only in steps and drawings."""


def ticket_pdf(ticket: Document, head: TicketHead, paper: str = "letter") -> bytes:
    """Return the ticket as PDF on "letter" or "a4"."""
    ready()
    wide = inner_width(paper)
    story: list[Flowable] = [_head(ticket, head, wide), Spacer(0, 4)]
    story += _pictures(ticket, wide)
    story += [*headed("Pieces"), _pieces(ticket, wide)]
    story += _windows(ticket, wide)
    story += [*headed("Steps"), _steps(ticket, wide)]
    story.append(Spacer(0, 3))
    for name, lines in (
        ("Hardware", hardware_rows(ticket)),
        ("Supplies", supply_rows(ticket)),
        ("Mind", advisory_rows(ticket)),
    ):
        story += [paragraph(f"{name}: {line}", BODY, wide) for line in lines]
    name = f"{which(head)}: {title(ticket, head)}"
    return pdf(story, paper, f"Cut ticket, {name}", f"{clean(head.shop)}  Cut ticket  {name[:90]}")


def _head(ticket: Document, head: TicketHead, wide: float) -> Table:
    left = wide - CODE - 4
    lines: list[Flowable] = [
        paragraph(title(ticket, head), TITLE, left),
        paragraph(f"Cut ticket {which(head)}. {clean(head.shop)}", STRONG, left),
    ]
    more = [f"Reference {clean(head.reference)}"] if head.reference else []
    more += [f"Made {clean(head.made_on, 40)}"] if head.made_on else []
    if more:
        lines.append(paragraph(". ".join(more), BODY, left))
    cells: list[Flowable | str] = [
        marked([("small", name), ("bold", value)]) for name, value in facts(ticket)
    ]
    per_row = 5
    rows = [cells[at : at + per_row] for at in range(0, len(cells), per_row)]
    rows[-1] += [""] * (per_row - len(rows[-1]))
    lines.append(Table(rows, colWidths=[left / per_row] * per_row, style=SPACED, spaceBefore=3))
    return Table(
        [[lines, Code(clean(head.number, 40), CODE)]], colWidths=[left, CODE + 4], style=PLAIN
    )


def _pictures(ticket: Document, wide: float) -> list[Flowable]:
    """Return the front beside the section, then the mats from the back, two in a row."""
    half = int(wide / 2) - 4
    front = ticket_front(ticket, half, 120)
    section = ticket_section(ticket, half, 112)
    drawings = [front, *([section] if section else [])]
    backs = ticket_backs(ticket, half, 106)
    return [_row(pair, wide) for pair in (*_pairs(drawings), *_pairs(backs))]


def _pairs(drawings: list[Drawing]) -> list[list[Drawing]]:
    return [drawings[at : at + 2] for at in range(0, len(drawings), 2)]


def _row(drawings: list[Drawing], wide: float) -> Table:
    cells: list[Flowable | str] = [Picture(drawing) for drawing in drawings]
    cells += [""] * (2 - len(cells))
    return Table([cells], colWidths=[wide / 2] * 2, style=PLAIN, spaceAfter=4)


def _pieces(ticket: Document, wide: float) -> Table:
    widths = [16, 92, 122, 24, wide - 254]
    names = ("", "Piece", "Item", "No.", "Size and notes")
    rows: list[list[object]] = [[paragraph(text, STRONG) for text in names]]
    rows += [_piece(row, widths) for row in piece_rows(ticket)]
    return LongTable(rows, colWidths=widths, style=GRID, repeatRows=1)


def _piece(row: PieceRow, widths: list[float]) -> list[object]:
    size = row.size + (f"; {'; '.join(row.more)}" if row.more else "")
    texts = (row.number, row.name, row.item, row.quantity, size)
    return [
        paragraph(text, STRONG if at == 0 else BODY, width)
        for at, (text, width) in enumerate(zip(texts, widths, strict=True))
    ]


def _windows(ticket: Document, wide: float) -> list[Flowable]:
    rows = window_rows(ticket)
    if all(row[1] == "1" for row in rows) or len(rows) > FEW_WINDOWS:
        return []
    names = ("Mat", "Window", "Shape", "Size", "Left, top from the front", "Left, top as it lies")
    cells = [[paragraph(name, STRONG) for name in names]]
    cells += [[paragraph(text, SMALL) for text in row] for row in rows]
    widths = [80, 40, 60, 110, (wide - 290) / 2, (wide - 290) / 2]
    return [*headed("Windows"), LongTable(cells, colWidths=widths, style=GRID)]


def _steps(ticket: Document, wide: float) -> Table:
    widths = [18, 70, wide - 134, 46]
    rows: list[list[object]] = [
        [paragraph(text, STRONG) for text in ("", "Work", "Set and do, line by line", "min")]
    ]
    for row in step_rows(ticket):
        rows += _step(row)
    return LongTable(rows, colWidths=widths, style=GRID, repeatRows=1)


def _step(row: StepRow) -> list[list[object]]:
    """Return a step as one row of the table, or as several if one would not fit on a page."""
    do = [(_KIND[line.kind], line.text) for line in row.lines]
    first, *more = _portions(do)
    head: list[object] = [
        paragraph(row.number, STRONG),
        paragraph(f"{MARK} {row.work}"),
        marked(first),
        paragraph(row.minutes),
    ]
    return [head, *(["", "", marked(portion), ""] for portion in more)]


_KIND = {"set": "bold", "do": "regular", "caution": "small"}


def _portions(lines: list[tuple[str, str]]) -> list[list[tuple[str, str]]]:
    """Return lines in chunks of limited length, long lines broken between words."""
    portions: list[list[tuple[str, str]]] = [[]]
    room = PORTION
    for kind, line in lines:
        for part in wrap(line, PORTION):
            if len(part) > room:
                portions.append([])
                room = PORTION
            portions[-1].append((kind, part))
            room -= len(part)
    return portions


PORTION = 1600
"""Characters in one row of the steps: some twenty lines, which fit on any page."""
MARK = "\u2610"
"""An empty tick box."""
