"""The published shapes, made strict: what an answer may be, and no field more."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker  # type: ignore[import-untyped]

from service.cli.contract import openapi_document


def _strict(part: Any) -> Any:
    """Every object of known fields takes no other, and a growing word is one of those known."""
    if isinstance(part, list):
        return [_strict(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    made = {name: _strict(inner) for name, inner in part.items()}
    if "properties" in made and "additionalProperties" not in made:
        made["additionalProperties"] = False
    if "x-known-values" in made:
        made["enum"] = made["x-known-values"]
    return made


@cache
def _schemas() -> Mapping[str, Any]:
    components: Mapping[str, Any] = openapi_document()["components"]["schemas"]
    return {name: _strict(copy.deepcopy(shape)) for name, shape in components.items()}


@cache
def validator(name: str, *, strict: bool = True) -> Draft202012Validator:
    """Checks a document against a component."""
    schemas = _schemas() if strict else openapi_document()["components"]["schemas"]
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$ref": f"#/components/schemas/{name}",
        "components": {"schemas": schemas},
    }
    Draft202012Validator.check_schema(schema)
    checker = FormatChecker(("date-time", "date", "uuid"))
    return Draft202012Validator(schema, format_checker=checker)


def wrong(name: str, document: object) -> list[str]:
    """What a document has against the strict shape of a component; nothing, if all is well."""
    found = validator(name).iter_errors(document)
    return [f"{error.json_path}: {error.message[:200]}" for error in found]
