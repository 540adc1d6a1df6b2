"""Very large sheet plans, batch by batch.

Thousands of different sizes at once would take minutes and gigabytes. They are dealt out, so that
each batch has pieces of all sizes, and planned one batch after the other; the sheets that are worst
used are then taken back from all batches and planned once more. Offcuts of the rack go to the
first batches. The bound is that of the areas.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from service.domain.cutting.patterns.choice import Choice
from service.domain.cutting.patterns.master import Pattern
from service.domain.cutting.sheets.attempt import Effort
from service.domain.cutting.sheets.blocks import Beam
from service.domain.cutting.sheets.bound import area_floor
from service.domain.cutting.sheets.kinds import Block, Join, Sheets, above, beside
from service.domain.cutting.sheets.search import Found, Plan, cut_plan
from service.domain.cutting.watch import Watch

MOST_AT_ONCE = 1_000
"""Pieces that are planned in one piece, and different sizes likewise."""
MOST_SIZES = 250
_BATCH = 260
_SIZES = 80
_AGAIN = 12
_EFFORT = Plan(Effort(2, 5, 0, 0, 0, Beam(160, 3, 16)), 0, 1, 0, 0, 0, 0, 0)


def is_large(sheets: Sheets) -> bool:
    """Whether a plan is made in batches."""
    sizes = len(sheets.sizes)
    return sizes > MOST_SIZES or (sum(sheets.task.demands) > MOST_AT_ONCE and sizes > _SIZES)


def search_in_batches(sheets: Sheets, watch: Watch) -> Found:
    """The patterns of all batches; their counts are left out, as the blocks say the same.

    Raises:
        PlanCancelled: the caller stopped it.
    """
    batches = list(_dealt(sheets))
    limits = list(sheets.task.limits)
    made: list[tuple[Pattern, tuple[int, ...]]] = []
    for at, kinds in enumerate(batches):
        _plan_batch(sheets, dict(kinds), limits, made)
        watch.step(at + 1, len(batches) + 1)
    _plan_worst_again(sheets, limits, made, _AGAIN + len(batches))
    watch.step(len(batches) + 1, len(batches) + 1)
    patterns = [
        replace(p, counts=(), form=_renamed(p.form, kinds))
        for p, kinds in made
        if isinstance(p.form, Block)
    ]
    uses = tuple((pattern, 1) for pattern in patterns)
    cost = sum(sheets.task.costs[p.stock] for p in patterns)
    whole = _pieces(made) == sum(sheets.task.demands)
    return Found(Choice(uses), area_floor(sheets, cost) if whole else 0)


def _pieces(made: list[tuple[Pattern, tuple[int, ...]]]) -> int:
    return sum(sum(p.counts) for p, _ in made)


def _dealt(sheets: Sheets) -> Iterator[list[tuple[int, int]]]:
    """Kinds and how many of each, for every batch; all copies of a kind in one, if not too many."""
    demands = sheets.task.demands
    by_size = -(-len(demands) // _SIZES)
    count = max(1, -(-sum(demands) // _BATCH), by_size)
    batches: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    turn = 0
    for kind, demand in enumerate(demands):
        shares = min(count, -(-demand // (_BATCH // 4)))
        for share in range(shares):
            part = demand // shares + (share < demand % shares)
            if part:
                batches[turn % count].append((kind, part))
                turn += 1
    return (batch for batch in batches if batch)


def _plan_batch(
    sheets: Sheets,
    wanted: dict[int, int],
    limits: list[int | None],
    made: list[tuple[Pattern, tuple[int, ...]]],
) -> None:
    kinds = tuple(sorted(wanted))
    task = replace(
        sheets.task,
        demands=tuple(wanted[k] for k in kinds),
        penalties=tuple(sheets.task.penalties[k] for k in kinds),
        limits=tuple(limits),
    )
    part = replace(sheets, sizes=tuple(sheets.sizes[k] for k in kinds), task=task)
    for pattern in cut_plan(part, _EFFORT):
        made.append((pattern, kinds))
        limit = limits[pattern.stock]
        limits[pattern.stock] = None if limit is None else limit - 1


def _plan_worst_again(
    sheets: Sheets,
    limits: list[int | None],
    made: list[tuple[Pattern, tuple[int, ...]]],
    most: int,
) -> None:
    """Plan the pieces of the sheets that hold least for their cost once more, together."""

    def held(one: tuple[Pattern, tuple[int, ...]]) -> float:
        pattern, kinds = one
        area = sum(
            n * sheets.sizes[k][0] * sheets.sizes[k][1]
            for k, n in zip(kinds, pattern.counts, strict=True)
        )
        return area / (sheets.task.costs[pattern.stock] + 1)

    order = sorted(range(len(made)), key=lambda j: held(made[j]))
    taken = set(order[:most])
    wanted: dict[int, int] = {}
    left = list(limits)
    for j in taken:
        pattern, kinds = made[j]
        limit = left[pattern.stock]
        left[pattern.stock] = None if limit is None else limit + 1
        for k, n in zip(kinds, pattern.counts, strict=True):
            if n:
                wanted[k] = wanted.get(k, 0) + n
    again: list[tuple[Pattern, tuple[int, ...]]] = []
    _plan_batch(sheets, wanted, left, again)
    costs = sheets.task.costs
    spared = sum(costs[made[j][0].stock] for j in taken) - sum(costs[p.stock] for p, _ in again)
    if spared > 0 and _pieces(again) == sum(wanted.values()):
        made[:] = [*(one for j, one in enumerate(made) if j not in taken), *again]
        limits[:] = left


def _renamed(block: Block, kinds: tuple[int, ...]) -> Block:
    """The block with its kinds counted as in the whole plan."""
    if block.first is None or block.second is None:
        return block._replace(kind=kinds[block.kind])
    join = beside if block.join is Join.BESIDE else above
    return join(_renamed(block.first, kinds), _renamed(block.second, kinds))
