"""The shapes of catalogue documents in OpenAPI: items by kind, and their costs."""

from __future__ import annotations

from apispec import APISpec

from schemas.materials.catalogue import COST_DOCUMENT, ITEM_DOCUMENTS, ItemCostsDocument
from schemas.openapi.operations.records import BACK, LIFE, add_change, add_record, shown_shape
from schemas.openapi.requests import schema_name
from schemas.openapi.shapes import NEXT, UNTIL, Shape, listed, ref, text, thing

WORDS: dict[str, str] = {
    "code": "The shop's own code: one thing for good, whatever its kind. No slash in it.",
    "description": "What it is called.",
    "group": "Its price group: a price rule can name all of a group at once.",
    "discontinued": "Whether it is no longer sold. New jobs cannot use it; stored quotes keep it.",
    "units": "The unit of bare lengths. Default: the shop's own.",
    "kind": "What kind of item it is.",
    "face_width": "The full width, seen from the front.",
    "rabbet_width": "The lip that covers the package; nothing for a floater profile.",
    "rabbet_depth": "The room for the package.",
    "stick_lengths": "The lengths that it is bought in.",
    "weight_kg_per_m": "Its weight, in kg a metre.",
    "supplies": "How it is sold: as a length of stick, chopped to size, or joined.",
    "material": "What it is made of.",
    "colour": "Its colour.",
    "pattern_runs": "Whether all rails of a frame should come from one stick.",
    "floater": "Whether it is a profile that stands off the picture and covers nothing.",
    "thickness": "How thick it is.",
    "sheets": "The stock sheets it is bought in.",
    "weight_kg_per_m2": "Its weight, in kg a square metre.",
    "uses": "What it is used for: mat, mount or backing.",
    "ply": "Its plies, where it is sold by them.",
    "grade": "Its preservation grade, 1 preserving most and 4 least.",
    "grain": "Whether it must not be turned on the sheet.",
    "cut_by": "What cuts it to size: `scored` takes nothing, `saw` and `table` take what the "
    "shop's settings say. Default: scored.",
    "edge_trim": "What is trimmed off each edge of a new sheet before it is cut. Default nothing.",
    "worked_as": "The material that decides how the bench works it. Empty: its plies and its tool "
    "decide.",
    "uv_percent": "How much ultraviolet it keeps off, in percent; goes with `uv_range`.",
    "uv_range": "Over which wavelengths that was measured.",
    "finish": "Its finish, such as clear or etched.",
    "build": "How it is made: plain, coated, laminated or a mirror, on which its cutting depends. "
    "Default: plain.",
    "density_kg_per_m3": "What a cubic metre weighs; left out or 0, that of its material.",
    "width": "What shows of it.",
    "depth": "What it adds to the stack.",
    "role": "What it does on a job.",
    "rating_kg": "The packet's figure for one set as it is fitted.",
}
COST_WORDS = {
    "item": "The item's code; that of the address where it is left out.",
    "basis": "What the cost is for.",
    "cost": "What one of that costs the shop, in its currency.",
    "sheet": "The sheet that is meant, where the cost is for a sheet.",
    "costs": "In the order in which they are looked at: the first whose basis a use has counts.",
    "units": WORDS["units"],
}


ALL = {
    **{schema_name(document): WORDS for document in ITEM_DOCUMENTS.values()},
    "Cost": COST_WORDS,
    "ItemCosts": COST_WORDS,
}


def _name(kind: str) -> str:
    return kind.capitalize()


def catalogue_answers() -> dict[str, Shape]:
    """Return the shapes of the catalogue's answers."""
    found: dict[str, Shape] = {}
    for kind, document in ITEM_DOCUMENTS.items():
        said = f"{(document.__doc__ or '').strip()} Never with its costs."
        found[f"{_name(kind)}Shown"] = shown_shape(document, said, ALL, LIFE)
        row = ref(f"{_name(kind)}Shown")
        found[f"{_name(kind)}List"] = thing(
            "A page of a list, in the order of the codes.",
            {"items": listed(row, "The page."), "next": NEXT, "until": UNTIL},
        )
    cost = shown_shape(COST_DOCUMENT, "What one of a basis costs.", ALL)
    del cost["properties"]["item"]
    cost["required"].remove("item")
    found["CostShown"] = cost
    found["ItemCostsShown"] = thing(
        "What an item costs the shop.",
        {
            "item": text("The item's code."),
            "costs": listed(ref("CostShown"), COST_WORDS["costs"]),
            "version": LIFE["version"],
        },
    )
    return found


def add_catalogue_requests(spec: APISpec) -> None:
    """Add the request documents to the components, after those of jobs."""
    for name, shape in BACK.items():
        spec.components.schema(name, shape)
    for document in ITEM_DOCUMENTS.values():
        add_record(spec, document, ALL, LIFE)
        add_change(spec, document)
    add_record(spec, ItemCostsDocument(), ALL, ("version",))
    cost = spec.components.schemas["Cost"]
    del cost["properties"]["units"]
    cost["required"].remove("item")
