"""Requests that are done once, as stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """An answer to be given again, byte for byte; `headers` is a JSON object."""

    status: int
    headers: bytes
    body: bytes


class Claim(NamedTuple):
    """Which request is held, and by which word."""

    key_id: str
    name: str
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnceRequest:
    """A request with an idempotency key.

    `name` is what the caller calls it, `fingerprint` the SHA-256 of what is asked. `claim` is a
    word of whoever works on it; after `lapses_at` another may take over. `answer` is there once it
    is done; after `expires_at` all is forgotten.
    """

    key_id: str
    name: str
    fingerprint: str
    claim: str
    claimed_at: datetime
    lapses_at: datetime
    expires_at: datetime
    answer: KeptAnswer | None = None
