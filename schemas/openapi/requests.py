"""The documents that are sent, as JSON Schema: made by apispec from the schemas that read them.

Nothing of a field's shape is said here a second time: each field tells its own (`json_shape`). What
stands here is what a field means, in words, since a caller reads those first.
"""

from __future__ import annotations

from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from schemas import jobs
from schemas.wire.base import WireField
from schemas.wire.document import Several
from schemas.wire.lengths import LengthField, SidesField, SizeField

Shape = dict[str, Any]
SENT = (
    jobs.GridDocument,
    jobs.PlacedWindowDocument,
    jobs.QuoteRequestDocument,
    jobs.SweepRequestDocument,
)
SHARED: dict[type[WireField[Any]], str] = {
    LengthField: "LengthInput",
    SizeField: "SizeInput",
    SidesField: "SidesInput",
}
"""Fields that stand in many places and so have a component of their own."""

WORDS: dict[str, dict[str, str]] = {
    "Artwork": {
        "width": "The art's width; more than nothing.",
        "height": "The art's height; more than nothing.",
        "thickness": "How thick the art is; nothing where it is not given. It adds to the stack.",
        "kind": "What the art is; the advisories on mounting and glazing go by it. Default paper.",
    },
    "Mat": {
        "board": "The board's code.",
        "border": "For the top mat: from the mat's outside edge to its own sight edge. Left out "
        "where the job has a `fit_to`.",
        "reveal": "For a mat under another: how much of it shows, sight edge to sight edge. "
        "Default: the shop's own.",
        "bevel": "How the window's edge is cut. Default standard.",
        "fillet": "The code of a fillet that lines the window.",
    },
    "Glazing": {
        "sheet": "The code of the glass or plastic.",
        "spacer": "The depth of a spacer that keeps the glazing off the art; one the shop has.",
    },
    "Mounting": {
        "method": "One of the shop's ways of mounting.",
        "board": "The code of the board that the art is mounted on.",
    },
    "Backing": {"board": "The board's code."},
    "Frame": {
        "moulding": "The moulding's code.",
        "supply": "As a length of stick, chopped to size, or joined. Default: the first that the "
        "moulding is sold as.",
        "sides": "How many sides the frame has: 4, 8 or 12. Default 4.",
        "fillet": "The code of a fillet that lines the rabbet.",
    },
    "Grid": {
        "arrangement": "Says that this is a grid.",
        "rows": "Rows of windows; rows times columns is at most 100.",
        "columns": "Columns of windows.",
        "gutter": "The top mat's bar between two windows.",
        "shape": "The windows' shape. Default rectangle.",
    },
    "PlacedWindow": {
        "artwork": "The art in this window.",
        "x": "From the mat's left edge to the window's, seen from the front.",
        "y": "From the mat's top edge to the window's, seen from the front.",
        "shape": "The window's shape. Default rectangle.",
    },
    "Job": {
        "label": "What the shop calls it.",
        "quantity": "How many alike. Default 1.",
        "artwork": "What is framed; windows placed by hand bring their own.",
        "presentation": "`overlap`: the mat covers the art's edge. `float`: the art lies whole on "
        "its mount. `full_bleed`: no mat, the rabbet's lip covers the edge. `floater`: a canvas "
        "inside a frame that stands off it.",
        "overlap": "With `overlap`: how far the mat covers the art, per side. Default: the shop's.",
        "float_margin": "With `float`: what shows of the mount round the art, per side. Default: "
        "the shop's.",
        "gap": "With `floater`: between canvas and frame, per side. Default: the shop's.",
        "openings": "Several windows in one mat: a grid of equal ones, or a list of placed ones.",
        "mats": "From the glazing inwards; the first is the top mat.",
        "fit_to": "An outside mat size; the borders are worked out. Instead of a border.",
        "bottom_weight": "With `fit_to`: how much wider the border is at the foot.",
        "glazing": "What covers it.",
        "mounting": "How the art is mounted, and on what.",
        "backing": "The board behind it all.",
        "frames": "From the innermost out; each outer frame's rabbet takes the frame inside it.",
        "finishing": "The shop's finishings that are wanted, by code.",
        "preservation_grade": "The grade asked of every board, 1 preserving most; boards below it "
        "are named in the advisories.",
        "fees": "Fees of the price list that are asked for, such as rush. Others are laid on by "
        "their rules.",
        "discounts": "Taken off after the quantity break, one after the other.",
    },
    "Discount": {
        "reason": "Why it is given; needed.",
        "percent": "So many percent of what is left; or an `amount`.",
        "amount": "An amount in the document's currency; or `percent`.",
    },
    "JobDiscount": {
        "reason": "Why it is given; needed.",
        "percent": "So many percent of what is left; or an `amount`.",
        "amount": "An amount in the document's currency; or `percent`.",
        "component": "Lays it on the lines of this component alone.",
    },
    "Customer": {
        "name": "Who asks.",
        "email": "Kept as it is given; nothing is sent there.",
        "telephone": "As it is given.",
        "note": "What else there is to know; may have several lines.",
    },
    "QuoteRequest": {
        "units": "The unit of bare lengths. Default: the shop's own.",
        "reference": "The caller's own number for this; lists can be searched by it.",
        "customer": "Who asks; kept with a quote, of no use to an estimate.",
        "currency": "The currency to price in, where the shop has a list in it. Default: the "
        "shop's own.",
        "discounts": "Taken off all jobs together, after their own. How much a key may give by "
        "hand is the shop's setting.",
        "tax_exempt": "Why the customer pays no tax.",
        "tax_place": "Where the tax is due, where the shop has rates for several places.",
        "jobs": "The pictures to be framed.",
    },
    "SweepRequest": {
        "units": "The unit of bare lengths. Default: the shop's own.",
        "job": "The one job. What is tried takes the place of its innermost frame, or its glazing.",
        "over": "What is tried: every moulding, or every glazing.",
        "items": "The codes to try. Left out: all that the shop sells.",
    },
}


def schema_name(schema: Schema | type[Schema]) -> str:
    """What a schema is called in the document: JobDocument is Job."""
    kind = schema if isinstance(schema, type) else type(schema)
    return kind.__name__.removesuffix("Document")


def request_plugin() -> MarshmallowPlugin:
    """The plugin of apispec for marshmallow, taught the fields of this contract."""
    return MarshmallowPlugin(schema_name_resolver=schema_name)


def add_requests(spec: APISpec, plugin: MarshmallowPlugin) -> None:
    """Put every document that is sent among the components of `spec`."""
    converter = plugin.converter
    if converter is None:
        raise RuntimeError("the plugin belongs to no document yet")
    converter.add_attribute_function(_field_shape)  # type: ignore[no-untyped-call]
    for kind, name in SHARED.items():
        spec.components.schema(name, _with_lengths(kind().json_shape()))
    for document in SENT:
        name = schema_name(document)
        if name not in spec.components.schemas:
            spec.components.schema(name, schema=document)
    for name, words in WORDS.items():
        _say(spec.components.schemas[name], name, words)


def _field_shape(_: Any, field: fields.Field[Any], ret: Shape, **__: Any) -> Shape:
    """What apispec cannot know of a field: our own fields' shapes, and a list's bounds."""
    ret.pop("default", None)  # a default stands in the shop's settings or the domain, in words here
    if isinstance(field, Several):
        return {"minItems": field.least, "maxItems": field.most}
    for kind, name in SHARED.items():
        if isinstance(field, kind):
            shape: Shape = {"$ref": f"#/components/schemas/{name}"}
            return _or_null(shape) if field.allow_none else shape
    if isinstance(field, WireField):
        shape = field.json_shape()
        if shape.get("minLength") == 0:
            del shape["minLength"]
        return _or_null(shape) if field.allow_none else shape
    return {}


def _or_null(shape: Shape) -> Shape:
    """The same shape, or null where a caller has nothing to say."""
    if "type" in shape and "enum" not in shape:
        return {**shape, "type": [shape["type"], "null"]}
    said = {"description": shape.pop("description")} if "description" in shape else {}
    return {"anyOf": [shape, {"type": "null"}], **said}


def _with_lengths(shape: Shape) -> Shape:
    """The shape with its lengths by reference; a length's own shape stays as it is."""
    length = LengthField.shape
    return {name: _within(part, length) for name, part in shape.items()}


def _within(part: Any, length: Any) -> Any:
    if part == length:
        return {"$ref": f"#/components/schemas/{SHARED[LengthField]}"}
    if isinstance(part, dict):
        return {name: _within(inner, length) for name, inner in part.items()}
    return [_within(inner, length) for inner in part] if isinstance(part, list) else part


def _say(shape: Shape, name: str, words: dict[str, str]) -> None:
    document: type[Schema] = getattr(jobs, f"{name}Document")
    shape["description"] = (document.__doc__ or "").strip()
    for field, text in words.items():
        shape["properties"][field]["description"] = text
