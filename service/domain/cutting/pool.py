"""The patterns of a whole search, and what is left to do once some of them are cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from service.domain.cutting.master import Pattern, Task


class Pool:
    """Patterns of a whole search, the first of equal counts kept."""

    def __init__(self) -> None:
        self._by_counts: dict[tuple[int, tuple[int, ...]], Pattern] = {}

    def add(self, pattern: Pattern) -> None:
        """Keep a pattern, unless one with its counts is there."""
        self._by_counts.setdefault((pattern.stock, pattern.counts), pattern)

    def __iter__(self) -> Iterator[Pattern]:
        return iter(self._by_counts.values())

    def within(self, task: Task) -> list[Pattern]:
        """Patterns that make no more than is wanted, from stock that there is."""
        demands, limits = np.array(task.demands), task.limits
        patterns = [p for p in self if limits[p.stock] != 0]
        if not patterns:
            return []
        good = (np.array([p.counts for p in patterns]) <= demands).all(axis=1)
        return [p for p, g in zip(patterns, good.tolist(), strict=True) if g]


def rest_of(task: Task, chosen: Sequence[Pattern]) -> Task:
    """What is still wanted, and what stock is left, once these patterns are cut."""
    demands, limits = list(task.demands), list(task.limits)
    for pattern in chosen:
        demands = [max(0, d - n) for d, n in zip(demands, pattern.counts, strict=True)]
        limit = limits[pattern.stock]
        limits[pattern.stock] = None if limit is None else limit - 1
    return replace(task, demands=tuple(demands), limits=tuple(limits))
