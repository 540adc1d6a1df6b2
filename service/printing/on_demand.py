"""The PDF printers, imported on first use.

The typesetter takes a tenth of a second and 45 MB for its first paper, and up to 220 MB while it
prints many: it remembers what it has set lately (`tests.bench.tickets`). A worker that only answers
estimates should not pay that at its start.
"""
# ruff: noqa: PLC0415 — importing late is the purpose of this module

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from service.domain.letterhead import Letterhead
from service.domain.measure.ruler import Ruler
from service.printing.parts.font_folder import FOLDER
from service.printing.parts.words import Document
from service.printing.tickets.rows import TicketHead


def more_fonts(folder: Path) -> None:
    """Set where paper looks for the letters that the shipped fonts lack."""
    FOLDER[:] = [folder]


def ticket_pdf(ticket: Document, head: TicketHead, paper: str = "letter") -> bytes:
    """Return a bench ticket as PDF on "letter" or "a4"."""
    from service.printing.tickets import card as module

    return module.ticket_pdf(ticket, head, paper)


def quote_pdf(
    quote: Document, shop: str, shop_ruler: Ruler, paper: str, letterhead: Letterhead
) -> bytes:
    """Return a customer's quote as PDF on "letter" or "a4"."""
    from service.printing.quotes import paper as module

    return module.quote_pdf(quote, shop, shop_ruler, paper, letterhead)


def plan_pdf(plan: Document, shop: str, paper: str = "letter") -> bytes:
    """Return a cutting plan as PDF on "letter" or "a4"."""
    from service.printing.cutting import paper as module

    return module.plan_pdf(plan, shop, paper)


def labels_pdf(offcuts: Sequence[Document], unit: str, stock: str) -> bytes:
    """Return the rack labels of offcuts as PDF for a label stock."""
    from service.printing.cutting import label as module

    return module.labels_pdf(offcuts, unit, stock)


def piece_labels_pdf(plan: Document, stock: str) -> bytes:
    """Return a label for each piece of a plan as PDF for a label stock."""
    from service.printing.cutting import label as module

    return module.piece_labels_pdf(plan, stock)


def label_svg(offcut: Document, unit: str) -> str:
    """Return an offcut's rack label as SVG."""
    from service.printing.cutting import label as module

    return module.label_svg(offcut, unit)
