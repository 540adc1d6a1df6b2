"""Finding and removing a customer in stored documents."""

from __future__ import annotations

import json

import orjson


def is_address_of(customer: bytes, email: str) -> bool:
    """Return True if a stored customer has this address, ignoring case.

    >>> is_address_of(b'{"email": "M.Okafor@example.com"}', " m.okafor@EXAMPLE.com")
    True
    """
    address: str = json.loads(customer).get("email", "")
    return address.lower() == email.strip().lower()


def without_customer(sent: bytes) -> bytes:
    """Return a document as it was sent, without its customer; numbers keep their notation.

    >>> without_customer(b'{"customer": {"name": "M. Okafor"}, "jobs": [{"n": 16.37500}]}')
    b'{"jobs":[{"n":16.37500}]}'
    """
    document = json.loads(sent, parse_float=_as_written, parse_int=_as_written)
    if not isinstance(document, dict) or "customer" not in document:
        return sent
    del document["customer"]
    return orjson.dumps(document)


def _as_written(number: str) -> orjson.Fragment:
    return orjson.Fragment(number)
