"""What erasing asks of an archive: to have what is erased on disk before it goes.

A record may stand in the archive twice, or in the archive and in the database, where a run was
broken off; never in neither. Readers take records of one id and version for the same one.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Protocol

from service.persistence.retention.records import Leaving


class ArchiveUnavailable(Exception):
    """The archive cannot be written or read; what it could not take was not erased."""


class ArchiveRun(Protocol):
    """One run's own place in the archive, which no other run writes to."""

    def keep(self, records: Iterable[Leaving]) -> int:
        """Write records as one batch; how many they were.

        When it returns they outlast a loss of power. ArchiveUnavailable where they cannot be
        written: then the batch is not there.
        """
        ...


class Archive(Protocol):
    """Where what is erased is kept. ArchiveUnavailable where the place cannot be used."""

    def ready(self) -> None:
        """Go on only if it can be written to; it is made where it is not there yet."""
        ...

    def run(self, shop: str, at: datetime) -> AbstractContextManager[ArchiveRun]:
        """A run for the shop of this code.

        Its place is there from the beginning on, and forgetting waits for its end: begin it before
        reading what is to be kept, and nobody forgotten meanwhile stays in it.
        """
        ...

    def forget_customer(self, shop: str, email: str) -> int:
        """Take the customer of this address out of every quote; how many quotes they were."""
        ...

    def forget_customers(self, shop: str, unchanged_since: datetime) -> int:
        """Take whoever they name out of quotes unchanged since then; how many quotes they were."""
        ...
