"""A ticket for the terminal: plain text in lines of a given width."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from service.printing.language.spoken import _
from service.printing.parts.words import Document, clean
from service.printing.tickets.rows import (
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


def ticket_text(ticket: Document, head: TicketHead, width: int = 80) -> str:
    """Return the whole ticket as text, no line longer than `width` (at least 40)."""
    return "\n".join(line.rstrip() for line in _lines(ticket, head, max(width, 40))) + "\n"


def _lines(ticket: Document, head: TicketHead, width: int) -> Iterator[str]:
    yield from wrap(f"{clean(head.shop)}  {_('Cut ticket').upper()}  {which(head)}", width)
    yield from wrap(title(ticket, head), width)
    if head.reference:
        yield from wrap(_("Reference {reference}", reference=clean(head.reference)), width)
    yield "=" * width
    for name, value in facts(ticket):
        yield from _hung(f"{name:<11} ", value, width)
    yield from _pieces(ticket, width)
    yield from _steps(ticket, width)
    for heading, lines in (
        (_("Hardware"), hardware_rows(ticket)),
        (_("Supplies"), supply_rows(ticket)),
        (_("Mind"), advisory_rows(ticket)),
    ):
        if lines:
            yield from _headed(heading, width)
            for line in lines:
                yield from _hung("  - ", line, width)


def _pieces(ticket: Document, width: int) -> Iterator[str]:
    yield from _headed(_("Pieces"), width)
    for piece in piece_rows(ticket):
        many = _("{n} of {what}", n=piece.quantity, what=piece.size)
        text = f"{piece.name}, {piece.item}: {many}"
        yield from _hung(f"{piece.number:>3}  ", text, width)
        for more in piece.more:
            yield from _hung("     - ", more, width)
    rows = window_rows(ticket)
    if rows:
        yield from _headed(_("Windows"), width)
    for mat, number, shape, size, front, lying in rows:
        places = _("left and top {front} from the front, {lying} as it lies")
        text = f"{shape} {size}; {places.format(front=front, lying=lying)}"
        yield from _hung(f"{mat} {_('window {n}', n=number)}: ", text, width)


def _steps(ticket: Document, width: int) -> Iterator[str]:
    yield from _headed(_("Steps"), width)
    for step in step_rows(ticket):
        yield from _hung(
            f"{step.number:>3}  ",
            f"[ ] {step.work}, {_('{minutes} min', minutes=step.minutes)}",
            width,
        )
        for line in step.lines:
            yield from _hung("     - " if line.kind == "do" else "     ", line.text, width)


def _headed(heading: str, width: int) -> Iterator[str]:
    yield ""
    yield f"{heading.upper()} {'-' * (width - len(heading) - 1)}"


def _hung(lead: str, text: str, width: int) -> list[str]:
    lead = lead[: width // 2]
    return wrap(text, width, initial_indent=lead, subsequent_indent=" " * len(lead)) or [lead]
