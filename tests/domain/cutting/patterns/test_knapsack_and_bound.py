"""The parts that prove things, each against trying everything."""

from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.patterns.bound import next_cost
from service.domain.cutting.patterns.master import Task
from service.domain.cutting.patterns.mixes import Cover, mixes
from service.domain.cutting.patterns.points import reachable
from service.domain.cutting.sheets.kinds import Sheets
from service.domain.cutting.sheets.table import Table
from service.domain.cutting.sticks.pricing import Knapsack, bundles

kinds = st.lists(
    st.tuples(st.integers(1, 12), st.integers(0, 4), st.integers(0, 30)), min_size=1, max_size=4
)


@given(st.integers(0, 200))
def test_bundles_make_every_number_up_to_the_limit_and_none_above(limit):
    sums = {0}
    for size in bundles(limit):
        sums |= {s + size for s in sums}
    assert sums == set(range(limit + 1))


@given(kinds, st.integers(12, 40))
def test_knapsack_finds_what_trying_everything_finds(kinds, length):
    lengths = [k[0] for k in kinds]
    limits = [k[1] for k in kinds]
    prices = [k[2] for k in kinds]
    points, complete = reachable(lengths, limits, length, 10_000)
    assert complete
    sack = Knapsack(lengths, limits, points)
    value, taken = sack.solve(prices)
    best = 0
    for counts in product(*(range(n + 1) for n in limits)):
        if sum(c * n for c, n in zip(counts, lengths, strict=True)) <= length:
            best = max(best, sum(c * p for c, p in zip(counts, prices, strict=True)))
    index = sack.at(length)
    assert value[index] == best
    counts = sack.counts(taken, index)
    assert sum(c * p for c, p in zip(counts, prices, strict=True)) == best
    assert sum(c * n for c, n in zip(counts, lengths, strict=True)) <= length
    assert all(c <= n for c, n in zip(counts, limits, strict=True))


def test_next_cost_is_a_sum_of_whole_sheets():
    task = Task((1,), (10_000,), (900, 2100), (None, None))
    assert next_cost(task, Fraction(9_301), 99_999) == 9_600
    limited = Task((1,), (10_000,), (900, 94), (None, 1))
    assert next_cost(limited, Fraction(901), 99_999) == 994
    assert next_cost(limited, Fraction(995), 99_999) == 1800


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(1, 9), st.integers(1, 9), st.none() | st.integers(0, 3)),
        min_size=1,
        max_size=3,
    ),
    st.integers(1, 25),
)
def test_mixes_come_cheapest_first_and_none_is_left_out(stock, need):
    costs, holds, limits = (tuple(s[i] for s in stock) for i in range(3))
    task = Task((1,), (1000,), costs, limits)
    most = 60
    found = list(mixes(task, [Cover(holds, need)], most, 10**6))
    assert [m.cost for m in found] == sorted(m.cost for m in found)
    ranges = [range((25 if q is None else q) + 1) for q in limits]
    enough = [
        sum(n * c for n, c in zip(counts, costs, strict=True))
        for counts in product(*ranges)
        if sum(n * v for n, v in zip(counts, holds, strict=True)) >= need
    ]
    cheapest = min((c for c in enough if c < most), default=None)
    assert (found[0].cost if found else None) == cheapest


sheet_kinds = st.lists(
    st.tuples(st.integers(2, 6), st.integers(2, 6), st.booleans(), st.integers(1, 40)),
    min_size=1,
    max_size=3,
)


@settings(max_examples=60)
@given(sheet_kinds, st.integers(4, 13), st.integers(4, 13), st.sampled_from([10**9, 1]))
def test_table_never_says_less_than_the_recursion_on_every_unit(kinds, width, height, work):
    sizes = tuple(k[:3] for k in kinds)
    prices = [k[3] for k in kinds]
    task = Task((30,) * len(kinds), (1000,) * len(kinds), (1,), (None,))
    sheets = Sheets(sizes, ((width, height),), task, 0, 1, 1)
    if not sheets.ways(task.demands):
        return
    table = Table(sheets, work)
    table.solve(prices)
    best: dict[tuple[int, int], int] = {}
    for w, h in product(range(width + 1), range(height + 1)):
        most = 0
        for (a, b, turns), price in zip(sizes, prices, strict=True):
            if (a <= w and b <= h) or (turns and b <= w and a <= h):
                most = max(most, price)
        most = max([most, *(best[x, h] + best[w - x, h] for x in range(1, w // 2 + 1))])
        most = max([most, *(best[w, y] + best[w, h - y] for y in range(1, h // 2 + 1))])
        best[w, h] = most
    assert table.value(width, height) >= best[width, height]
    if table.exact(width, height):
        assert table.value(width, height) == best[width, height]
