"""The rows of a printed cutting plan, shared by page, paper and terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from service.printing.cutting.drawing import drawn, size_of, use_title
from service.printing.drawing.reading import runs
from service.printing.drawing.sheet import Drawing
from service.printing.parts import barcode
from service.printing.parts.templates import templates
from service.printing.parts.words import Document, clean


def plan_html(plan: Document, shop: str) -> str:
    """Return the plan as a page."""
    rows = plan_rows(plan, shop)
    code = Markup(barcode.svg(rows.number)) if rows.number else ""  # noqa: S704 — squares  # nosec B704
    return templates().get_template("plan.html").render(plan=rows, code=code)


BY = {
    "size": "its own cost",
    "sheet": "the cost of any sheet",
    "square_foot": "by the square foot",
    "linear_foot": "by the foot",
    "given": "as given",
    "on_hand": "in stock",
}
LONGEST_LISTED = 400
"""The maximum number of unplaced pieces listed on paper; the document has them all."""


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece on a sheet or stick: its number in the drawing, its size, the cut that frees it."""

    number: str
    name: str
    size: str
    cut: str


@dataclass(frozen=True, slots=True)
class UseRows:
    """A sheet or stick, or several cut alike: the drawing, the pieces, and the cuts in order.

    `keep` names the offcuts of all of them.
    """

    title: str
    drawing: Drawing
    pieces: tuple[PieceRow, ...]
    steps: tuple[str, ...]
    keep: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemRows:
    """An item: its name, its figures, the stock it uses, and its sheets or sticks."""

    title: str
    figures: str
    stock: tuple[str, ...]
    uses: tuple[UseRows, ...]


@dataclass(frozen=True, slots=True)
class PlanRows:
    """A whole plan. `unplaced` names the pieces it could not place, each with the reason.

    `buy` says what to buy, `take` what to take from stock and from the rack, and where it lies.
    """

    number: str
    shop: str
    facts: tuple[tuple[str, str], ...]
    buy: tuple[str, ...]
    take: tuple[str, ...]
    items: tuple[ItemRows, ...]
    unplaced: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def title(self) -> str:
        """The plan's title."""
        return f"Cutting plan {self.number}" if self.number else "Cutting plan, not stored"


def plan_rows(plan: Document, shop: str) -> PlanRows:
    """Return the rows of a plan's document."""
    return PlanRows(
        number=clean(plan.get("number") or "", 40),
        shop=clean(shop),
        facts=tuple(_facts(plan)),
        buy=tuple(_buy(plan)),
        take=tuple(_take(plan)),
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
    """Return the price of each size of an item, if costs are shown."""
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
        best = (
            "no plan costs less at the prices it is reckoned with"
            if money
            else "no plan takes less material"
        )
    else:
        best = f"at most {item['gap_percent']} % above the least there can be"
    return ItemRows(
        title=f"{clean(item['item'], 40)}  {clean(item['description'])}",
        figures=f"{used}; {best}",
        stock=tuple(
            _taken(row) + prices.get((row["source"], size_of(row)), "") for row in item["stock"]
        ),
        uses=tuple(_use(item, same) for same in _alike(item)),
    )


def _buy(plan: Document) -> Iterator[str]:
    for item in plan["items"]:
        for row in item["stock"]:
            if row["source"] == "new" and row["buy"]:
                name = f"{clean(item['item'], 40)}  {clean(item['description'])}"
                batch = ", all of one batch" if item.get("colour") == "batch" else ""
                yield f"{row['buy']} of {size_of(row)}  {name}{batch}"


def _take(plan: Document) -> Iterator[str]:
    for item in plan["items"]:
        code = clean(item["item"], 40)
        places = {use["label"]: use.get("place", "") for use in item["uses"] if "label" in use}
        for row in item["stock"]:
            if row["source"] == "rack":
                place = clean(places.get(row["label"], "")) or "place not noted"
                yield f"Off the rack: {row['label']}, {code} {size_of(row)}; {place}"
            elif row["source"] == "new" and row["in_stock"]:
                batch = ", all of one batch" if item.get("colour") == "batch" else ""
                yield f"From stock: {row['in_stock']} of {code} {size_of(row)}{batch}"


def _alike(item: Document) -> Iterator[list[Document]]:
    """Yield the uses that are cut alike, as a list each; older stored plans lack that field."""
    uses = {use["use"]: use for use in item["uses"]}
    for same in item.get("alike") or [{"uses": [number]} for number in uses]:
        yield [uses[number] for number in same["uses"]]


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


def _use(item: Document, alike: list[Document]) -> UseRows:
    use = alike[0]
    title = use_title(item, use)
    if len(alike) > 1:
        title += f"; cut {len(alike)} like this: {runs([each['use'] for each in alike])}"
    return UseRows(
        title=title,
        drawing=drawn(item, use),
        pieces=tuple(_pieces(use)),
        steps=tuple(clean(step["text"], 400) for step in use["steps"]),
        keep=tuple(_kept(alike)),
    )


def _pieces(use: Document) -> Iterator[PieceRow]:
    """Yield the pieces in the order of the drawing's numbers."""
    freed = {
        part["label"]: str(step["step"])
        for step in use["steps"]
        for part in (step["falls"], step.get("rests"))
        if part and part["outcome"] == "piece"
    }
    for number, piece in enumerate(use["placements"], start=1):
        name = f"{piece['piece']} #{piece['copy']}"
        turned = " (turned)" if piece.get("turned") else ""
        yield PieceRow(str(number), clean(name, 60), size_of(piece) + turned, freed.get(name, ""))


def _kept(alike: list[Document]) -> Iterator[str]:
    """Yield the offcuts of equal sheets, each size once with all its labels."""
    found: dict[tuple[int, str], list[str]] = {}
    for use in alike:
        for place, one in enumerate(use["leftovers"]):
            if one["keep"]:
                found.setdefault((place, size_of(one)), []).append(one["label"] or "")
    for (_, size), labels in found.items():
        many = f"{len(labels)} of " if len(labels) > 1 else ""
        if all(labels):
            yield f"{many}{size}, rack label {', '.join(labels)}"
        else:
            yield f"{many}{size}, labelled when the plan is committed"


def _absent(each: Document) -> str:
    name = f" ({clean(each['name'])})" if each["name"] else ""
    return (
        f"{each['quantity']} of {clean(each['piece'], 60)}{name}, {clean(each['item'], 40)} "
        f"{size_of(each)}: {clean(each['detail'], 300)}"
    )
