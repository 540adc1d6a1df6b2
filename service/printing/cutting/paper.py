"""A cutting plan on paper: what to buy and take first, then each sheet, large, with its pieces."""

from __future__ import annotations

from dataclasses import dataclass

from service.printing.cutting.rows import ItemRows, PieceRow, PlanRows, UseRows, plan_rows
from service.printing.parts import barcode
from service.printing.parts.picture import Picture, picture
from service.printing.parts.press import Sheet, press
from service.printing.parts.words import Document, clean


@dataclass(frozen=True, slots=True)
class UsePaper:
    """A sheet or stick, or several cut alike."""

    title: str
    front: Picture
    pieces: tuple[PieceRow, ...]
    steps: tuple[str, ...]
    keep: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemPaper:
    """An item: its name, its figures, the stock it uses, and its sheets or sticks."""

    title: str
    figures: str
    stock: tuple[str, ...]
    uses: tuple[UsePaper, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPaper(Sheet):
    """The whole plan."""

    number: str
    code: str
    facts: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    first: tuple[tuple[str, tuple[str, ...]], ...]
    items: tuple[ItemPaper, ...]
    unplaced: tuple[str, ...]


def plan_pdf(plan: Document, shop: str, paper: str = "letter") -> bytes:
    """Return the plan as PDF on "letter" or "a4"."""
    return press("plan", _paper(plan, plan_rows(plan, shop), paper))


def _paper(plan: Document, rows: PlanRows, paper: str) -> PlanPaper:
    first = (("Buy first", rows.buy), ("Take from stock and rack", rows.take))
    return PlanPaper(
        title=rows.title,
        foot=f"{rows.shop} · {rows.title}",
        shop=rows.shop,
        day=clean(plan.get("created_at") or "", 40)[:10],
        paper=paper,
        unit=plan["ruler"]["unit"],
        number=rows.number,
        code=barcode.svg(rows.number) if rows.number else "",
        facts=rows.facts,
        cautions=rows.cautions,
        first=tuple((name, lines) for name, lines in first if lines),
        items=tuple(_item(item) for item in rows.items),
        unplaced=rows.unplaced,
    )


def _item(item: ItemRows) -> ItemPaper:
    return ItemPaper(item.title, item.figures, item.stock, tuple(_use(use) for use in item.uses))


def _use(use: UseRows) -> UsePaper:
    return UsePaper(use.title, picture(use.drawing), use.pieces, use.steps, use.keep)
