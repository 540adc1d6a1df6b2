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
from msgspec.structs import replace

from schemas.cutting.plan_shapes import MadePlan, PlanProgress, PlanRow, PlanRuler
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
from schemas.cutting.shapes import (
    PlanAlike,
    PlanCosts,
    PlanItem,
    PlanItemCost,
    PlanKeep,
    PlanPiece,
    PlanPrice,
    PlanStock,
    PlanUnplaced,
    PlanUse,
)
from schemas.cutting.wanted import ticket_wishes
from schemas.materials.records import StockSize
from schemas.materials.stock_shapes import extent_of
from schemas.wire.figures import Figures, Json, instant, number, plain, written
from schemas.wire.record import UNSET
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


def plan_document(plan: CutPlan, shop: Shop) -> MadePlan:
    """Return the whole plan, without costs."""
    figures = Figures(shop.ruler)
    made = placed(plan)
    names = Names(plan)
    kinds = {item.material.kind for item in plan.items}
    return MadePlan(
        plan.reference,
        PlanRuler(shop.ruler.unit, figures.length(shop.ruler.step)),
        plan.tickets,
        tuple(_piece(wish, made.get(wish.key, 0), figures) for wish in plan.wishes),
        tuple(_item(at, item, names, figures) for at, item in enumerate(plan.items)),
        (*_unplaced(plan, names, figures), *_left_out(plan, figures)),
        tuple(text for kind, text in CAUTIONS.items() if kind in kinds),
    )


def _piece(wish: Wish, made: int, figures: Figures) -> PlanPiece:
    return PlanPiece(
        piece=wish.key,
        item=wish.item,
        name=wish.name,
        quantity=wish.quantity,
        planned=made,
        **extent_of(wish.width, wish.height, figures),
        ticket=UNSET if wish.lot is None else wish.lot.ticket,
        lot=UNSET if wish.lot is None else wish.lot.lot,
    )


def _uses(item: PlannedItem, names: Names, figures: Figures) -> tuple[PlanUse, ...]:
    material, plan = item.material, item.plan
    sizes = {size.key: size for size in material.sizes}
    if isinstance(plan, SheetPlan):
        return tuple(
            sheet_use(n, use, sizes[use.stock], names, figures) for n, use in enumerate(plan.uses)
        )
    rules = material.stick_rules
    return tuple(
        stick_use(n, use, sizes[use.stock], rules, names, figures)
        for n, use in enumerate(plan.uses)
    )


def _item(position: int, item: PlannedItem, names: Names, figures: Figures) -> PlanItem:
    material, plan, summary = item.material, item.plan, item.plan.summary
    uses = _uses(item, names, figures)
    flat = material.kind == "sheet"
    rules = material.sheet_rules
    return PlanItem(
        item=material.item,
        description=material.description,
        kind=material.kind,
        kerf=figures.length(Length(rules.kerf if flat else material.stick_rules.kerf)),
        cut_by=material.cut_by if flat else UNSET,
        edge_trim=figures.length(material.edge_trim) if flat else UNSET,
        reach=figures.length(Length(rules.reach)) if flat else UNSET,
        uses=uses,
        alike=alike(uses),
        new=sum(1 for use in plan.uses if not use.offcut),
        utilisation=number(summary.utilisation),
        kept=number(_kept_share(position, item)),
        cuts=summary.cuts,
        reckoned_in="money" if material.in_money else "material",
        gap_percent=number(summary.gap * 100),
        proved_best=summary.cost == summary.bound,
        stock=tuple(_stock(item, figures)),
        keep=tuple(
            PlanKeep(
                use=keep.use + 1,
                leftover=keep.leftover + 1,
                label=None,
                **extent_of(keep.width, keep.height, figures),
            )
            for keep in kept(position, item)
        ),
        split_frames=tuple(plan.split_groups) if isinstance(plan, StickPlan) else (),
        colour=material.colour,
    )


def alike(uses: Sequence[PlanUse]) -> tuple[PlanAlike, ...]:
    """Return groups of identically cut uses: the first use, the count and all uses.

    Copy numbers are ignored; an offcut of the rack is never grouped.
    """
    groups: dict[object, list[int]] = {}
    for use in uses:
        placements = tuple(replace(one, copy=0) for one in use.placements)
        key = use.source, use.label, use.width, use.height, use.length, placements
        groups.setdefault(key, []).append(use.use)
    return tuple(PlanAlike(same[0], len(same), tuple(same)) for same in groups.values())


def _kept_share(position: int, item: PlannedItem) -> Fraction:
    """Return the share of the stock used that goes back on the rack."""
    sizes = {size.key: size for size in item.material.sizes}
    taken = sum(_extent_of(sizes[use.stock]) for use in item.plan.uses)
    return Fraction(sum(map(_extent_of, kept(position, item))), taken) if taken else Fraction(0)


def _extent_of(one: StockSize | Keep) -> int:
    """Return an area, or a length, in ticks."""
    return one.width.ticks * (one.height.ticks or 1)


def _stock(item: PlannedItem, figures: Figures) -> Iterator[PlanStock]:
    """Yield what the plan takes of each size: off the rack, from the shop's stock, and to buy."""
    used = Counter(use.stock for use in item.plan.uses)
    for size in item.material.sizes:
        count = used[size.key]
        if not count:
            continue
        here = count if size.source != "new" else min(count, size.level or 0)
        yield PlanStock(
            source=size.source,
            **extent_of(size.width, size.height, figures),
            quantity=count,
            in_stock=here,
            buy=count - here,
            label=UNSET if size.offcut is None else size.offcut.label,
        )


def _unplaced(plan: CutPlan, names: Names, figures: Figures) -> Iterator[PlanUnplaced]:
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


def _left_out(plan: CutPlan, figures: Figures) -> Iterator[PlanUnplaced]:
    for each in plan.left_out:
        yield _absent(each.wish, each.wish.quantity, each.reason, each.detail, figures)


def _absent(wish: Wish, quantity: int, reason: str, detail: str, figures: Figures) -> PlanUnplaced:
    return PlanUnplaced(
        piece=wish.key,
        item=wish.item,
        name=wish.name,
        quantity=quantity,
        **extent_of(wish.width, wish.height, figures),
        reason=reason,
        detail=detail,
        ticket=UNSET if wish.lot is None else wish.lot.ticket,
        lot=UNSET if wish.lot is None else wish.lot.lot,
    )


def costs_document(plan: CutPlan, shop: Shop) -> PlanCosts:
    """Return what the new stock of a plan costs; null if a cost is unknown."""
    currency = Currency(shop.currency)
    rows: list[PlanItemCost] = []
    total: int | None = 0
    for item in plan.items:
        known, summary = _new_cost(item), item.plan.summary
        total = None if total is None or known is None else total + known
        in_money = item.material.in_money
        rows.append(
            PlanItemCost(
                item.material.item,
                None if known is None else currency.minor(known).text(),
                tuple(_prices(item, shop)),
                currency.minor(summary.cost).text() if in_money else UNSET,
                currency.minor(summary.bound).text() if in_money else UNSET,
            )
        )
    told = None if total is None else currency.minor(total).text()
    return PlanCosts(currency.code, tuple(rows), told)


def _new_cost(item: PlannedItem) -> int | None:
    """Return the cost of an item's new stock in minor units; None if a cost is unknown."""
    money = {size.key: size.money for size in item.material.sizes if size.source != "rack"}
    new = [money[use.stock] for use in item.plan.uses if use.stock in money]
    known = [cost for cost in new if cost is not None]
    return sum(known) if len(known) == len(new) else None


def _prices(item: PlannedItem, shop: Shop) -> Iterator[PlanPrice]:
    """Yield the price used for each size, and the basis of that cost."""
    figures, currency = Figures(shop.ruler), Currency(shop.currency)
    for size in item.material.sizes:
        if size.money is not None:
            yield PlanPrice(
                **extent_of(size.width, size.height, figures),
                source=size.source,
                each=currency.minor(size.money).text(),
                by=size.cost_basis,
            )


def plan_head_document(head: PlanHead) -> PlanRow:
    """Return a stored plan without its documents."""
    return PlanRow(
        head.id,
        head.number,
        head.reference,
        head.status,
        PLAN_LIFE.possible(head.status),
        head.pieces,
        PlanProgress(head.done, head.total),
        instant(head.created_at),
        instant(head.updated_at),
        head.failure or UNSET,
    )


def stored_plan_document(stored: StoredPlan, *, with_costs: bool) -> Json:
    """Return a stored plan for display, with the labels of the offcuts that it has booked."""
    document: dict[str, Any] = orjson.loads(stored.document)
    _label(document, stored)
    shown: Json = {**plain(plan_head_document(stored.head)), **document}
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
