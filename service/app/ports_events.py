"""What the use cases need of the stored events."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Protocol

from schemas.events.records_events import EventFilter, EventPage, EventPlace, NewEvent


class Events(Protocol):
    """The events of all shops, in one order that never changes once it has been read.

    `page` and `end` are asked in a unit of work that follows or writes, not in one that reads: that
    one keeps a view from which nobody can tell what may still appear.
    """

    def add(self, event: NewEvent) -> None:
        """Store an event with whatever else this unit of work stores."""
        ...

    def add_all(self, new: Sequence[NewEvent]) -> None:
        """Store several events at once, in their order."""
        ...

    def page(self, shop_id: str, wanted: EventFilter, limit: int, after: EventPlace) -> EventPage:
        """A shop's events after a place, oldest first; none is left out, and none comes twice."""
        ...

    def end(self, shop_id: str) -> EventPlace:
        """The place behind all that can be read now; whatever comes to be read lies after it."""
        ...

    def lag(self) -> timedelta:
        """For how long events have been held back by a transaction that is still open."""
        ...
