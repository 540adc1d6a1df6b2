"""The least cost of a handful of pieces, by looking at every set of them.

For each set of pieces the smallest rectangles that it can be cut from are known: one piece is its
own rectangle, and two sets side by side or above each other make a third. A set
costs what the cheapest sheet costs that takes one of its rectangles; all pieces cost what the
cheapest parting into sets does. Exact for cuts from edge to edge, so it proves a bound.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.cutting.sheets.kinds import Sheets

MOST_PIECES = 11
_NEVER = 1 << 62
Size = tuple[int, int]


def exact_floor(sheets: Sheets) -> int:
    """A cost that no plan of all pieces goes below; 0 where there are too many pieces.

    How many there are of each sheet, and how far the bench reaches, is not looked at.
    """
    if not 0 < sum(sheets.task.demands) <= MOST_PIECES:
        return 0
    pieces = [
        [(w, h), (h, w)] if turns else [(w, h)]
        for (w, h, turns), n in zip(sheets.sizes, sheets.task.demands, strict=True)
        for _ in range(n)
    ]
    frames = [
        (w, h, cost)
        for (w, h), cost, limit in zip(
            sheets.stock, sheets.task.costs, sheets.task.limits, strict=True
        )
        if limit != 0
    ]
    costs = _set_costs(pieces, frames)
    least = [0] + [_NEVER] * ((1 << len(pieces)) - 1)
    for every in range(1, len(least)):
        least[every] = min(
            (costs[part] + least[every ^ part] for part in _parts(every) if part in costs),
            default=_NEVER,
        )
    return 0 if least[-1] >= _NEVER else least[-1]


def _set_costs(pieces: list[list[Size]], frames: list[tuple[int, int, int]]) -> dict[int, int]:
    """The cheapest sheet for each set of pieces that any takes; a set is a bit for each piece."""
    known: dict[int, list[Size]] = {}
    costs: dict[int, int] = {}
    for every in range(1, 1 << len(pieces)):
        sizes: set[Size] = set()
        if every & (every - 1) == 0:
            sizes.update(pieces[every.bit_length() - 1])
        for part in _parts(every):
            for w, h in known.get(part, ()):
                for w2, h2 in known.get(every ^ part, ()):
                    sizes.add((w + w2, max(h, h2)))
                    sizes.add((max(w, w2), h + h2))
        fitting = [z for z in sizes if any(z[0] <= w and z[1] <= h for w, h, _ in frames)]
        if fitting:
            known[every] = _smallest(fitting)
            costs[every] = min(c for w, h, c in frames for a, b in fitting if a <= w and b <= h)
    return costs


def _parts(every: int) -> Iterator[int]:
    """All parts of a set that hold its first piece, the set itself included."""
    first = every & -every
    rest = part = every ^ first
    while True:
        yield part | first
        if not part:
            return
        part = (part - 1) & rest


def _smallest(sizes: list[Size]) -> list[Size]:
    """The sizes that no other lies within."""
    found: list[Size] = []
    for w, h in sorted(sizes):
        if not found or h < found[-1][1]:
            found.append((w, h))
    return found
