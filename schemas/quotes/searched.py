"""The texts of a stored quote that it is found by."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import orjson

from service.domain.quotes.search import words_of_quote


def words_found(number: str, reference: str, customer: bytes, request: bytes) -> str:
    """Return the words that a quote is found by.

    Args:
        number: the quote's printed number.
        reference: its reference.
        customer: the customer, as the head of the quote keeps it.
        request: the request of its latest revision, for the labels of its jobs.
    """
    jobs = orjson.loads(request).get("jobs") or ()
    texts = [*_texts([orjson.loads(customer)], "name"), *_texts(jobs, "label")]
    return words_of_quote(number, reference, texts)


def _texts(documents: Iterable[Any], field: str) -> Iterator[str]:
    """Yield the texts of a field in stored documents, which an early release may have kept."""
    for document in documents:
        text = document.get(field) if isinstance(document, dict) else None
        if isinstance(text, str):
            yield text
