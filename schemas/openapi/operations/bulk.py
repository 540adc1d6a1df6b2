"""The part of the OpenAPI document on bulk requests: one document per line (NDJSON).

OpenAPI 3.1 cannot describe one line of such a body; `x-line-schema` does so here.
"""

from __future__ import annotations

from schemas.estimates.shapes import BulkEstimate, BulkTotals
from schemas.openapi.examples import examples
from schemas.openapi.parts import in_query, refusals
from schemas.openapi.shapes import Shape, ref
from schemas.wire.problems import BulkProblem

NDJSON = "application/x-ndjson"
OPERATION = "create_bulk_estimate"
BULK_LINE: dict[str, Shape] = {
    "BulkLine": {
        "description": "One line of the answer: the calculation, or a problem.",
        "anyOf": [ref(kind.__name__) for kind in (BulkEstimate, BulkTotals, BulkProblem)],
    }
}


def _media(shape: str, doc: str, sent: bool) -> Shape:
    media: Shape = {
        "schema": {"type": "string", "description": doc},
        "x-line-schema": ref(shape),
    }
    shown = {
        name: {
            "summary": example["summary"],
            "value": example["request"]["lines"] if sent else example["answer"],
        }
        for name, example in examples().items()
        if example["operation"] == OPERATION
    }
    media["x-line-examples"] = shown
    return {"content": {NDJSON: media}}


def bulk_paths() -> dict[str, Shape]:
    """Return its path."""
    shown = in_query(
        "show",
        "What is told of each line; totals alone are quicker.",
        {"type": "string", "enum": ["whole", "totals"], "default": "whole"},
    )
    return {
        "/v1/estimates/bulk": {
            "post": {
                "operationId": OPERATION,
                "tags": ["Estimates"],
                "summary": "Work out many documents, one a line; nothing is stored",
                "description": "One document a line (NDJSON), each as `POST /v1/estimates` takes "
                "it, and one line of answer for each, in the same order, told by its number. A "
                "line that makes no sense spoils only itself: its answer is the problem document. "
                "Empty lines are passed over. The answer begins when the whole file has come; it "
                "is written while it is worked out, so the status is 200 whatever the lines hold. "
                "A line holds at most 1 MiB, the file 64 MiB as set up. Every two lines count as "
                "one request of the key's, a file never as more than a minute's worth. A line "
                "whose jobs have many windows takes further requests as it is worked out, and is "
                "answered with 429 where the key has none left. A key that only prices sends as "
                "many lines at once as it may in a minute, or 1,000 if that is less; 413 beyond.",
                "parameters": [shown],
                "requestBody": {
                    "required": True,
                    **_media("QuoteRequest", "One document a line.", True),
                },
                "responses": {
                    "200": {
                        "description": "Worked out, line by line.",
                        **_media("BulkLine", "One answer a line.", False),
                    },
                    **refusals(400, 401, 403, 409, 413, 415, 503),
                },
            }
        }
    }
