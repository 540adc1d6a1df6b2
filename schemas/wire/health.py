"""The records of the answers of the service about itself."""

from __future__ import annotations

from typing import Annotated, Literal

from schemas.wire.record import Record, at_least, doc


class Health(Record):
    """The state of the service."""

    status: Annotated[Literal["ok", "ready"], doc("It is well.")]


class Readiness(Record):
    """The state of the service and of its database."""

    status: Annotated[Literal["ready"], doc("It can do its work.")]
    feed_lag_seconds: Annotated[
        int,
        at_least(
            0,
            "How long an open transaction has held back its shop's events from `/v1/events` and "
            "webhooks; 0 if none does.",
        ),
    ]
