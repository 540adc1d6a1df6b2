"""The order of steps against every order there is, on cases small enough for that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.measure.length import Length
from service.domain.tickets.instructions import Cut, End
from service.domain.tickets.order.rail_stops import in_order, moves, pair_of
from service.domain.tickets.order.search import Task, fewest_changes


def changes(tasks: Sequence[Task], order: Sequence[int]) -> int:
    """How often something changes when the tasks are done in this order."""
    stands: dict[str, object] = {}
    counted = 0
    for at in order:
        for name, value in tasks[at].needs.items():
            counted += stands.get(name) != value
            stands[name] = value
    return counted


def allowed(tasks: Sequence[Task]) -> Iterator[tuple[int, ...]]:
    for order in permutations(range(len(tasks))):
        place = {task: at for at, task in enumerate(order)}
        if all(place[b] < place[at] for at, task in enumerate(tasks) for b in task.after):
            yield order


@st.composite
def task_lists(draw: st.DrawFn) -> list[Task]:
    """Up to seven tasks over three components; some leave a component as it stands."""
    tasks = []
    for at in range(draw(st.integers(1, 7))):
        needs = {
            name: value for name in ("guide", "head", "slip") if (value := draw(st.integers(0, 3)))
        }
        after = draw(st.frozensets(st.integers(0, at - 1), max_size=2)) if at else frozenset()
        tasks.append(Task(needs, after))
    return tasks


@settings(max_examples=250, deadline=None, derandomize=True)
@given(task_lists())
def test_no_order_has_fewer_changes(tasks: list[Task]) -> None:
    best = fewest_changes(tasks)
    assert sorted(best.tasks) == list(range(len(tasks)))
    assert best.tasks in set(allowed(tasks))
    assert best.proved
    assert (
        best.changes
        == changes(tasks, best.tasks)
        == min(changes(tasks, order) for order in allowed(tasks))
    )


@settings(max_examples=150, deadline=None, derandomize=True)
@given(task_lists())
def test_the_nearest_next_set_up_is_honest(tasks: list[Task]) -> None:
    """Cut short, the search still gives an order that can be followed and a bound that holds."""
    quick = fewest_changes(tasks, most_looks=0)
    least = min(changes(tasks, order) for order in allowed(tasks))
    assert quick.tasks in set(allowed(tasks))
    assert quick.at_least <= least <= quick.changes == changes(tasks, quick.tasks)
    assert not quick.proved or quick.changes == least


def test_equal_settings_of_two_mats_meet_where_they_can() -> None:
    """Top mat at 3 and 3 1/4, then the under mat at 3 1/4 and 3 1/2: three settings, not four."""
    top, under = frozenset({0, 1}), frozenset[int]()
    tasks = [
        Task({"guide": "3"}, under),
        Task({"guide": "3 1/4"}, under),
        Task({"guide": "3 1/4"}, top),
        Task({"guide": "3 1/2"}, top),
    ]
    assert fewest_changes(tasks).changes == 3


def cut_at(start: int, stop: int) -> Cut:
    return Cut(
        piece=1,
        window=1,
        side="left",
        front_side="right",
        setting=Length(1),
        start=End("bottom", Length(start)),
        stop=End("top", Length(stop)),
    )


pairs = st.tuples(st.integers(1, 3), st.integers(1, 3))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.lists(st.lists(pairs, min_size=1, max_size=4), min_size=1, max_size=2))
def test_no_order_within_set_ups_moves_the_stops_less(groups: list[list[tuple[int, int]]]) -> None:
    cuts = [[cut_at(*pair) for pair in group] for group in groups]

    def moved(ordered: Sequence[Sequence[Cut]]) -> int:
        last, total = None, 0
        for group in ordered:
            for cut in group:
                total += moves(last, pair_of(cut))
                last = pair_of(cut)
        return total

    def every(rest: Sequence[Sequence[Cut]]) -> Iterator[list[tuple[Cut, ...]]]:
        if not rest:
            yield []
            return
        for first in permutations(rest[0]):
            for others in every(rest[1:]):
                yield [first, *others]

    found = in_order(cuts)
    assert [sorted(map(pair_of, g)) for g in found] == [sorted(map(pair_of, g)) for g in cuts]
    assert moved(found) == min(moved(order) for order in every(cuts))
