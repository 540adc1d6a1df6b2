"""Webhooks as stored: endpoints, messages to them, and attempts to deliver these."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from schemas.events.records_events import EventPlace

EndpointState = Literal["active", "paused", "gone"]
MessageState = Literal["pending", "delivered", "failed"]
ENDPOINT_STATES: tuple[EndpointState, ...] = ("active", "paused", "gone")
MESSAGE_STATES: tuple[MessageState, ...] = ("pending", "delivered", "failed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Endpoint:
    """Where a shop's events are sent.

    `kinds` are those that are wanted, none for all. `generation` counts its secrets; the one before
    is still signed with until `former_until`. `place` is how far the feed has been read for it.
    """

    id: str
    shop_id: str
    url: str
    kinds: frozenset[str]
    description: str
    created_at: datetime
    place: EventPlace
    state: EndpointState = "active"
    generation: int = 1
    former_until: datetime | None = None
    version: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """An event on its way to an endpoint; `due_at` is when it is next tried.

    `attempts` counts all of them, `retries` those since it was queued or last sent anew.
    """

    id: str
    endpoint_id: str
    event_id: int
    kind: str
    body: bytes
    created_at: datetime
    state: MessageState = "pending"
    attempts: int = 0
    retries: int = 0
    due_at: datetime | None = None
    delivered_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One attempt to deliver a message: the answer's status, or what went wrong before one."""

    number: int
    at: datetime
    status: int | None
    error: str
    milliseconds: int
