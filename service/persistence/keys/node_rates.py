"""Rate limits shared by all workers of one machine, in a file that they map.

The file is a table of slots, each with the digest of a key's id and the instant at which its bucket
is full again. It lies in memory where the machine has such a place. A request takes the file's lock
(`flock`, which the kernel releases if a worker dies) and one slot, so all workers count together.
The clock is the machine's monotonic one, which all its processes share.

A key is looked up in one set of `WAYS` slots. A bucket that is full again needs no slot, so its
slot is free to take. If all slots of a set are in use, the one nearest to full is evicted and its
key gets a full allowance; with `SETS * WAYS` slots that takes thousands of keys busy within the
same minute.
"""

from __future__ import annotations

import fcntl
import mmap
import os
from collections.abc import Callable
from hashlib import blake2b
from pathlib import Path
from struct import Struct
from threading import Lock
from weakref import finalize

from service.persistence.keys.rates import SECOND, Allowance, counted

SETS, WAYS = 256, 64
DIGEST = 16
_TIME = Struct("<q")
_TIMES = Struct(f"<{WAYS}q")
_SET = WAYS * (DIGEST + _TIME.size)
SIZE = SETS * _SET


class NodeRates:
    """The `Rates` port over a file shared by a machine's workers; thread-safe."""

    def __init__(self, file: Path, monotonic: Callable[[], float]) -> None:
        """Open the file, creating it if needed.

        Raises:
            OSError: it cannot be created there.
        """
        self._monotonic = monotonic
        self._threads = Lock()
        self._file = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
        finalize(self, os.close, self._file)
        os.ftruncate(self._file, SIZE)  # new bytes are zero; existing ones stay
        self._table = mmap.mmap(self._file, SIZE)

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count this many requests, all or none."""
        digest = blake2b(key_id.encode(), digest_size=DIGEST).digest()
        start = digest[0] * _SET
        with self._threads:
            fcntl.flock(self._file, fcntl.LOCK_EX)
            try:
                now = int(self._monotonic() * SECOND)
                way = self._way(start, digest)
                place = start + WAYS * DIGEST + way * _TIME.size
                (was,) = _TIME.unpack_from(self._table, place)
                full_at, allowance = counted(was, now, per_minute, requests)
                _TIME.pack_into(self._table, place, full_at)
            finally:
                fcntl.flock(self._file, fcntl.LOCK_UN)
        return allowance

    def _way(self, start: int, digest: bytes) -> int:
        """Return a key's slot within its set, taking one if it has none."""
        table, end = self._table, start + WAYS * DIGEST
        found = table.find(digest, start, end)
        while found >= 0:
            way, off = divmod(found - start, DIGEST)
            if not off:
                return way
            found = table.find(digest, found + 1, end)
        times = _TIMES.unpack_from(table, end)
        way = min(range(WAYS), key=times.__getitem__)
        _TIME.pack_into(table, end + way * _TIME.size, 0)  # first: a key never gets another's debt
        place = start + way * DIGEST
        table[place : place + DIGEST] = digest
        return way
