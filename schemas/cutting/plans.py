"""A cutting plan as a document: sources, cuts, what to buy, what to keep.

Costs are a separate document, since a key that may see a plan may not see what stock costs.
Lengths are given in three forms, as everywhere. Positions on a sheet are from its left and lower
edges.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import orjson

from schemas.cutting.plan_uses import Names, sheet_use, stick_use
from schemas.cutting.records import (
    PLAN_LIFE,
    CutPlan,
    Keep,
    Material,
    PlanHead,
    PlannedItem,
    PlanRequest,
    StoredPlan,
    Wish,
    kept,
    placed,
)
from schemas.cutting.request import read_plan_request
from schemas.cutting.wanted import ticket_wishes
from schemas.materials.records import StockSize
from schemas.wire.figures import Figures, Json, instant, number, written
from service.domain.cutting.plan import Reason, SheetPlan, StickPlan
from service.domain.measure.length import Length
from service.domain.measure.money import Currency
from service.domain.shop import Shop

CAUTIONS = {
    "sheet": "Glass: gloves and eye protection, two people for large lites. Blades: cut away from "
    "the body; a used blade goes into a sharps container.",
    "stick": "Saw: guard down, both hands on the stick; wait until the blade has stopped before an "
    "offcut is taken away.",
}


class WrittenPlans:
    """The implementation of the port `PlanDocuments`."""

    def request(self, body: bytes, shop: Shop) -> PlanRequest:
        """Return the request in a stored document."""
        document = json.loads(body, parse_float=Decimal)  # keep lengths out of binary floats
        return read_plan_request(document, shop.ruler.unit)

    wishes = staticmethod(ticket_wishes)

    def written(self, plan: CutPlan, shop: Shop) -> tuple[bytes, bytes]:
        """Return the plan's document and its costs document."""
        return written(plan_document(plan, shop)), written(costs_document(plan, shop))


def plan_document(plan: CutPlan, shop: Shop) -> Json:
    """Return the whole plan, without costs."""
    figures = Figures(shop.ruler)
    made = placed(plan)
    names = Names(plan)
    items = [_item(at, item, names, figures) for at, item in enumerate(plan.items)]
    kinds = {item.material.kind for item in plan.items}
    return {
        "reference": plan.reference,
        "ruler": {"unit": shop.ruler.unit, "step": figures.length(shop.ruler.step)},
        "tickets": list(plan.tickets),
        "pieces": [_piece(wish, made.get(wish.key, 0), figures) for wish in plan.wishes],
        "items": items,
        "unplaced": [*_unplaced(plan, names, figures), *_left_out(plan, figures)],
        "cautions": [text for kind, text in CAUTIONS.items() if kind in kinds],
    }


def _extent(width: Length, height: Length, figures: Figures) -> Json:
    if height:
        return {"width": figures.length(width), "height": figures.length(height)}
    return {"length": figures.length(width)}


def _piece(wish: Wish, made: int, figures: Figures) -> Json:
    row: Json = {
        "piece": wish.key,
        "item": wish.item,
        "name": wish.name,
        "quantity": wish.quantity,
        "planned": made,
        **_extent(wish.width, wish.height, figures),
    }
    if wish.lot is not None:
        row["ticket"], row["lot"] = wish.lot.ticket, wish.lot.lot
    return row


def _item(position: int, item: PlannedItem, names: Names, figures: Figures) -> Json:
    material, plan = item.material, item.plan
    sizes = {size.key: size for size in material.sizes}
    if isinstance(plan, SheetPlan):
        kerf = material.sheet_rules.kerf
        uses = [
            sheet_use(n, use, sizes[use.stock], names, figures) for n, use in enumerate(plan.uses)
        ]
    else:
        kerf = material.stick_rules.kerf
        uses = [
            stick_use(n, use, sizes[use.stock], material.stick_rules, names, figures)
            for n, use in enumerate(plan.uses)
        ]
    summary = plan.summary
    return {
        "item": material.item,
        "description": material.description,
        "kind": material.kind,
        "kerf": figures.length(Length(kerf)),
        **_cutting(material, figures),
        "uses": uses,
        "alike": alike(uses),
        "new": sum(1 for use in plan.uses if not use.offcut),
        "utilisation": number(summary.utilisation),
        "kept": number(_kept_share(position, item)),
        "cuts": summary.cuts,
        "reckoned_in": "money" if material.in_money else "material",
        "gap_percent": number(summary.gap * 100),
        "proved_best": summary.cost == summary.bound,
        "stock": list(_stock(item, figures)),
        "keep": [
            {
                "use": keep.use + 1,
                "leftover": keep.leftover + 1,
                "label": None,
                **_extent(keep.width, keep.height, figures),
            }
            for keep in kept(position, item)
        ],
        "split_frames": list(plan.split_groups) if isinstance(plan, StickPlan) else [],
    }


def _rows(rows: object) -> list[Json]:
    return rows if isinstance(rows, list) else []


def alike(uses: Sequence[Json]) -> list[Json]:
    """Return groups of identically cut uses: the first use, the count and all uses.

    Copy numbers are ignored; an offcut of the rack is never grouped.
    """
    groups: dict[str, list[int]] = {}
    for use in uses:
        key: Json = {
            **{name: use.get(name) for name in ("source", "label", "width", "height", "length")},
            "placements": [{**one, "copy": 0} for one in _rows(use["placements"])],
        }
        groups.setdefault(written(key).decode(), []).append(int(str(use["use"])))
    return [{"use": same[0], "count": len(same), "uses": same} for same in groups.values()]


def _cutting(material: Material, figures: Figures) -> Json:
    """Return how sheets of an item are cut."""
    if material.kind == "stick":
        return {}
    return {
        "cut_by": material.cut_by,
        "edge_trim": figures.length(material.edge_trim),
        "reach": figures.length(Length(material.sheet_rules.reach)),
    }


def _kept_share(position: int, item: PlannedItem) -> Fraction:
    """Return the share of the stock used that goes back on the rack."""
    sizes = {size.key: size for size in item.material.sizes}
    taken = sum(_extent_of(sizes[use.stock]) for use in item.plan.uses)
    return Fraction(sum(map(_extent_of, kept(position, item))), taken) if taken else Fraction(0)


def _extent_of(one: StockSize | Keep) -> int:
    """Return an area, or a length, in ticks."""
    return one.width.ticks * (one.height.ticks or 1)


def _stock(item: PlannedItem, figures: Figures) -> Iterator[Json]:
    """Yield what the plan takes of each size: off the rack, from the shop's stock, and to buy."""
    used = Counter(use.stock for use in item.plan.uses)
    for size in item.material.sizes:
        count = used[size.key]
        if not count:
            continue
        here = count if size.source != "new" else min(count, size.level or 0)
        row: Json = {
            "source": size.source,
            **_extent(size.width, size.height, figures),
            "quantity": count,
            "in_stock": here,
            "buy": count - here,
        }
        if size.offcut is not None:
            row["label"] = size.offcut.label
        yield row


def _unplaced(plan: CutPlan, names: Names, figures: Figures) -> Iterator[Json]:
    wishes = {wish.key: wish for wish in plan.wishes}
    for item in plan.items:
        counted: dict[tuple[str, Reason], int] = {}
        for absent in item.plan.unplaced:
            place = names.wish(absent.piece), absent.reason
            counted[place] = counted.get(place, 0) + absent.quantity
        for (key, reason), quantity in counted.items():
            fits = any(_takes(size, wishes[key], item.material) for size in item.material.sizes)
            why = Reason.STOCK_EXHAUSTED if fits else reason
            detail = _detail(why, item.material, wishes[key])
            yield _absent(wishes[key], quantity, why.value, detail, figures)


def _takes(size: StockSize, wish: Wish, material: Material) -> bool:
    if material.kind == "stick":
        return material.stick_rules.usable(size.width.ticks) >= wish.width.ticks
    turns = next(p.may_turn for p in material.sheet_pieces if p.key == wish.key)
    upright = wish.width <= size.width and wish.height <= size.height
    return upright or (turns and wish.height <= size.width and wish.width <= size.height)


def _detail(reason: Reason, material: Material, wish: Wish) -> str:
    if reason is Reason.STOCK_EXHAUSTED:
        return f"no {material.kind} that takes it is left"
    if material.kind == "stick":
        return "longer than what any stick has left between its trims"
    turns = next(p.may_turn for p in material.sheet_pieces if p.key == wish.key)
    how = "either way round" if turns else "the way its grain runs"
    return f"larger than every sheet there is, {how}"


def _left_out(plan: CutPlan, figures: Figures) -> Iterator[Json]:
    for each in plan.left_out:
        yield _absent(each.wish, each.wish.quantity, each.reason, each.detail, figures)


def _absent(wish: Wish, quantity: int, reason: str, detail: str, figures: Figures) -> Json:
    row: Json = {
        "piece": wish.key,
        "item": wish.item,
        "name": wish.name,
        "quantity": quantity,
        **_extent(wish.width, wish.height, figures),
        "reason": reason,
        "detail": detail,
    }
    if wish.lot is not None:
        row["ticket"], row["lot"] = wish.lot.ticket, wish.lot.lot
    return row


def costs_document(plan: CutPlan, shop: Shop) -> Json:
    """Return what the new stock of a plan costs; null if a cost is unknown."""
    currency = Currency(shop.currency)
    rows: list[Json] = []
    total: int | None = 0
    for item in plan.items:
        money = {size.key: size.money for size in item.material.sizes if size.source != "rack"}
        new = [money[use.stock] for use in item.plan.uses if use.stock in money]
        known = sum(m for m in new if m is not None) if None not in new else None
        total = None if total is None or known is None else total + known
        row: Json = {
            "item": item.material.item,
            "new": None if known is None else currency.minor(known).text(),
        }
        row["prices"] = list(_prices(item, shop))
        if item.material.in_money:
            row["reckoned"] = currency.minor(item.plan.summary.cost).text()
            row["at_least"] = currency.minor(item.plan.summary.bound).text()
        rows.append(row)
    told = None if total is None else currency.minor(total).text()
    return {"currency": currency.code, "items": rows, "total": told}


def _prices(item: PlannedItem, shop: Shop) -> Iterator[Json]:
    """Yield the price used for each size, and the basis of that cost."""
    figures, currency = Figures(shop.ruler), Currency(shop.currency)
    for size in item.material.sizes:
        if size.money is not None:
            yield {
                **_extent(size.width, size.height, figures),
                "source": size.source,
                "each": currency.minor(size.money).text(),
                "by": size.cost_basis,
            }


def plan_head_document(head: PlanHead) -> Json:
    """Return a stored plan without its documents."""
    row: Json = {
        "id": head.id,
        "number": head.number,
        "reference": head.reference,
        "status": head.status,
        "possible": list(PLAN_LIFE.possible(head.status)),
        "pieces_wanted": head.pieces,
        "progress": {"done": head.done, "of": head.total},
        "created_at": instant(head.created_at),
        "updated_at": instant(head.updated_at),
    }
    if head.failure:
        row["failure"] = head.failure
    return row


def stored_plan_document(stored: StoredPlan, *, with_costs: bool) -> Json:
    """Return a stored plan for display, with the labels of the offcuts that it has booked."""
    document: dict[str, Any] = orjson.loads(stored.document)
    _label(document, stored)
    shown: Json = {**plan_head_document(stored.head), **document}
    if with_costs and stored.costs != b"{}":
        shown["costs"] = orjson.loads(stored.costs)
    return shown


def dry_document(document: bytes, costs: bytes, pieces: int, *, with_costs: bool) -> Json:
    """Return a plan that is not stored."""
    shown: Json = {
        "id": None,
        "number": None,
        "status": "dry_run",
        "possible": [],
        "pieces_wanted": pieces,
        **orjson.loads(document),
    }
    if with_costs:
        shown["costs"] = orjson.loads(costs)
    return shown


def _label(document: dict[str, Any], stored: StoredPlan) -> None:
    """Write the labels into the plan: booked offcuts are in the order of its kept leftovers."""
    labels = {
        (keep.position, keep.use, keep.leftover): offcut.label
        for keep, offcut in zip(stored.effects.keeps, stored.booked, strict=False)
    }
    for (position, use, leftover), label in labels.items():
        item = document["items"][position]
        item["uses"][use]["leftovers"][leftover]["label"] = label
        for row in item["keep"]:
            if (row["use"], row["leftover"]) == (use + 1, leftover + 1):
                row["label"] = label
