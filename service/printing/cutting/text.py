"""A cutting plan for the terminal: plain text in lines of a given width."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from service.printing.cutting.rows import ItemRows, PlanRows, UseRows, plan_rows
from service.printing.parts.words import Document

LEAST = 40


def plan_text(plan: Document, shop: str, width: int = 80) -> str:
    """Return the whole plan as text, no line longer than `width` (at least 40)."""
    return "\n".join(line.rstrip() for line in _lines(plan_rows(plan, shop), max(width, LEAST)))


def _lines(rows: PlanRows, width: int) -> Iterator[str]:
    yield from wrap(f"{rows.shop}  {rows.title.upper()}", width)
    yield "=" * width
    for name, value in rows.facts:
        yield from _hung(f"{name:<12}", value, width)
    for title, lines in (("TO BUY", rows.buy), ("TO TAKE", rows.take)):
        if lines:
            yield ""
            yield title
        for line in lines:
            yield from _hung("  ", line, width)
    for item in rows.items:
        yield from _item(item, width)
    if rows.unplaced:
        yield ""
        yield "NOT IN THIS PLAN"
        for line in rows.unplaced:
            yield from _hung("  ", line, width)
    yield ""
    for caution in rows.cautions:
        yield from wrap(caution, width)


def _item(item: ItemRows, width: int) -> Iterator[str]:
    yield ""
    yield "-" * width
    yield from wrap(item.title, width)
    for line in (item.figures, *item.stock):
        yield from _hung("  ", line, width)
    for use in item.uses:
        yield from _use(use, width)


def _use(use: UseRows, width: int) -> Iterator[str]:
    yield ""
    yield from _hung("  ", use.title, width)
    for at, step in enumerate(use.steps, start=1):
        yield from _hung(f"  {at:>3}. ", step, width)
    for each in use.keep:
        yield from _hung("       ", f"Keep {each}", width)


def _hung(head: str, text: str, width: int) -> list[str]:
    """Return text after a head, with a hanging indent."""
    return wrap(text, width, initial_indent=head, subsequent_indent=" " * len(head)) or [head]
