"""The examples of the OpenAPI document: the files in `examples/`, each one request and its answer.

The tests send every one of them to the demo shop and compare the answers, so that no example is
ever out of date.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

Example = dict[str, Any]


@cache
def examples() -> dict[str, Example]:
    """Return all examples by name, sorted by name."""
    folder = files("schemas").joinpath("examples")
    found = sorted(folder.iterdir(), key=lambda entry: entry.name)
    return {
        entry.name.removesuffix(".json"): json.loads(entry.read_text(encoding="utf-8"))
        for entry in found
        if entry.name.endswith(".json")
    }


def request_examples(operation: str) -> Example:
    """Return the documents that an operation's examples send, if it takes one.

    Documents that are refused as such are shown by their answers alone: a validator holds the
    examples of a body to its schema.
    """
    return {
        name: {"summary": example["summary"], "value": example["request"]["body"]}
        for name, example in examples().items()
        if example["operation"] == operation
        and "body" in example["request"]
        and example["status"] not in (400, 422)
    }


def answer_examples(operation: str, status: int) -> Example:
    """Return the answers of an operation's examples that have this status."""
    return {
        name: {"summary": example["summary"], "value": example["answer"]}
        for name, example in examples().items()
        if example["operation"] == operation and example["status"] == status
    }


def problem_examples(status: int) -> Example:
    """Return every example that is refused with this status."""
    return {
        name: {"summary": example["summary"], "value": example["answer"]}
        for name, example in examples().items()
        if example["status"] == status >= 400
    }
