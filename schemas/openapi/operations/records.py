"""The shared functions of the OpenAPI document for the shop's own records.

Such a record is read, changed and sent back: lengths are shown in three forms, which are accepted
unchanged, and a version is shown, which is ignored when sent back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from apispec import APISpec

from schemas.openapi.examples import answer_examples, request_examples
from schemas.openapi.parts import header_refs, parameters
from schemas.openapi.requests import describe, parts_of, schema_name
from schemas.openapi.shapes import INSTANT, NOTHING, Shape, listed, object_shape, ref, whole
from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Several
from schemas.wire.fields import ExactNumber
from schemas.wire.lengths import LengthField, SizeField

JSON = "application/json"
READS = (400, 401, 403, 503)
ONE = (400, 401, 403, 404, 503)
CHANGES = (400, 401, 403, 404, 409, 412, 428, 503)
BODY = (413, 415, 422)

LIFE: dict[str, Shape] = {
    "version": whole("Grows with every change; the number in the `ETag`.", 1),
    "updated_at": {**INSTANT, "description": "When it last changed (RFC 3339, UTC)."},
}


def _exact(unit: str) -> Shape:
    told = f"Exact {unit}. At least one of `mm` and `in` is needed; two must say the same."
    return {"type": ["string", "number"], "description": told}


_LENGTH = {"anyOf": [ref("LengthInput"), ref("LengthBack")]}
BACK: dict[str, Shape] = {
    "LengthBack": {
        "type": "object",
        "description": "A length as answers show it, sent back; changed or not.",
        "properties": {
            "in": _exact("inches"),
            "mm": _exact("millimetres"),
            "shop": {"description": "Passed over: it is rounded."},
        },
        "minProperties": 1,
        "additionalProperties": False,
    },
    "SizeBack": {
        "type": "object",
        "description": "A size as answers show it, sent back; changed or not.",
        "properties": {
            "width": {**_LENGTH, "description": "Its width."},
            "height": {**_LENGTH, "description": "Its height."},
        },
        "required": ["width", "height"],
        "additionalProperties": False,
    },
}
"""The shapes of values shown in three forms, as they may be sent back."""
UNCHANGED: Shape = {"304": {"description": "What `If-None-Match` names is what there is."}}


def shown_shape(document: Document, doc: str, more: Mapping[str, Shape] = NOTHING) -> Shape:
    """Return the shape of an answer dumped through a schema, lengths in their three forms.

    Args:
        document: the schema.
        doc: the description of the answer; the schema's own if empty.
        more: additional fields.
    """
    needed = {}
    for name, field in document.dump_fields.items():
        key = field.data_key or name
        needed[key] = {**_shown(field), "description": field.metadata["description"]}
    return object_shape(doc or _doc(document), {**needed, **more})


def _shown(field: Any) -> Shape:
    if isinstance(field, Several):
        return listed(_shown(field.inner), "")
    if isinstance(field, Part):
        made = shown_shape(field.document, "")
    elif isinstance(field, LengthField):
        made = ref("Length")
    elif isinstance(field, SizeField):
        made = ref("Size")
    elif isinstance(field, ExactNumber):
        made = ref("ExactNumber")
    elif isinstance(field, WireField):
        made = field.json_shape()
    else:
        raise TypeError(f"{field} has no shape here")
    return {"anyOf": [made, {"type": "null"}]} if field.allow_none else made


def _doc(document: Document) -> str:
    return (document.__doc__ or "").strip()


def add_record(spec: APISpec, document: Document, told: Iterable[str] = ()) -> None:
    """Add a request document to the components, with all its parts.

    Args:
        spec: the document of the contract.
        document: the schema.
        told: further fields, which answers contain and requests may return.
    """
    name = schema_name(document)
    if name not in spec.components.schemas:
        spec.components.schema(name, schema=type(document))
    for part in parts_of(document):
        add_record(spec, part)
    shape = _as_shown_too(spec.components.schemas[name])
    spec.components.schemas[name] = shape
    describe(shape, document)
    for field in told:
        inner = {"description": "Told by answers; passed over when it is sent."}
        shape["properties"][field] = inner


def add_change(spec: APISpec, document: Document) -> str:
    """Add the same document to the components as taken by a change, and return its name.

    The path then contains the code, so it may be omitted.
    """
    name = schema_name(document)
    sent = spec.components.schemas[name]
    needed = [field for field in sent["required"] if field != "code"]
    told = {"description": f"{_doc(document)} As a change sends it: the code may be left out."}
    spec.components.schema(f"{name}Change", {**sent, "required": needed, **told})
    return f"{name}Change"


def _as_shown_too(part: Any) -> Any:
    """Return the part with lengths and sizes accepted as text, or as answers show them."""
    if isinstance(part, list):
        return [_as_shown_too(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    for kind in ("Length", "Size"):
        sent = ref(f"{kind}Input")
        if part.get("$ref") == sent["$ref"]:
            rest = {name: inner for name, inner in part.items() if name != "$ref"}
            return {"anyOf": [sent, ref(f"{kind}Back")], **rest}
    return {name: _as_shown_too(inner) for name, inner in part.items()}


def answers(operation: str, status: int, doc: str, schema: str, *headers: str) -> Shape:
    """Return the successful answer of an operation, with its examples."""
    media: Shape = {"schema": {"$ref": f"#/components/schemas/{schema}"}}
    if found := answer_examples(operation, status):
        media["examples"] = found
    answer: Shape = {"description": doc, "content": {JSON: media}}
    if headers:
        answer["headers"] = header_refs(*headers)
    return {str(status): answer}


def body(operation: str, schema: str) -> Shape:
    """Return the request body of an operation."""
    media: Shape = {"schema": {"$ref": f"#/components/schemas/{schema}"}}
    media["examples"] = request_examples(operation)
    return {"required": True, "content": {JSON: media}}


def entry(
    name: str, tag: str, summary: str, doc: str, responses: Shape, *asked: str,
    sent: Shape | None = None,
) -> Shape:  # fmt: skip
    """Return an operation: its parameters by the names of their components, and its body.

    Scopes and headers are added from the route.
    """
    made: Shape = {"operationId": name, "tags": [tag], "summary": summary, "description": doc}
    if asked:
        made["parameters"] = parameters(*asked)
    if sent is not None:
        made["requestBody"] = sent
    return {**made, "responses": responses}
