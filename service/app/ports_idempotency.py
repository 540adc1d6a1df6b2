"""What the use cases need of the stored requests that are done once."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Protocol

from service.persistence.keys.records_idempotency import Claim, KeptAnswer, OnceRequest


class OnceRequests(Protocol):
    """Requests with an idempotency key, each under its API key and name."""

    def claim(self, request: OnceRequest) -> bool:
        """Store a new request; False where there is one of that key and name already."""
        ...

    def take_over(self, request: OnceRequest, there: OnceRequest) -> bool:
        """Put `request` in the place of the one that was found there.

        False where another is there by now, or it was done or heard of meanwhile.
        """
        ...

    def beat(self, claims: Collection[Claim], lapses_at: datetime) -> None:
        """Say that these requests are being worked on: they lapse later, where they still run."""
        ...

    def find(self, key_id: str, name: str) -> OnceRequest:
        """The request of that key and name. NotFound where there is none."""
        ...

    def settle(self, key_id: str, name: str) -> OnceRequest:
        """The same, once nobody is about to change it. NotFound where there is none."""
        ...

    def finish(self, request: OnceRequest, answer: KeptAnswer) -> bool:
        """Keep the answer; False where the request is no longer held by its claim."""
        ...

    def release(self, request: OnceRequest) -> None:
        """Forget a request that came to nothing, unless another holds it or it is done."""
        ...

    def forget(self, before: datetime, most: int) -> int:
        """Forget up to `most` requests that expired by then, and say how many it were."""
        ...

    def forget_beyond(self, key_id: str, kept: int, most: int) -> int:
        """Forget up to `most` of the oldest done requests that a key has beyond `kept`."""
        ...
