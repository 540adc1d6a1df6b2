"""The catalogue in the OpenAPI document: items by kind, and their costs."""

from __future__ import annotations

from apispec import APISpec

from schemas.materials.catalogue import COST_DOCUMENT, ITEM_DOCUMENTS
from schemas.materials.documents import ItemCostsDocument
from schemas.openapi.operations.records import (
    BACK,
    BODY,
    CHANGES,
    LIFE,
    ONE,
    READS,
    UNCHANGED,
    add_change,
    add_record,
    answers,
    body,
    entry,
    shown_shape,
)
from schemas.openapi.parts import MOMENT, in_path, in_query, parameters, refusals
from schemas.openapi.shapes import NEXT, UNTIL, Shape, listed, object_shape, ref, text

PLACES = {
    "mouldings": ("moulding", "Mouldings"),
    "boards": ("board", "Boards"),
    "glazing": ("glazing", "Glazing"),
    "fillets": ("fillet", "Fillets"),
    "hardware": ("hardware", "Hardware"),
    "supplies": ("supply", "Supplies"),
}
"""The paths under /v1, with the kind and the title of each."""
PARAMETERS: dict[str, Shape] = {
    "code": in_path("code", "The shop's own code.", {"type": "string", "maxLength": 40}),
    "if_match": {
        "name": "If-Match",
        "in": "header",
        "required": True,
        "schema": {"type": "string"},
        "description": "The `ETag` of the version that is changed (RFC 9110).",
        "example": '"3"',
    },
    "group": in_query("group", "Only items of this price group."),
    "discontinued": in_query(
        "discontinued",
        "Only items that are no longer sold, or only those that are.",
        {"type": "string", "enum": ["true", "false"]},
    ),
    "q": in_query(
        "q",
        "Only items in whose code or description each of these words stands, whatever its case.",
    ),
    "items_updated_since": in_query(
        "updated_since",
        "Only items that changed at or after this: an instant with its offset, or "
        "a day, which is its first moment in the shop.",
        MOMENT,
    ),
}


def _name(kind: str) -> str:
    return kind.capitalize()


def catalogue_answers() -> dict[str, Shape]:
    """Return the shapes of the catalogue's answers."""
    found: dict[str, Shape] = {}
    for kind, document in ITEM_DOCUMENTS.items():
        doc = f"{(document.__doc__ or '').strip()} Never with its costs."
        found[f"{_name(kind)}Shown"] = shown_shape(document, doc, LIFE)
        row = ref(f"{_name(kind)}Shown")
        found[f"{_name(kind)}List"] = object_shape(
            "A page of a list, in the order of the codes.",
            {"items": listed(row, "The page."), "next": NEXT, "until": UNTIL},
        )
    cost = shown_shape(COST_DOCUMENT, "The cost of one unit.")
    del cost["properties"]["item"]
    cost["required"].remove("item")
    found["CostShown"] = cost
    found["ItemCostsShown"] = object_shape(
        "What an item costs the shop.",
        {
            "item": text("The item's code."),
            "costs": listed(
                ref("CostShown"), ItemCostsDocument().fields["costs"].metadata["description"]
            ),
            "version": LIFE["version"],
        },
    )
    return found


def add_catalogue_requests(spec: APISpec) -> None:
    """Add the request documents to the components, after those of jobs."""
    for name, shape in BACK.items():
        spec.components.schema(name, shape)
    for document in ITEM_DOCUMENTS.values():
        add_record(spec, document, LIFE)
        add_change(spec, document)
    add_record(spec, ItemCostsDocument(), ("version",))
    cost = spec.components.schemas["Cost"]
    del cost["properties"]["units"]
    cost["required"].remove("item")


def catalogue_paths() -> dict[str, Shape]:
    """Return the paths of the catalogue."""
    found: dict[str, Shape] = {}
    for place, (kind, title) in PLACES.items():
        found[f"/v1/{place}"] = {"get": _list(kind, title), "post": _create(kind)}
        found[f"/v1/{place}/{{code}}"] = {
            "parameters": parameters("code"),
            "get": _get(kind),
            "put": _put(kind),
        }
        for word, doc in (
            ("discontinue", "Take it off sale; it stays, and stored quotes keep it"),
            ("reinstate", "Put it on sale again"),
        ):
            found[f"/v1/{place}/{{code}}/{word}"] = {
                "parameters": parameters("code"),
                "post": _turn(kind, word, doc),
            }
    found["/v1/costs/{code}"] = {"parameters": parameters("code"), **_costs()}
    return found


def _list(kind: str, title: str) -> Shape:
    operation = f"list_{kind}_items"
    filters = ("group", "discontinued", "q", "items_updated_since", "limit", "cursor")
    return entry(
        operation,
        "Catalogue",
        f"{title}: those of the shop, in the order of their codes",
        "A page of the items of this kind, without their costs. `until` is "
        "where a later request for changes continues.",
        {
            **answers(operation, 200, "A page.", f"{_name(kind)}List", "Link"),
            **refusals(*READS),
        },
        *filters,
    )


def _create(kind: str) -> Shape:
    operation = f"create_{kind}"
    return entry(
        operation,
        "Catalogue",
        "A new one",
        "Its code must be free, whatever kind of item would have it.",
        {
            **answers(operation, 201, "Stored.", f"{_name(kind)}Shown", "Location", "ETag"),
            **refusals(400, 401, 403, 409, *BODY, 503),
        },
        sent=body(operation, f"{_name(kind)}Item"),
    )


def _get(kind: str) -> Shape:
    operation = f"get_{kind}"
    return entry(
        operation,
        "Catalogue",
        "One, by its code",
        "Without its costs, which have an address of their own.",
        {
            **answers(operation, 200, "It.", f"{_name(kind)}Shown", "ETag"),
            **UNCHANGED,
            **refusals(*ONE),
        },
    )


def _put(kind: str) -> Shape:
    operation = f"change_{kind}"
    return entry(
        operation,
        "Catalogue",
        "What it is from now on",
        "The whole document; a field that is left out goes back to its default. "
        "Its code stays as it is. An answer may be changed and sent back as it came.",
        {
            **answers(operation, 200, "Changed.", f"{_name(kind)}Shown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
        sent=body(operation, f"{_name(kind)}ItemChange"),
    )


def _turn(kind: str, word: str, doc: str) -> Shape:
    operation = f"{word}_{kind}"
    return entry(
        operation,
        "Catalogue",
        doc,
        "Changes nothing else of the item. Pressed again it changes nothing.",
        {
            **answers(operation, 200, "It, as it is now.", f"{_name(kind)}Shown", "ETag"),
            **refusals(*CHANGES, 422),
        },
    )


def _costs() -> Shape:
    return {
        "get": entry(
            "get_costs",
            "Catalogue",
            "What an item costs the shop",
            "Apart from the item, since a key that reads the catalogue need not see costs.",
            {
                **answers("get_costs", 200, "Its costs.", "ItemCostsShown", "ETag"),
                **UNCHANGED,
                **refusals(*ONE),
            },
        ),
        "put": entry(
            "change_costs",
            "Catalogue",
            "What it costs from now on",
            "The whole list of its costs; it replaces the one before. Stored "
            "quotes keep the costs they were calculated with.",
            {
                **answers("change_costs", 200, "Changed.", "ItemCostsShown", "ETag"),
                **refusals(*CHANGES, *BODY),
            },
            sent=body("change_costs", "ItemCosts"),
        ),
    }
