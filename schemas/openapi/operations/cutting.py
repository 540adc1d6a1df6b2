"""Cutting plans, the offcut rack and stock in the OpenAPI document."""

from __future__ import annotations

from apispec import APISpec

from schemas.cutting.records import PLAN_LIFE
from schemas.cutting.request import PLAN_REQUEST
from schemas.materials.records import OFFCUT_LIFE
from schemas.materials.stock import DISCARD, OFFCUT, OFFCUT_CHANGE, STOCK
from schemas.openapi.operations.quote_life import (
    BYTES,
    PAPER,
    SVG,
    TEXT,
    in_every_form,
    step,
)
from schemas.openapi.operations.records import (
    BODY,
    CHANGES,
    ONE,
    READS,
    UNCHANGED,
    add_record,
    answers,
    body,
    entry,
)
from schemas.openapi.parts import in_path, in_query, parameters, refusals
from schemas.openapi.shapes import Shape

PLAN, PLACE = "/v1/cutting-plans/{plan}", "/v1/offcuts/{offcut}"
PLANS, OFFCUTS, STOCKS = "Cutting plans", "Offcuts", "Stock"


CUTTING_PARAMETERS: dict[str, Shape] = {
    "plan": in_path("plan", "The plan's `id`, or its `number` as people write it."),
    "plan_item": in_path(
        "item", "Which of the plan's items, from 1.", {"type": "integer", "minimum": 1}
    ),
    "plan_use": in_path(
        "use", "Which of the item's sheets or sticks, from 1.", {"type": "integer", "minimum": 1}
    ),
    "plan_status": in_query(
        "status", "Only plans in this state.", {"type": "string", "enum": list(PLAN_LIFE.states)}
    ),
    "offcut": in_path("offcut", "The offcut's `id`, or its `label` as people write it."),
    "offcut_status": in_query(
        "status", "Only offcuts like this.", {"type": "string", "enum": list(OFFCUT_LIFE.states)}
    ),
    "offcut_item": in_query("item", "Only offcuts of this item."),
    "least_width": in_query("least_width", "Only offcuts that are at least so wide, or so long."),
    "least_height": in_query("least_height", "Only offcuts that are at least so high."),
    "stock_item": in_path("item", "The item's code."),
}


def add_cutting_requests(spec: APISpec) -> None:
    """Add the request documents to the components."""
    for document in (PLAN_REQUEST, OFFCUT, OFFCUT_CHANGE, DISCARD, STOCK):
        add_record(spec, document)


def cutting_paths() -> dict[str, Shape]:
    """Return every path of cutting plans, offcuts and stock."""
    return {**_plans(), **_steps(), **_offcuts(), **_from_rack(), **_stock()}


def _from_rack() -> dict[str, Shape]:
    found = answers("get_quote_from_rack", 200, "What the rack gives.", "FromRack")
    operation = entry(
        "get_quote_from_rack",
        OFFCUTS,
        "What of a quote could be cut from the rack",
        "As the rack stands now, by a plan that may buy nothing; several pieces may come from one "
        "offcut. Nothing is taken or kept for the quote, and no price changes: that is done by "
        "committing a cutting plan of its tickets.",
        {**found, **refusals(400, 401, 403, 404, 409, 503)},
    )
    return {
        "/v1/quotes/{quote_id}/from-rack": {"parameters": parameters("quote_id"), "get": operation}
    }


def _plans() -> dict[str, Shape]:
    one = in_every_form(answers("get_cutting_plan", 200, "It.", "CuttingPlan", "ETag"))
    listed = answers("list_cutting_plans", 200, "A page.", "CuttingPlanList", "Link")
    drawn = {"200": {"description": "The drawing.", "content": {SVG: TEXT}}}
    labels = {"200": {"description": "The labels.", "content": {PAPER: BYTES}}}
    return {
        "/v1/cutting-plans": {
            "get": {
                **entry(
                    "list_cutting_plans",
                    PLANS,
                    "The shop's stored plans, newest first",
                    "Without what is in them.",
                    {**listed, **refusals(*READS)},
                ),
                "parameters": parameters("limit", "cursor", "plan_status"),
            },
            "post": _create_plan(),
        },
        PLAN: {
            "parameters": parameters("plan"),
            "get": {
                **entry(
                    "get_cutting_plan",
                    PLANS,
                    "One plan, by its id or its number",
                    "By `Accept` as JSON, as a page that prints with every drawing, or on paper as "
                    "PDF. While it is being made, `progress` says how far it is; there is nothing "
                    "to be printed then (409).",
                    {**one, **UNCHANGED, **refusals(400, 401, 403, 404, 406, 409, 503)},
                ),
                "parameters": parameters("paper"),
            },
        },
        f"{PLAN}/labels.pdf": {
            "parameters": parameters("plan"),
            "get": {
                **entry(
                    "get_cutting_plan_labels",
                    PLANS,
                    "The labels of its pieces, or of what it keeps",
                    "For each piece, or once it is committed for each offcut, in the order of the "
                    "cuts: its name with a code for a scanner, its item and its size.",
                    {**labels, **refusals(400, 401, 403, 404, 409, 503)},
                ),
                "parameters": parameters("labels_of", "label_stock"),
            },
        },
        f"{PLAN}/items/{{item}}/uses/{{use}}/drawing.svg": {
            "parameters": parameters("plan", "plan_item", "plan_use"),
            "get": entry(
                "get_cutting_plan_drawing",
                PLANS,
                "One sheet or stick, to scale",
                "Every piece with its size; offcuts to keep are pale, waste is dark.",
                {**drawn, **refusals(400, 401, 403, 404, 409, 503)},
            ),
        },
    }


def _create_plan() -> Shape:
    made = answers("create_cutting_plan", 200, "Made; nothing is stored.", "CuttingPlan")
    stored = answers(
        "create_cutting_plan", 201, "Made and stored.", "CuttingPlan", "Location", "ETag"
    )
    later = answers(
        "create_cutting_plan", 202, "Being made; ask at `Location`.", "CuttingPlan",
        "Location", "ETag", "Retry-After",
    )  # fmt: skip
    return entry(
        "create_cutting_plan",
        PLANS,
        "Plan which sheet and which stick each piece comes from",
        "Pieces of tickets, or a list. Sheets are cut edge to edge only; sticks "
        "with the saw's kerf at each mitre and their ends trimmed; all rails of a frame come from "
        "one stick where the pattern runs. Offcuts go first. Every plan has passed an independent "
        "check. Pieces that no stock takes are named in `unplaced`, and the rest is planned. Lots "
        "that the bench has begun, and those of committed plans, are not planned again. The same "
        "request on the same stock gives the same plan.",
        {
            **made,
            **stored,
            **later,
            **refusals(400, 401, 403, 409, *BODY, 503),
        },
        sent=body("create_cutting_plan", "CuttingPlanRequest"),
    )


_STEPS = (
    (
        "commit",
        "Take what it takes, book what it leaves",
        "From `planned` to `committed`: offcuts are taken off the rack, sheets and sticks from the "
        "shop's stock as far as they are counted there, new offcuts go on the rack with labels, "
        "and its pieces are planned for good. All of it or nothing: where somebody was faster, it "
        "is refused (409) and nothing has changed.",
    ),
    (
        "undo",
        "Give back what it took",
        "From `committed` to `undone`, with everything as it was before; refused (409) once the "
        "bench has begun a piece of it, or an offcut that it booked is used or thrown away.",
    ),
    (
        "cancel",
        "Stop it, or give it up",
        "Before it is committed. One that is being made stops at its next step.",
    ),
)


def _steps() -> dict[str, Shape]:
    found: dict[str, Shape] = {}
    for name, summary, doc in _STEPS:
        operation = f"{name}_cutting_plan"
        answer = answers(operation, 200, "The plan as it is now.", "CuttingPlan", "ETag")
        made = step(operation, PLANS, summary, doc, ("Nothing", False), answer)
        found[f"{PLAN}/{name}"] = {"parameters": parameters("plan"), **made}
    return found


def _offcuts() -> dict[str, Shape]:
    listed = answers("list_offcuts", 200, "A page.", "OffcutList", "Link")
    filters = ("offcut_status", "offcut_item", "least_width", "least_height")
    created = answers("create_offcut", 201, "On the rack.", "OffcutShown", "Location", "ETag")
    gone = answers("discard_offcut", 200, "It is gone.", "OffcutShown", "ETag")
    discard = step(
        "discard_offcut",
        OFFCUTS,
        "Throw it away",
        "From `on_rack` to `discarded`.",
        ("Discard", False),
        gone,
    )
    return {
        "/v1/offcuts": {
            "get": {
                **entry(
                    "list_offcuts",
                    OFFCUTS,
                    "The shop's offcuts, newest first",
                    "Of every state; `status=on_rack` for those that are there.",
                    {**listed, **refusals(*READS)},
                ),
                "parameters": parameters("limit", "cursor", *filters),
            },
            "post": entry(
                "create_offcut",
                OFFCUTS,
                "Put one on the rack by hand",
                "It gets a label of its own.",
                {**created, **refusals(400, 401, 403, 409, *BODY, 503)},
                sent=body("create_offcut", "OffcutRequest"),
            ),
        },
        PLACE: {
            "parameters": parameters("offcut"),
            "get": entry(
                "get_offcut",
                OFFCUTS,
                "One offcut, by its id or its label",
                "With the plan that left it and the plan that took it.",
                {
                    **answers("get_offcut", 200, "It.", "OffcutShown", "ETag"),
                    **UNCHANGED,
                    **refusals(*ONE),
                },
            ),
            "patch": _moved(),
        },
        f"{PLACE}/discard": {"parameters": parameters("offcut"), **discard},
        f"{PLACE}/label.svg": _label("svg", SVG),
        f"{PLACE}/label.pdf": _label("pdf", "application/pdf"),
    }


def _moved() -> Shape:
    moved = answers("change_offcut", 200, "As it is now.", "OffcutShown", "ETag")
    return entry(
        "change_offcut",
        OFFCUTS,
        "Say where it lies now",
        "Of one that is on the rack. Its label changes with it.",
        {**moved, **refusals(*CHANGES, *BODY)},
        sent=body("change_offcut", "OffcutChange"),
    )


def _label(form: str, media: str) -> Shape:
    answer = {"200": {"description": "The label.", "content": {media: TEXT}}}
    operation = entry(
        f"get_offcut_label_{form}",
        OFFCUTS,
        f"Its rack label as {form.upper()}",
        "With a code to be read by a scanner; 62 by 29 mm unless `label_stock` says otherwise.",
        {**answer, **refusals(*ONE)},
    )
    if form == "pdf":
        operation["parameters"] = parameters("label_stock")
    return {"parameters": parameters("offcut"), "get": operation}


def _stock() -> dict[str, Shape]:
    one = answers("get_stock", 200, "It.", "StockShown", "ETag")
    changed = answers("change_stock", 200, "Counted.", "StockShown", "ETag")
    return {
        "/v1/stock": {
            "get": entry(
                "list_stock",
                STOCKS,
                "Every item of which a size is counted",
                "In the order of the codes.",
                {**answers("list_stock", 200, "All.", "StockList"), **refusals(*READS)},
            )
        },
        "/v1/stock/{item}": {
            "parameters": parameters("stock_item"),
            "get": entry(
                "get_stock",
                STOCKS,
                "How many of each size of an item there are",
                "Sizes that nobody counts have null; their version is 0 until one is counted.",
                {**one, **UNCHANGED, **refusals(*ONE)},
            ),
            "put": entry(
                "change_stock",
                STOCKS,
                "Count an item",
                "Sizes that are left out keep their count. Committed plans take "
                "from it; what it does not hold they list as to be bought.",
                {**changed, **refusals(*CHANGES, *BODY)},
                sent=body("change_stock", "StockRequest"),
            ),
        },
    }
