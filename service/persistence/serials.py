"""Serials of new quotes in PostgreSQL, taken in blocks so that quotes do not wait for each other.

The shop's counter is raised in a transaction of its own, before that of the quote, so its row is
not locked while a quote is stored. A process takes one serial at a time from a shop with little to
do, and up to 64 from a busy one, so serials rise within a process. Serials of quotes that were not
stored, and the rest of a block when a process ends, are not given again: numbers may have gaps.

The raise need not be on disk when it is committed (`synchronous_commit` off): a quote with a serial
of the block is written to the log after it, so whenever the quote is on disk, the raise is too.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from time import monotonic

from sqlalchemy import Engine, text

from service.domain.errors import NotFound
from service.persistence.shop import QUOTE_SERIES
from service.persistence.sql.engine import at_once

MOST_AT_ONCE = 64
BUSY_SECONDS = 1.0
"""A block used up within this time is followed by one of twice its size."""
MOST_SHOPS = 10_000
_RAISE = text(
    "UPDATE counters SET last_value = last_value + :count "
    "FROM (SELECT set_config('synchronous_commit', 'off', true)) AS unsynced "
    "WHERE shop_id = :shop_id AND series = :series RETURNING last_value"
)


@dataclass(slots=True)
class _Block:
    """Serials from `next` to `last`, taken when the clock showed `taken`."""

    next: int
    last: int
    size: int
    taken: float


class SerialBlocks:
    """Serials for the new quotes of this process; thread-safe."""

    def __init__(self, engine: Engine, clock: Callable[[], float] = monotonic) -> None:
        self._engine = at_once(engine)
        self._clock = clock
        self._lock = Lock()
        self._blocks: OrderedDict[str, _Block] = OrderedDict()
        self._turns: dict[str, Lock] = {}

    def take(self, shop_id: str) -> int:
        """Return a serial that is given to no other quote of the shop.

        Raises:
            NotFound: there is no such shop.
        """
        serial = self._from_block(shop_id)
        return self._from_new_block(shop_id) if serial is None else serial

    def _from_block(self, shop_id: str) -> int | None:
        with self._lock:
            block = self._blocks.get(shop_id)
            if block is None or block.next > block.last:
                return None
            block.next += 1
            return block.next - 1

    def _from_new_block(self, shop_id: str) -> int:
        """Return the first serial of a new block; threads that need one too wait for it."""
        with self._lock:
            turn = self._turns.setdefault(shop_id, Lock())
        with turn:
            serial = self._from_block(shop_id)
            if serial is not None:
                return serial
            size = self._size(shop_id)
            first = self._raised(shop_id, size) - size + 1
            with self._lock:
                self._blocks[shop_id] = _Block(first + 1, first + size - 1, size, self._clock())
                self._blocks.move_to_end(shop_id)
                while len(self._blocks) > MOST_SHOPS:
                    self._turns.pop(self._blocks.popitem(last=False)[0], None)
            return first

    def _size(self, shop_id: str) -> int:
        with self._lock:
            used = self._blocks.get(shop_id)
        if used is None or self._clock() - used.taken > BUSY_SECONDS:
            return 1
        return min(used.size * 2, MOST_AT_ONCE)

    def _raised(self, shop_id: str, count: int) -> int:
        values = {"shop_id": shop_id, "series": QUOTE_SERIES, "count": count}
        with self._engine.connect() as connection:
            last: int | None = connection.execute(_RAISE, values).scalar()
        if last is None:
            raise NotFound("there is no such shop")
        return last
