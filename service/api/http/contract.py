"""The contract: what the schemas say of each operation, with what its route declares."""

from __future__ import annotations

import re
from typing import Any

from flask import Flask

from schemas.openapi.document import described
from schemas.openapi.parts import parameters, scopes
from service.api.http.operation import OpenToAll, Operation, declared

METHODS = {"GET", "POST", "PUT", "PATCH", "DELETE"}
_ORDER = ("operationId", "tags", "summary", "description", "security", "parameters", "requestBody")


def contract(app: Flask) -> dict[str, Any]:
    """Return the OpenAPI document of an application.

    Raises:
        KeyError: the schemas do not describe one of its routes.
    """
    document = described()
    for rule in app.url_map.iter_rules():
        item = document["paths"][re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule)]
        declaration = declared(app.view_functions[rule.endpoint])
        for method in METHODS & (rule.methods or set()):
            item[method.lower()] = _declared(item[method.lower()], declaration)
    return document


def _declared(said: dict[str, Any], declaration: Operation | OpenToAll | None) -> dict[str, Any]:
    """Return an operation with its scopes and headers."""
    more: dict[str, Any] = {"security": []}
    if isinstance(declaration, Operation):
        more["security"] = scopes(*declaration.scopes)
        sent = {"if_match": declaration.if_match, "idempotency_key": declaration.once}
        headers = parameters(*(name for name, is_sent in sent.items() if is_sent))
        if given := [*headers, *said.get("parameters", ())]:
            more["parameters"] = given
    whole = said | more
    return {name: whole.pop(name) for name in _ORDER if name in whole} | whole
