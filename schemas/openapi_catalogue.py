"""The catalogue's part of the OpenAPI document: items by kind, and what they cost."""

from __future__ import annotations

from typing import Any

from apispec import APISpec

from schemas.answer_shapes import Shape, listed, number, ref, text, thing, whole
from schemas.answer_shapes_quotes import INSTANT
from schemas.catalogue import COST_DOCUMENT, ITEM_DOCUMENTS, ItemDocument
from schemas.documents import Document, Several
from schemas.fields import ExactNumber, LengthField, SizeField, WireField
from schemas.items import ItemCostsDocument
from schemas.openapi_examples import answer_examples, request_examples
from schemas.openapi_parts import header_refs, refusals, scopes

JSON = "application/json"
PLACES = {
    "mouldings": ("moulding", "Mouldings"),
    "boards": ("board", "Boards"),
    "glazing": ("glazing", "Glazing"),
    "fillets": ("fillet", "Fillets"),
    "hardware": ("hardware", "Hardware"),
    "supplies": ("supply", "Supplies"),
}
"""The addresses under /v1, with the kind that each is of, and what people call them."""
READS = (400, 401, 403, 503)
ONE = (400, 401, 403, 404, 503)
CHANGES = (400, 401, 403, 404, 409, 412, 428, 503)
BODY = (413, 415, 422)

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
    "uv_percent": "How much ultraviolet it keeps off, in percent; goes with `uv_range`.",
    "uv_range": "Over which wavelengths that was measured.",
    "finish": "Its finish, such as clear or etched.",
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
PARAMETERS: dict[str, Shape] = {
    "code": {
        "name": "code",
        "in": "path",
        "required": True,
        "schema": {"type": "string", "maxLength": 40},
        "description": "The shop's own code.",
    },
    "if_match": {
        "name": "If-Match",
        "in": "header",
        "required": True,
        "schema": {"type": "string"},
        "description": "The `ETag` of the version that is changed (RFC 9110).",
        "example": '"3"',
    },
    "group": {
        "name": "group",
        "in": "query",
        "required": False,
        "schema": {"type": "string"},
        "description": "Only items of this price group.",
    },
    "discontinued": {
        "name": "discontinued",
        "in": "query",
        "required": False,
        "schema": {"type": "string", "enum": ["true", "false"]},
        "description": "Only items that are no longer sold, or only those that are.",
    },
    "q": {
        "name": "q",
        "in": "query",
        "required": False,
        "schema": {"type": "string"},
        "description": "Only items in whose code or description each of these words stands, "
        "whatever its case.",
    },
    "items_updated_since": {
        "name": "updated_since",
        "in": "query",
        "required": False,
        "schema": {"type": "string", "examples": ["2026-11-25T18:00:00Z", "2026-11-25"]},
        "description": "Only items that changed at or after this: an instant with its offset, or "
        "a day, which is its first moment in the shop.",
    },
}
LIFE: dict[str, Shape] = {
    "version": whole("Grows with every change; the number in the `ETag`.", 1),
    "updated_at": {**INSTANT, "description": "When it last changed (RFC 3339, UTC)."},
}


def _name(kind: str) -> str:
    return kind.capitalize()


def shown_shape(document: Document, said: str, words: dict[str, str], more: Shape) -> Shape:
    """The shape of an answer that is written through a schema, lengths in their three forms."""
    needed = {
        field.data_key or name: {**_shown(field), "description": words[field.data_key or name]}
        for name, field in document.dump_fields.items()
    }
    return thing(said, {**needed, **more})


def _shown(field: Any) -> Shape:
    if isinstance(field, Several):
        return listed(_shown(field.inner), "")
    if isinstance(field, LengthField):
        made = ref("Length")
    elif isinstance(field, SizeField):
        made = ref("Size")
    elif isinstance(field, ExactNumber):
        made = number("")
    elif isinstance(field, WireField):
        made = field.json_shape()
    else:
        raise TypeError(f"{field} has no shape here")
    return {"anyOf": [made, {"type": "null"}]} if field.allow_none else made


def catalogue_answers() -> dict[str, Shape]:
    """The shapes of the catalogue's answers."""
    found: dict[str, Shape] = {}
    for kind, document in ITEM_DOCUMENTS.items():
        said = f"{(document.__doc__ or '').strip()} Never with its costs."
        found[f"{_name(kind)}Shown"] = shown_shape(document, said, WORDS, LIFE)
        row = ref(f"{_name(kind)}Shown")
        found[f"{_name(kind)}List"] = thing(
            "A page of a list, in the order of the codes.",
            {
                "items": listed(row, "The page."),
                "next": {
                    "type": ["string", "null"],
                    "description": "The cursor of the next page; null on the last one.",
                },
            },
        )
    cost = shown_shape(COST_DOCUMENT, "What one of a basis costs.", COST_WORDS, {})
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
    """Put the documents that are sent among the components; after those of jobs."""
    for kind, document in ITEM_DOCUMENTS.items():
        name = f"{_name(kind)}Item"
        spec.components.schema(name, schema=type(document))
        describe(spec, name, document, WORDS)
    spec.components.schema("ItemCosts", schema=ItemCostsDocument)
    describe(spec, "ItemCosts", ItemCostsDocument(), COST_WORDS)
    describe(spec, "Cost", COST_DOCUMENT, COST_WORDS)
    del spec.components.schemas["Cost"]["properties"]["units"]
    spec.components.schemas["Cost"]["required"].remove("item")


def describe(spec: APISpec, name: str, document: Document, words: dict[str, str]) -> None:
    """Say what a document that is sent is, and what each of its fields means."""
    shape = _as_shown_too(spec.components.schemas[name])
    spec.components.schemas[name] = shape
    shape["description"] = (document.__doc__ or "").strip()
    for field, inner in shape["properties"].items():
        inner["description"] = words[field]
    if isinstance(document, ItemDocument):
        for told in LIFE:  # what an answer tells is taken back and passed over
            inner = {"description": "Told by answers; passed over when it is sent."}
            shape["properties"][told] = inner


def _as_shown_too(part: Any) -> Any:
    """A length or a size may be sent as text, or as answers show it."""
    if isinstance(part, list):
        return [_as_shown_too(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    for kind in ("Length", "Size"):
        sent = {"$ref": f"#/components/schemas/{kind}Input"}
        if part.get("$ref") == sent["$ref"]:
            rest = {name: inner for name, inner in part.items() if name != "$ref"}
            return {"anyOf": [sent, ref(kind)], **rest}
    return {name: _as_shown_too(inner) for name, inner in part.items()}


def answers(operation: str, status: int, said: str, schema: str, *headers: str) -> Shape:
    """The answer of an operation that is well, with its examples."""
    media: Shape = {"schema": {"$ref": f"#/components/schemas/{schema}"}}
    media["examples"] = answer_examples(operation, status)
    answer: Shape = {"description": said, "content": {JSON: media}}
    answer["headers"] = header_refs(*headers)
    return {str(status): answer}


def body(operation: str, schema: str) -> Shape:
    """The document that an operation takes."""
    media: Shape = {"schema": {"$ref": f"#/components/schemas/{schema}"}}
    media["examples"] = request_examples(operation)
    return {"required": True, "content": {JSON: media}}


def named(*names: str) -> list[Shape]:
    """Parameters by name."""
    return [{"$ref": f"#/components/parameters/{name}"} for name in names]


UNCHANGED: Shape = {"304": {"description": "What `If-None-Match` names is what there is."}}
READERS = scopes("price", "counter", "bench", "reports")


def catalogue_paths() -> dict[str, Shape]:
    """The addresses of the catalogue."""
    found: dict[str, Shape] = {}
    for place, (kind, title) in PLACES.items():
        found[f"/v1/{place}"] = {"get": _list(kind, title), "post": _create(kind)}
        found[f"/v1/{place}/{{code}}"] = {
            "parameters": named("code"),
            "get": _get(kind),
            "put": _put(kind),
        }
        for word, said in (
            ("discontinue", "Take it off sale; it stays, and stored quotes keep it"),
            ("reinstate", "Put it on sale again"),
        ):
            found[f"/v1/{place}/{{code}}/{word}"] = {
                "parameters": named("code"),
                "post": _turn(kind, word, said),
            }
    found["/v1/costs/{code}"] = {"parameters": named("code"), **_costs()}
    return found


def _list(kind: str, title: str) -> Shape:
    operation = f"list_{kind}_items"
    filters = ("group", "discontinued", "q", "items_updated_since", "limit", "cursor")
    return {
        "operationId": operation,
        "tags": ["Catalogue"],
        "summary": f"{title}: those of the shop, in the order of their codes",
        "security": READERS,
        "parameters": named(*filters),
        "responses": {
            **answers(operation, 200, "A page.", f"{_name(kind)}List", "Link"),
            **refusals(*READS),
        },
    }


def _create(kind: str) -> Shape:
    operation = f"create_{kind}"
    return {
        "operationId": operation,
        "tags": ["Catalogue"],
        "summary": "A new one",
        "description": "Its code must be free, whatever kind of item would have it.",
        "security": scopes("admin"),
        "requestBody": body(operation, f"{_name(kind)}Item"),
        "responses": {
            **answers(operation, 201, "Stored.", f"{_name(kind)}Shown", "Location", "ETag"),
            **refusals(400, 401, 403, 409, *BODY, 503),
        },
    }


def _get(kind: str) -> Shape:
    operation = f"get_{kind}"
    return {
        "operationId": operation,
        "tags": ["Catalogue"],
        "summary": "One, by its code",
        "security": READERS,
        "responses": {
            **answers(operation, 200, "It.", f"{_name(kind)}Shown", "ETag"),
            **UNCHANGED,
            **refusals(*ONE),
        },
    }


def _put(kind: str) -> Shape:
    operation = f"change_{kind}"
    return {
        "operationId": operation,
        "tags": ["Catalogue"],
        "summary": "What it is from now on",
        "description": "The whole document; a field that is left out goes back to its default. "
        "Its code stays as it is. An answer may be changed and sent back as it came.",
        "security": scopes("admin"),
        "parameters": named("if_match"),
        "requestBody": body(operation, f"{_name(kind)}Item"),
        "responses": {
            **answers(operation, 200, "Changed.", f"{_name(kind)}Shown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
    }


def _turn(kind: str, word: str, said: str) -> Shape:
    operation = f"{word}_{kind}"
    return {
        "operationId": operation,
        "tags": ["Catalogue"],
        "summary": said,
        "security": scopes("admin"),
        "parameters": named("if_match"),
        "responses": {
            **answers(operation, 200, "It, as it is now.", f"{_name(kind)}Shown", "ETag"),
            **refusals(*CHANGES),
        },
    }


def _costs() -> Shape:
    return {
        "get": {
            "operationId": "get_costs",
            "tags": ["Catalogue"],
            "summary": "What an item costs the shop",
            "description": "Apart from the item, since a key that reads the catalogue need not "
            "see costs.",
            "security": scopes("counter", "reports"),
            "responses": {
                **answers("get_costs", 200, "Its costs.", "ItemCostsShown", "ETag"),
                **UNCHANGED,
                **refusals(*ONE),
            },
        },
        "put": {
            "operationId": "change_costs",
            "tags": ["Catalogue"],
            "summary": "What it costs from now on",
            "security": scopes("admin"),
            "parameters": named("if_match"),
            "requestBody": body("change_costs", "ItemCosts"),
            "responses": {
                **answers("change_costs", 200, "Changed.", "ItemCostsShown", "ETag"),
                **refusals(*CHANGES, *BODY),
            },
        },
    }
