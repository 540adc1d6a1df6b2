"""The shapes of cutting plans, offcuts and stock, as JSON Schema."""

from __future__ import annotations

from schemas.cutting.records import PLAN_LIFE
from schemas.materials.records import OFFCUT_LIFE
from schemas.openapi.shapes import (
    INSTANT,
    NEXT,
    Shape,
    growing,
    length,
    listed,
    money,
    number,
    one_of,
    or_null,
    ref,
    text,
    thing,
    truth,
    whole,
)
from service.domain.cutting.steps import Outcome

REASONS = ("oversize", "stock_exhausted", "bought_cut", "unknown_item")
SOURCES = ("new", "rack", "given")
COST_BASES = ("size", "sheet", "square_foot", "linear_foot", "given", "on_hand")
TEXTS: Shape = {"type": "array", "items": {"type": "string"}}
EXTENT = {
    "width": length("A sheet's width."),
    "height": length("A sheet's height."),
    "length": length("A stick's length, long point to long point."),
}
TICKET = {
    "ticket": text("The number of the ticket that it is of."),
    "lot": whole("Its number in the ticket's `progress`.", 1),
}


def _label(said: str) -> Shape:
    return {"type": ["string", "null"], "description": said}


def _at(said: str) -> Shape:
    return {**INSTANT, "description": said}


PARTS: dict[str, Shape] = {
    "PlanPiece": thing(
        "A piece that is wanted, and how many of it the plan makes.",
        {
            "piece": text("What it is called in the plan: its key, or its ticket and lot."),
            "item": text("The item that it is cut from."),
            "name": text("What it is."),
            "quantity": whole("How many are wanted.", 1),
            "planned": whole("How many the plan makes."),
        },
        {**EXTENT, **TICKET},
    ),
    "PlanPlacement": thing(
        "A piece on its sheet or stick. Places on a sheet run from its left and lower edges.",
        {"piece": text("The piece."), "copy": whole("Which of its copies.", 1)},
        {
            "x": length("From the sheet's left edge."),
            "y": length("From the sheet's lower edge."),
            "start": length("From the stick's first end."),
            **EXTENT,
            "turned": truth("Whether it lies turned a quarter."),
        },
    ),
    "PlanLeftover": thing(
        "What is left of a sheet or stick.",
        {
            "keep": truth("Whether it is large enough to go on the rack."),
            "label": _label("Its rack label, once the plan is committed."),
        },
        {
            "x": length("From the sheet's left edge."),
            "y": length("From the sheet's lower edge."),
            "start": length("From the stick's first end."),
            **EXTENT,
        },
    ),
    "PlanFallen": thing(
        "What comes off a cut.",
        {
            "outcome": growing(
                [each.value for each in Outcome],
                "A finished piece, an offcut to keep, waste, or a part to be cut further.",
            ),
            "label": text("What is chalked on it: a letter for a part, a piece and its copy."),
            "width": length("A sheet's width, or a stick's length."),
        },
        {"height": length("A sheet's height.")},
    ),
    "PlanStep": thing(
        "One cut, from edge to edge of what is on the bench.",
        {
            "step": whole("Its number on this sheet or stick.", 1),
            "setting": length("What is set on the arm, or measured from the end last cut."),
            "kerf": length("What the cut takes beyond the setting."),
            "falls": ref("PlanFallen", "What was measured."),
            "text": text("The step in words."),
        },
        {
            "take": text("Which part is taken up: `sheet`, or a letter."),
            "across": one_of(("width", "height"), "Along which of the two is measured."),
            "rests": or_null("PlanFallen", "What is past the cut; null where nothing is."),
            "left": length("What is left of the stick."),
        },
    ),
    "PlanUse": thing(
        "A sheet or stick of the plan.",
        {
            "use": whole("Its number among those of the item.", 1),
            "source": growing(SOURCES, "New, off the rack, or as the request gave it."),
            "utilisation": number("Pieces over the whole, 0 to 1."),
            "placements": listed(ref("PlanPlacement"), "The pieces on it, in cutting order."),
            "leftovers": listed(ref("PlanLeftover"), "What is no piece."),
            "steps": listed(ref("PlanStep"), "Its cuts, in the order in which they are made."),
        },
        {
            **EXTENT,
            "cut_at": growing(
                ("bench", "supplier"),
                "A sheet for the `supplier` takes cuts that are longer than the bench reaches.",
            ),
            "label": text("An offcut's rack label."),
            "place": text("Where that lies."),
        },
    ),
    "PlanAlike": thing(
        "Sheets or sticks of one size that are cut in the same way.",
        {
            "use": whole("The first of them; the others give further copies of its pieces.", 1),
            "count": whole("How many there are.", 1),
            "uses": {
                "type": "array",
                "items": {"type": "integer", "minimum": 1},
                "description": "Their numbers.",
            },
        },
    ),
    "PlanStock": thing(
        "How much of one size the plan takes.",
        {
            "source": growing(SOURCES, "New, off the rack, or as the request gave it."),
            "quantity": whole("How many the plan takes.", 1),
            "in_stock": whole("How many of them are in the shop."),
            "buy": whole("How many are to be bought."),
        },
        {**EXTENT, "label": text("An offcut's rack label.")},
    ),
    "PlanKeep": thing(
        "An offcut that goes back on the rack.",
        {
            "use": whole("The sheet or stick that it is left of.", 1),
            "leftover": whole("Its number among what is left there.", 1),
            "label": _label("Its rack label, once the plan is committed."),
        },
        EXTENT,
    ),
    "PlanItem": thing(
        "All that is cut of one item.",
        {
            "item": text("The item."),
            "description": text("What it is called."),
            "kind": growing(("sheet", "stick"), "Whether it is cut from sheets or sticks."),
            "kerf": length(
                "What one cut takes: nothing where it is scored, the saw's blade times "
                "the root of 2 at a mitre of 45°."
            ),
            "uses": listed(ref("PlanUse"), "The sheets or sticks, in the order of the work."),
            "alike": listed(ref("PlanAlike"), "The same, each way of cutting once."),
            "new": whole("How many of them are not off the rack."),
            "utilisation": number("Pieces over all that is taken, 0 to 1."),
            "kept": number("Offcuts to keep over all that is taken, 0 to 1; the rest is waste."),
            "cuts": whole("How many cuts there are."),
            "reckoned_in": growing(
                ("money", "material"),
                "What the plan keeps down: cost, or area and length where a cost is not known.",
            ),
            "gap_percent": number(
                "How far above a proven bound the plan is, in percent of itself: no plan can be "
                "better by more."
            ),
            "proved_best": truth(
                "Whether no plan can be better at all, at the prices that `costs` shows."
            ),
            "stock": listed(ref("PlanStock"), "What it takes, size by size: what to buy."),
            "keep": listed(ref("PlanKeep"), "What goes back on the rack."),
            "split_frames": {
                **TEXTS,
                "description": "Frames whose rails no stick takes all of, though the pattern runs.",
            },
        },
        {
            "cut_by": growing(("scored", "saw", "table"), "What cuts its sheets."),
            "edge_trim": length("What is trimmed off each edge of a new sheet."),
            "reach": length("The longest cut that the bench can make."),
        },
    ),
    "PlanUnplaced": thing(
        "A piece that the plan does not make, and why.",
        {
            "piece": text("The piece."),
            "item": text("Its item."),
            "name": text("What it is."),
            "quantity": whole("How many of it.", 1),
            "reason": growing(REASONS, "Why not."),
            "detail": text("The same in words."),
        },
        {**EXTENT, **TICKET},
    ),
    "PlanCosts": thing(
        "What the new stock costs; only for keys that may see costs.",
        {
            "currency": text("ISO 4217."),
            "items": listed(ref("PlanItemCost"), "Item by item."),
            "total": {
                "anyOf": [ref("Money"), {"type": "null"}],
                "description": "Of all new stock; null where a cost is not known.",
            },
        },
    ),
    "PlanPrice": thing(
        "What one sheet or stick of a size is reckoned at.",
        {
            "source": growing(SOURCES, "New, or as the request gave it."),
            "each": money("What one costs."),
            "by": growing(
                COST_BASES,
                "Which cost that is: that of just this `size`, that of any `sheet` of the item, a "
                "rate by `square_foot` or `linear_foot` where the size has no cost of its own, the "
                "request's (`given`), or nothing for what the shop has (`on_hand`).",
            ),
        },
        EXTENT,
    ),
    "PlanItemCost": thing(
        "What the new stock of an item costs.",
        {
            "item": text("The item."),
            "new": {
                "anyOf": [ref("Money"), {"type": "null"}],
                "description": "Of its new stock; null where a cost is not known.",
            },
        },
        {
            "prices": listed(ref("PlanPrice"), "What each size is reckoned at."),
            "reckoned": money("With offcuts at a twentieth of what as much new stock costs."),
            "at_least": money("No plan is reckoned at less."),
        },
    ),
}
HEAD = {
    "id": _label("Its id; null for a dry run."),
    "number": _label("Its number, with a check digit: P100014; null for a dry run."),
    "status": growing(
        ("dry_run", *PLAN_LIFE.states),
        "`waiting` and `working`: it is being made. `planned`: it can be committed.",
    ),
    "possible": {**TEXTS, "description": "What can be done with it now."},
    "pieces_wanted": whole("How many pieces are wanted."),
    "reference": text("The caller's own number for it."),
}
KEPT = {
    "progress": thing(
        "How far the making is.",
        {"done": whole("Steps that are done."), "of": whole("Steps in all; 0 before the first.")},
    ),
    "created_at": _at("When it was asked for (RFC 3339, UTC)."),
    "updated_at": _at("When it last changed (RFC 3339, UTC)."),
}
FAILURE = {"failure": text("Why it could not be made.")}
MADE = {
    "ruler": thing(
        "The ruler of its marks.",
        {"unit": text("in, mm or cm."), "step": length("The step of its marks.")},
    ),
    "tickets": {**TEXTS, "description": "The numbers of the tickets that it is of."},
    "pieces": listed(ref("PlanPiece"), "All that is wanted."),
    "items": listed(ref("PlanItem"), "Item by item."),
    "unplaced": listed(ref("PlanUnplaced"), "What it does not make, each with its reason."),
    "cautions": {**TEXTS, "description": "What to look out for."},
    "costs": ref("PlanCosts", "Only for keys that may see costs."),
}
OFFCUT: Shape = thing(
    "An offcut.",
    {
        "id": text("Its id."),
        "label": text("Its rack label, with a check digit: R100014."),
        "item": text("What it is of."),
        "status": growing(OFFCUT_LIFE.states, "Whether it is on the rack."),
        "place": text("Where it lies."),
        "reason": text("Why it was thrown away."),
        "cut_by": _label("The number of the plan that left it."),
        "used_by": _label("The number of the plan that took it."),
        "created_at": _at("When it was put on the rack (RFC 3339, UTC)."),
        "updated_at": _at("When it last changed (RFC 3339, UTC)."),
    },
    EXTENT,
)
CUTTING_ANSWERS: dict[str, Shape] = {
    **PARTS,
    "CuttingPlan": thing(
        "A cutting plan; one that is still being made has its progress alone.",
        HEAD,
        {**KEPT, **FAILURE, **MADE},
    ),
    "CuttingPlanList": thing(
        "A page of a list, newest first.",
        {
            "items": listed(
                thing("A plan without what is in it.", {**HEAD, **KEPT}, FAILURE), "The page."
            ),
            "next": NEXT,
        },
    ),
    "OffcutShown": OFFCUT,
    "OffcutList": thing(
        "A page of a list, newest first.",
        {"items": listed(ref("OffcutShown"), "The page."), "next": NEXT},
    ),
    "FromRack": thing(
        "What of a quote could be cut from the offcuts on the rack, as it stands now.",
        {
            "number": text("The quote's number."),
            "revision": whole("Its revision.", 1),
            "pieces": listed(
                thing(
                    "Equal pieces of a job.",
                    {
                        "job": whole("Which job of the quote, from 1.", 1),
                        "item": text("The item that they are of."),
                        "name": text("What they are."),
                        "quantity": whole("How many are needed.", 1),
                        "from_rack": whole("How many of them the rack gives."),
                        "offcuts": {**TEXTS, "description": "The labels of the offcuts."},
                    },
                    EXTENT,
                ),
                "All pieces that the shop cuts itself.",
            ),
            "offcuts": listed(
                thing(
                    "An offcut that would do.",
                    {
                        "label": text("Its rack label."),
                        "item": text("What it is of."),
                        "place": text("Where it lies."),
                        "pieces": whole("How many pieces come from it.", 1),
                    },
                    EXTENT,
                ),
                "The offcuts that this takes.",
            ),
            "complete": truth("Whether the rack gives all of them."),
        },
    ),
    "StockShown": thing(
        "How many of each size of an item there are.",
        {
            "item": text("The item."),
            "sizes": listed(
                thing(
                    "A size.",
                    {
                        "quantity": {
                            "type": ["integer", "null"],
                            "description": "How many there are; null where nobody counts.",
                        }
                    },
                    EXTENT,
                ),
                "Every size of the item.",
            ),
            "version": whole("Grows with every change; the number in the `ETag`."),
        },
    ),
    "StockList": thing(
        "Every item of which a size is counted.",
        {"items": listed(ref("StockShown"), "All of them."), "next": NEXT},
    ),
}
