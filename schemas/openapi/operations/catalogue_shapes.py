"""The shapes of catalogue documents in OpenAPI: items by kind, and their costs."""

from __future__ import annotations

from apispec import APISpec

from schemas.materials.catalogue import COST_DOCUMENT, ITEM_DOCUMENTS
from schemas.materials.documents import ItemCostsDocument
from schemas.openapi.operations.records import BACK, LIFE, add_change, add_record, shown_shape
from schemas.openapi.shapes import NEXT, UNTIL, Shape, listed, object_shape, ref, text


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
