"""The quote form and the figures for those who run the service, in the OpenAPI document."""

from __future__ import annotations

from schemas.answer_shapes import Shape
from schemas.openapi_parts import refusals


def page_paths() -> dict[str, Shape]:
    """Their addresses."""
    return {
        "/": {
            "get": {
                "operationId": "get_quote_form",
                "tags": ["Operation"],
                "summary": "The quote form",
                "description": "A page that prices while one types, under a publishable key with "
                "the scope `price`. Without such a key it says what to do.",
                "security": [],
                "parameters": [
                    {
                        "name": "key",
                        "in": "query",
                        "required": False,
                        "schema": {"type": "string"},
                        "description": "A key to try the form with, in place of the one that the "
                        "service was given for it.",
                    }
                ],
                "responses": {**_text("The page.", "text/html"), **refusals(400)},
            }
        },
        "/form/{release}/{name}": {
            "parameters": [
                _in_path("release", "The release of the files; another one is not found."),
                _in_path("name", "The file."),
            ],
            "get": {
                "operationId": "get_quote_form_asset",
                "tags": ["Operation"],
                "summary": "A file that the quote form is made of",
                "security": [],
                "responses": {**_text("The file.", "*/*"), **refusals(404)},
            },
        },
        "/metrics": {
            "get": {
                "operationId": "get_metrics",
                "tags": ["Operation"],
                "summary": "Figures for those who run the service",
                "description": "Requests by route and status, their times, what is stored and "
                "what waits, in the text format of Prometheus. It tells of no shop and no "
                "customer, but is for the inside: a proxy should not let it out.",
                "security": [],
                "responses": {
                    **_text("The figures.", "text/plain; version=0.0.4; charset=utf-8"),
                    **refusals(400),
                },
            }
        },
    }


def _in_path(name: str, said: str) -> Shape:
    return {
        "name": name,
        "in": "path",
        "required": True,
        "schema": {"type": "string"},
        "description": said,
    }


def _text(said: str, media: str) -> Shape:
    return {"200": {"description": said, "content": {media: {"schema": {"type": "string"}}}}}
