"""The shapes of problem documents."""

from __future__ import annotations

from schemas.openapi.shapes import Shape, listed, ref, text, thing

PROBLEM: dict[str, Shape] = {
    "Problem": thing(
        "Why a request was refused (RFC 9457).",
        {
            "type": {
                "type": "string",
                "format": "uri",
                "description": "What kind of problem it is: stable, for programs. The list stands "
                "in this document's description.",
            },
            "title": text("The kind of problem, in words."),
            "status": {"type": "integer", "minimum": 400, "maximum": 599, "description": "HTTP's."},
            "detail": text("What happened this time, and what to do."),
        },
        {
            "errors": listed(ref("ProblemFault"), "Everything that is wrong, each with its place."),
            "present": ref("Present"),
        },
    ),
    "Present": thing(
        "What stands there now, where a change was refused for it.",
        {"status": text("The present state.")},
        {
            "possible": listed(text("A step."), "What could be done instead."),
            "etag": text("The present entity tag."),
        },
    ),
    "ProblemFault": {
        "oneOf": [
            ref("Fault"),
            thing(
                "A query parameter that makes no sense.",
                {"parameter": text("Its name."), "detail": text("What is wrong with it.")},
            ),
        ],
        "description": "One thing that is wrong, and where: in the document, or in the query.",
    },
}
