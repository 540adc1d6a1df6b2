"""A cutting plan as a page to read or to print."""

from __future__ import annotations

from markupsafe import Markup

from service.printing.cutting.rows import plan_rows
from service.printing.parts import barcode
from service.printing.parts.templates import templates
from service.printing.parts.words import Document


def plan_html(plan: Document, shop: str) -> str:
    """The page."""
    rows = plan_rows(plan, shop)
    code = Markup(barcode.svg(rows.number)) if rows.number else ""  # noqa: S704 — squares  # nosec B704
    return templates().get_template("plan.html").render(plan=rows, code=code)
