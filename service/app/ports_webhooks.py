"""What the use cases need of the stored webhooks."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol

from schemas.events.records import Attempt, Endpoint, Message, MessageState
from schemas.events.records_events import EventPlace


class Webhooks(Protocol):
    """Endpoints of shops, messages to them, and attempts to deliver these."""

    def add(self, endpoint: Endpoint) -> None:
        """Store a new endpoint."""
        ...

    def save(self, endpoint: Endpoint) -> bool:
        """Store a changed one as its next version; False where it is another by now."""
        ...

    def remove(self, shop_id: str, endpoint_id: str) -> None:
        """Forget an endpoint with its messages. NotFound where the shop has none such."""
        ...

    def by_id(self, shop_id: str, endpoint_id: str) -> Endpoint:
        """The endpoint with this id. NotFound where the shop has none."""
        ...

    def of_shop(self, shop_id: str) -> tuple[Endpoint, ...]:
        """All endpoints of a shop, oldest first."""
        ...

    def active(self) -> tuple[Endpoint, ...]:
        """The active endpoints of all shops."""
        ...

    def advance(self, endpoint: Endpoint, place: EventPlace) -> bool:
        """Note that the feed is read up to `place`; False where another has read on already."""
        ...

    def shut(self, endpoint: Endpoint) -> None:
        """Send nothing more to an endpoint that says it is gone."""
        ...

    def queue(self, message: Message) -> None:
        """Store a message to be delivered."""
        ...

    def take_due(
        self, endpoint_id: str, now: datetime, until: datetime, most: int
    ) -> tuple[Message, ...]:
        """Messages that are due, oldest first, held until `until` so that no other takes them."""
        ...

    def record(self, message: Message, attempt: Attempt) -> None:
        """Store an attempt, and its message as it is now."""
        ...

    def message(self, endpoint_id: str, message_id: str) -> Message:
        """The message with this id. NotFound where the endpoint has none."""
        ...

    def attempts(self, message_id: str) -> tuple[Attempt, ...]:
        """What was tried with a message, in order."""
        ...

    def messages(
        self, endpoint_id: str, state: MessageState | None, limit: int, before: str | None
    ) -> tuple[Message, ...]:
        """An endpoint's messages, newest first, below the id `before`."""
        ...

    def again(self, endpoint_id: str, message_id: str, now: datetime, held: datetime) -> bool:
        """Have a message delivered anew; False where it is pending and due before `held`."""
        ...

    def failed_again(self, endpoint_id: str, since: datetime, now: datetime) -> int:
        """Have every failed message since then delivered anew, and say how many it are."""
        ...

    def forget(self, before: datetime, most: int) -> int:
        """Forget up to `most` messages older than that which are not pending."""
        ...
