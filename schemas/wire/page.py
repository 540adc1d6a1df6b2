"""The list position encoded in a cursor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Cursor:
    """The last item of a page: the next page starts after it, newest first."""

    created_at: datetime
    id: str
