"""The records moved from the database to the archive: quotes with all they rest on, and events."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from schemas.events.records import StoredEvent
from schemas.quotes.records import QuoteHead, Revision


class QuoteSeen(NamedTuple):
    """The id and version of a quote when it was selected; a later version does not match."""

    id: str
    version: int


@dataclass(frozen=True, slots=True)
class WholeRevision:
    """One revision of a quote with all its documents, its date, and the name of its choice."""

    number: int
    created_at: datetime
    choice: str
    working: Revision


@dataclass(frozen=True, slots=True)
class WholeQuote:
    """A quote with all its revisions, the first one first."""

    head: QuoteHead
    revisions: tuple[WholeRevision, ...]


Leaving = WholeQuote | StoredEvent
"""A record written to the archive before it is erased."""


class ArchiveUnavailable(Exception):
    """The archive cannot be written or read; what it could not take was not erased."""


class Damaged(Exception):
    """What was read from the archive is not what was written."""
