"""What leaves the database for the archive: quotes with all that they rest on, and events."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from schemas.events.records import StoredEvent
from schemas.quotes.records import QuoteHead, Revision


class QuoteSeen(NamedTuple):
    """A quote as it was when somebody looked; another version is not what was seen."""

    id: str
    version: int


@dataclass(frozen=True, slots=True)
class WholeRevision:
    """One working of a quote with all its documents, when it was made, and its choice's name."""

    number: int
    created_at: datetime
    choice: str
    working: Revision


@dataclass(frozen=True, slots=True)
class WholeQuote:
    """A quote with every working of it, the first one first."""

    head: QuoteHead
    revisions: tuple[WholeRevision, ...]


Leaving = WholeQuote | StoredEvent
"""What is written to the archive before it is erased."""


class ArchiveUnavailable(Exception):
    """The archive cannot be written or read; what it could not take was not erased."""
