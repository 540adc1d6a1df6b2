"""Orders the steps of a ticket so that the cutter's set-up changes least."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from heapq import heappop, heappush

from service.domain.value import dataclass

Needs = Mapping[str, object]
MOST_LOOKS = 1000
"""The number of states opened before the search takes the most promising next set-up."""


@dataclass(frozen=True, slots=True)
class Task:
    """The set-up a task needs (component and value), and the tasks it must follow."""

    needs: Needs
    after: frozenset[int] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True)
class Order:
    """An order of tasks by index, its number of changes, and a lower bound for that."""

    tasks: tuple[int, ...]
    changes: int
    at_least: int
    proved: bool


Where = tuple[int, tuple[int, ...]]


class Search:
    """One search over numbered values; a state is the set of tasks done and the current set-up."""

    __slots__ = ("after", "full", "kinds", "needs", "private", "series")

    def __init__(self, tasks: Sequence[Task]) -> None:
        components = sorted({name for task in tasks for name in task.needs})
        numbers: dict[tuple[str, object], int] = {}
        self.needs: list[tuple[tuple[int, int], ...]] = []
        for task in tasks:
            self.needs.append(
                tuple(
                    (components.index(name), numbers.setdefault((name, value), len(numbers) + 1))
                    for name, value in task.needs.items()
                )
            )
        self.after = [sum(1 << before for before in task.after) for task in tasks]
        self.kinds = len(components)
        self.full = (1 << len(tasks)) - 1
        self.private = self._private()
        by_kind = [dict(needs) for needs in self.needs]
        self.series = [series_of(by_kind, self.after, kind) for kind in range(self.kinds)]

    def _private(self) -> list[int]:
        """Return each task's class: tasks that differ only in values no other task needs share one.

        Swapping two such tasks does not change the count, so only the first open one is tried.
        """
        users: dict[tuple[int, int], int] = {}
        for needs in self.needs:
            for need in needs:
                users[need] = users.get(need, 0) + 1
        blockers: dict[int, int] = {}
        for place, before in enumerate(self.after):
            for other in range(len(self.after)):
                if before >> other & 1:
                    blockers[other] = blockers.get(other, 0) | 1 << place
        seen: dict[object, int] = {}
        found = []
        for place, needs in enumerate(self.needs):
            key = (
                tuple((kind, value if users[kind, value] > 1 else 0) for kind, value in needs),
                self.after[place],
                blockers.get(place, 0),
            )
            found.append(seen.setdefault(key, place))
        return found

    def run_free(self, done: int, stands: tuple[int, ...], order: list[int]) -> int:
        """Do every open task that needs no change, repeatedly, until none is left."""
        again = True
        while again:
            again = False
            for place, needs in enumerate(self.needs):
                if done >> place & 1 or self.after[place] & ~done:
                    continue
                if all(stands[kind] == value for kind, value in needs):
                    done |= 1 << place
                    order.append(place)
                    again = True
        return done

    def bound(self, done: int, stands: tuple[int, ...]) -> int:
        """Return a lower bound for the changes from here."""
        return sum(
            series.moves(done, value) for series, value in zip(self.series, stands, strict=True)
        )

    def moves(self, where: Where) -> Iterable[tuple[int, Where, tuple[int, ...]]]:
        """Return each set-up that an open task needs: its cost, the resulting state, tasks done."""
        done, stands = where
        tried: set[tuple[int, ...]] = set()
        open_kinds: set[int] = set()
        for place, needs in enumerate(self.needs):
            if done >> place & 1 or self.after[place] & ~done:
                continue
            if self.private[place] in open_kinds:
                continue
            open_kinds.add(self.private[place])
            there = list(stands)
            for kind, value in needs:
                there[kind] = value
            after = tuple(there)
            if after in tried:
                continue
            tried.add(after)
            cost = sum(1 for old, new in zip(stands, after, strict=True) if old != new)
            order: list[int] = []
            yield cost, (self.run_free(done, after, order), after), tuple(order)


def fewest_changes(tasks: Sequence[Task], most_looks: int = MOST_LOOKS) -> Order:
    """Return an order of the tasks with the fewest changes; `proved` if none can have fewer.

    Ties are broken by the tasks' own order. After `most_looks` opened states the nearest next
    set-up is taken each time, and the bound limits the distance from the optimum.
    """
    if not tasks:
        return Order((), 0, 0, proved=True)
    search = Search(tasks)
    start: Where = (0, (0,) * search.kinds)
    order, changes, least = _best(search, start, most_looks)
    if order is None:
        order, changes = _nearest(search, start)
    return Order(order, changes, least, proved=changes == least)


def _best(search: Search, start: Where, most_looks: int) -> tuple[tuple[int, ...] | None, int, int]:
    """Return the best order or None if it takes too long, its changes, and a lower bound."""
    came: dict[Where, tuple[Where, tuple[int, ...]]] = {}
    cost: dict[Where, int] = {start: 0}
    closed: set[Where] = set()
    # Of equal estimates, the one with more tasks done is opened first, then the one found first.
    heap: list[tuple[int, int, int, Where]] = [(search.bound(*start), 0, 0, start)]
    found = 0
    while heap:
        promise, _, _, where = heappop(heap)
        if where in closed:
            continue
        closed.add(where)
        if where[0] == search.full:
            return _walked(came, where), cost[where], cost[where]
        if len(closed) > most_looks:
            return None, 0, promise
        for step, there, order in search.moves(where):
            total = cost[where] + step
            if total < cost.get(there, total + 1):
                cost[there] = total
                came[there] = (where, order)
                found += 1
                heappush(heap, (total + search.bound(*there), -total, found, there))
    raise AssertionError("tasks wait for one another")


def _walked(came: Mapping[Where, tuple[Where, tuple[int, ...]]], end: Where) -> tuple[int, ...]:
    parts: list[tuple[int, ...]] = []
    while end in came:
        end, order = came[end]
        parts.append(order)
    return tuple(place for part in reversed(parts) for place in part)


def _nearest(search: Search, where: Where) -> tuple[tuple[int, ...], int]:
    order: list[int] = []
    total = 0
    while where[0] != search.full:
        step, where, done = min(
            search.moves(where), key=lambda move: move[0] + search.bound(*move[1])
        )
        order.extend(done)
        total += step
    return tuple(order), total


@dataclass(frozen=True, slots=True)
class Series:
    """The tasks of one component: those in the series, group by group, and the rest.

    A task is its bit and the value that it needs.
    """

    groups: tuple[tuple[tuple[int, int], ...], ...]
    others: tuple[tuple[int, int], ...]

    def moves(self, done: int, stands: int) -> int:
        """Return the fewest moves for the remaining tasks, from the component's current value."""
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
    """Return the series with the most values among the tasks that need a component."""
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
    """Return for each task all its direct and indirect predecessors; tasks may be in any order."""
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
    """Return the heaviest chain of groups, each wholly before the next, by number of values."""
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
