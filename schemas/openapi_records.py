"""What the parts of the OpenAPI document for the shop's own records have in common.

Such a record is read, changed and sent back: it is shown with its lengths in three forms, which are
taken back as they are, and with a version, which is told and passed over.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from apispec import APISpec

from schemas.answer_shapes import Shape, listed, number, ref, thing, whole
from schemas.answer_shapes_quotes import INSTANT
from schemas.documents import Document, Several
from schemas.fields import ExactNumber, LengthField, SizeField, WireField
from schemas.openapi_examples import answer_examples, request_examples
from schemas.openapi_parts import header_refs

JSON = "application/json"
READS = (400, 401, 403, 503)
ONE = (400, 401, 403, 404, 503)
CHANGES = (400, 401, 403, 404, 409, 412, 428, 503)
BODY = (413, 415, 422)

LIFE: dict[str, Shape] = {
    "version": whole("Grows with every change; the number in the `ETag`.", 1),
    "updated_at": {**INSTANT, "description": "When it last changed (RFC 3339, UTC)."},
}


NEXT: Shape = {
    "type": ["string", "null"],
    "description": "The cursor of the next page; null on the last one.",
}
UNCHANGED: Shape = {"304": {"description": "What `If-None-Match` names is what there is."}}


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


def describe(
    spec: APISpec, name: str, document: Document, words: dict[str, str], told: Iterable[str] = ()
) -> None:
    """Say what a document that is sent is, and what each of its fields means.

    Args:
        spec: where it stands among the components.
        name: its name there.
        document: its schema.
        words: what each field means.
        told: further fields, which answers tell and requests may bring back.
    """
    shape = _as_shown_too(spec.components.schemas[name])
    spec.components.schemas[name] = shape
    shape["description"] = (document.__doc__ or "").strip()
    for field, inner in shape["properties"].items():
        inner["description"] = words[field]
    for name_told in told:
        inner = {"description": "Told by answers; passed over when it is sent."}
        shape["properties"][name_told] = inner


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
