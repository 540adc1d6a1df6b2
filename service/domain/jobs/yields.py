"""The number of equal pieces that straight edge-to-edge cuts give from one sheet.

A cut of kerf k is counted by giving the sheet and the piece k more in each dimension. Pieces may
lie both ways unless they must not be turned. The count is exact up to `MOST` pieces: the best of
all guillotine layouts whose cuts lie at sums of the piece's sides, of which one is always the best
(Christofides and Whitlock, 1977, from memory). Beyond it the better of the two plain layouts of
rows and columns counts.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from service.domain.measure.length import ZERO, Length, Size

MOST: Final = 36


def pieces_from(sheet: Size, piece: Size, kerf: Length = ZERO, *, turned: bool) -> int:
    """Return how many pieces one sheet gives; 0 if the piece does not fit it."""
    across, down = sheet.width.ticks + kerf.ticks, sheet.height.ticks + kerf.ticks
    wide, high = piece.width.ticks + kerf.ticks, piece.height.ticks + kerf.ticks
    if not turned or wide == high:
        return (across // wide) * (down // high)
    plain = _plain(across, down, wide, high)
    both = max(wide, high) <= min(across, down)
    return plain if not both or plain >= MOST else _most(across, down, wide, high)


def _plain(across: int, down: int, wide: int, high: int) -> int:
    return max((across // wide) * (down // high), (across // high) * (down // wide))


@lru_cache(maxsize=4_096)
def _most(across: int, down: int, wide: int, high: int) -> int:
    """Return the most pieces from a rectangle: the plain layouts, or two parts by the best cut."""
    best, bound = _plain(across, down, wide, high), (across * down) // (wide * high)
    for at in _places(across // 2, wide, high):
        if best >= bound:
            return best
        rest = _place(across - at, wide, high)
        best = max(best, _most(at, down, wide, high) + _most(rest, down, wide, high))
    for at in _places(down // 2, wide, high):
        if best >= bound:
            return best
        rest = _place(down - at, wide, high)
        best = max(best, _most(across, at, wide, high) + _most(across, rest, wide, high))
    return best


@lru_cache(maxsize=4_096)
def _places(longest: int, wide: int, high: int) -> tuple[int, ...]:
    """Return the sums of the piece's sides that are not above `longest`, smallest first."""
    found = {
        many * wide + more * high
        for many in range(longest // wide + 1)
        for more in range((longest - many * wide) // high + 1)
    }
    return tuple(sorted(found - {0}))


def _place(length: int, wide: int, high: int) -> int:
    """Return the largest sum of the piece's sides that is not above `length`."""
    return max((at for at in _places(length, wide, high)), default=0)
