"""How often one component of the set-up must move at least, however the open tasks are ordered.

Tasks fall into groups that wait for the same tasks and that the same tasks wait for: the windows of
one mat, say. Groups of which each comes wholly before the next form a series. Along a series the
fewest moves of a component are found exactly: a group with d values takes d moves, one less if it
can begin with the value on which the group before it ended; a group of several values cannot begin
and end with the same one. Every value that only tasks outside the series need takes one move more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Series:
    """The tasks of one component: those in the series, group by group, and the rest.

    A task is its bit and the value that it needs.
    """

    groups: tuple[tuple[tuple[int, int], ...], ...]
    others: tuple[tuple[int, int], ...]

    def moves(self, done: int, stands: int) -> int:
        """The fewest moves for the tasks that are not done, from where the component stands."""
        counted, ends = 0, {stands}
        seen: set[int] = set()
        for group in self.groups:
            values = {value for bit, value in group if not done & bit}
            if not values:
                continue
            seen |= values
            shared = ends & values
            counted += len(values) - bool(shared)
            ends = values - shared if len(values) > 1 and len(shared) == 1 else values
        rest = {value for bit, value in self.others if not done & bit}
        return counted + len(rest - seen - {stands})


def series_of(needs: Sequence[Mapping[int, int]], after: Sequence[int], component: int) -> Series:
    """The series with the most values among the tasks that need a component."""
    before = _closed(after)
    behind = [0] * len(after)
    for place, earlier in enumerate(before):
        for other in _bits(earlier):
            behind[other] |= 1 << place
    groups: dict[tuple[int, int], list[int]] = {}
    for place, need in enumerate(needs):
        if component in need:
            groups.setdefault((before[place], behind[place]), []).append(place)
    chosen = _heaviest(list(groups.values()), before, needs, component)
    kept = {place for group in chosen for place in group}
    return Series(
        tuple(tuple((1 << p, needs[p][component]) for p in group) for group in chosen),
        tuple(
            (1 << p, need[component])
            for p, need in enumerate(needs)
            if component in need and p not in kept
        ),
    )


def _closed(after: Sequence[int]) -> list[int]:
    """For each task all that come before it, directly or not. Tasks may stand in any order."""
    closed = list(after)
    changed = True
    while changed:
        changed = False
        for place, earlier in enumerate(closed):
            wider = earlier
            for other in _bits(earlier):
                wider |= closed[other]
            if wider != earlier:
                closed[place], changed = wider, True
    return closed


def _bits(number: int) -> Iterable[int]:
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def _heaviest(
    groups: list[list[int]], before: Sequence[int], needs: Sequence[Mapping[int, int]], part: int
) -> list[list[int]]:
    """The heaviest chain of groups, each wholly before the next, by their numbers of values."""
    groups.sort(key=lambda group: before[group[0]].bit_count())
    best: list[tuple[int, list[list[int]]]] = []
    for group in groups:
        own = len({needs[place][part] for place in group})
        earlier = before[group[0]]
        reached, chain = 0, list[list[int]]()
        for at, (weight, found) in enumerate(best):
            whole = all(earlier >> place & 1 for place in groups[at])
            if whole and weight > reached:
                reached, chain = weight, found
        best.append((reached + own, [*chain, group]))
    return max(best, key=lambda found: found[0])[1] if best else []
