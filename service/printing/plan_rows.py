"""The rows of a printed cutting plan, alike on a page, on paper and in a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from service.domain.drawing.sheet import Drawing
from service.printing.plan_drawing import drawn, size_of, use_title
from service.printing.words import Document, clean

BY = {
    "size": "its own cost",
    "sheet": "the cost of any sheet",
    "square_foot": "by the square foot",
    "linear_foot": "by the foot",
    "given": "as given",
    "on_hand": "in stock",
}
LONGEST_LISTED = 400
"""No more unplaced pieces are listed on paper than these; the document has them all."""


@dataclass(frozen=True, slots=True)
class UseRows:
    """A sheet or stick: what it is called, its drawing, its pieces, and its cuts in order."""

    title: str
    drawing: Drawing
    pieces: tuple[str, ...]
    steps: tuple[str, ...]
    keep: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemRows:
    """An item: its name, its figures, what is taken for it, and its sheets or sticks."""

    title: str
    figures: str
    stock: tuple[str, ...]
    uses: tuple[UseRows, ...]


@dataclass(frozen=True, slots=True)
class PlanRows:
    """A whole plan. `unplaced` names what it does not make, each with the reason."""

    number: str
    shop: str
    facts: tuple[tuple[str, str], ...]
    items: tuple[ItemRows, ...]
    unplaced: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def title(self) -> str:
        """What stands over it."""
        return f"Cutting plan {self.number}" if self.number else "Cutting plan, not stored"


def plan_rows(plan: Document, shop: str) -> PlanRows:
    """The rows of a plan's document."""
    return PlanRows(
        number=clean(plan.get("number") or "", 40),
        shop=clean(shop),
        facts=tuple(_facts(plan)),
        items=tuple(_item(item, _prices(plan, at)) for at, item in enumerate(plan["items"])),
        unplaced=tuple(_absent(each) for each in plan["unplaced"][:LONGEST_LISTED]),
        cautions=tuple(plan["cautions"]),
    )


def _facts(plan: Document) -> Iterator[tuple[str, str]]:
    yield "State", str(plan["status"]).replace("_", " ")
    yield "Unit", str(plan["ruler"]["unit"])
    wanted = sum(piece["quantity"] for piece in plan["pieces"])
    yield "Pieces", f"{sum(piece['planned'] for piece in plan['pieces'])} of {wanted}"
    if plan["tickets"]:
        yield "Tickets", clean(", ".join(plan["tickets"]), 600)
    if plan["reference"]:
        yield "Reference", clean(plan["reference"])
    if "costs" in plan:
        costs = plan["costs"]
        yield "New stock", f"{costs['total'] or 'cost not known'} {costs['currency']}"


def _prices(plan: Document, position: int) -> dict[tuple[str, str], str]:
    """What each size of an item is reckoned at, where costs are shown."""
    if "costs" not in plan:
        return {}
    rows = plan["costs"]["items"][position].get("prices", ())
    return {
        (row["source"], size_of(row)): f", {row['each']} each ({BY.get(row['by'], row['by'])})"
        for row in rows
    }


def _item(item: Document, prices: dict[tuple[str, str], str]) -> ItemRows:
    used = f"{_percent(item['utilisation'])} % used"
    if Fraction(item["kept"]):
        used += f", {_percent(item['kept'])} % to keep"
    used += f", {item['cuts']} {'cut' if item['cuts'] == 1 else 'cuts'}"
    money = item["reckoned_in"] == "money"
    if item["proved_best"]:
        best = "no plan costs less at the prices it is reckoned with" if money else "no plan takes less material"
    else:
        best = f"at most {item['gap_percent']} % above the least there can be"
    return ItemRows(
        title=f"{clean(item['item'], 40)}  {clean(item['description'])}",
        figures=f"{used}; {best}",
        stock=tuple(
            _taken(row) + prices.get((row["source"], size_of(row)), "") for row in item["stock"]
        ),
        uses=tuple(_use(item, use) for use in item["uses"]),
    )


def _percent(share: str) -> int:
    return int(Fraction(share) * 100)


def _taken(row: Document) -> str:
    size = size_of(row)
    if row["source"] == "rack":
        return f"Off the rack: {row['label']}, {size}"
    if row["source"] == "given":
        return f"As given: {row['quantity']} of {size}"
    here = f", {row['in_stock']} of them in stock" if row["in_stock"] else ""
    buy = f"; to buy: {row['buy']}" if row["buy"] else ""
    return f"New: {row['quantity']} of {size}{here}{buy}"


def _use(item: Document, use: Document) -> UseRows:
    return UseRows(
        title=use_title(item, use),
        drawing=drawn(item, use),
        pieces=tuple(
            f"{clean(p['piece'], 60)} #{p['copy']}: {size_of(p)}"
            + (" (turned)" if p.get("turned") else "")
            for p in use["placements"]
        ),
        steps=tuple(clean(step["text"], 400) for step in use["steps"]),
        keep=tuple(f"{size_of(one)}, {_labelled(one)}" for one in use["leftovers"] if one["keep"]),
    )


def _labelled(one: Document) -> str:
    return f"rack label {one['label']}" if one["label"] else "labelled when the plan is committed"


def _absent(each: Document) -> str:
    name = f" ({clean(each['name'])})" if each["name"] else ""
    return (
        f"{each['quantity']} of {clean(each['piece'], 60)}{name}, {clean(each['item'], 40)} "
        f"{size_of(each)}: {clean(each['detail'], 300)}"
    )
