"""Very many equal pieces laid as grids, so that a search and its cuts stay small.

Where more than `_MANY` of one kind lie in a row across a sheet, most are searched for as tiles: so
many beside and so many above each other, cut apart at the end. A row then loses at most a part of
one tile in `_A_ROW` of them.
"""

from __future__ import annotations

from math import isqrt

from service.domain.value import dataclass

_MANY = 60
_A_ROW = 40
_MOST = 100


@dataclass(frozen=True, slots=True)
class Tile:
    """`across` by `up` pieces of kind `base`, wanted `demand` times."""

    base: int
    across: int
    up: int
    demand: int

    @property
    def pieces(self) -> int:
        """How many pieces it is made of."""
        return self.across * self.up


def tiles(base: int, demand: int, size: tuple[int, int], frame: tuple[int, int]) -> list[Tile]:
    """A kind as tiles: whole grids, then rows, then single pieces, together the demand.

    Args:
        base: the kind.
        demand: how many are wanted of it.
        size: width and height of a piece.
        frame: the widest and the highest that any sheet is.

    Example:
        >>> [(t.across, t.up, t.demand) for t in tiles(0, 5000, (4, 5), (512, 640))]
        [(3, 3, 555), (3, 1, 1), (1, 1, 2)]
        >>> [(t.across, t.up, t.demand) for t in tiles(0, 5000, (128, 160), (512, 640))]
        [(1, 1, 5000)]
    """
    most = min(_MOST, isqrt(demand))
    across, up = (
        max(1, min(most, room // side // _A_ROW)) if room // side > _MANY else 1
        for side, room in zip(size, frame, strict=True)
    )
    found = []
    for wide, high in dict.fromkeys(((across, up), (across, 1), (1, 1))):
        count, demand = divmod(demand, wide * high)
        if count:
            found.append(Tile(base, wide, high, count))
    return found
