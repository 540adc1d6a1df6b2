"""Identifiers that sort by the time they were made: UUID version 7 (RFC 9562, section 5.7).

The first 48 bits are milliseconds since 1970. The 12 bits after the version count up within one
millisecond (section 6.2, method 1), so that even then a later one sorts after an earlier one of the
same process; 62 random bits keep processes apart.
"""

from __future__ import annotations

import secrets
import time
from threading import Lock

_COUNTER_BITS = 12
_RANDOM_BITS = 62


class TimeOrderedIds:
    """The port `IdSource`; safe for threads. A clock that is set back never makes it go back."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._last = 0

    def __call__(self) -> str:
        """A new identifier, greater than every earlier one of this source."""
        with self._lock:
            now = (time.time_ns() // 1_000_000) << _COUNTER_BITS
            self._last = place = max(now, self._last + 1)
        return _uuid7(place >> _COUNTER_BITS, place & ((1 << _COUNTER_BITS) - 1))


def _uuid7(milliseconds: int, counter: int) -> str:
    """The layout of RFC 9562, section 5.7: time, version 7, counter, variant 10, random."""
    random = secrets.randbits(_RANDOM_BITS)
    digits = f"{milliseconds << 80 | 7 << 76 | counter << 64 | 0b10 << 62 | random:032x}"
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"
