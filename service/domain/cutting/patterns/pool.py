"""The patterns of a whole search, and what is left to do once some of them are cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.patterns.master import Pattern, Task


class Pool:
    """Patterns of a whole search, the first of equal counts kept."""

    def __init__(self) -> None:
        self._by_counts: dict[tuple[int, tuple[int, ...]], Pattern] = {}
        self._patterns: list[Pattern] = []
        self._counts: NDArray[np.int64] | None = None

    def add(self, pattern: Pattern) -> None:
        """Keep a pattern, unless one with its counts is there."""
        if self._by_counts.setdefault((pattern.stock, pattern.counts), pattern) is pattern:
            self._patterns.append(pattern)

    def __iter__(self) -> Iterator[Pattern]:
        return iter(self._patterns)

    @property
    def counts(self) -> NDArray[np.int64]:
        """The counts of all patterns, a row each."""
        known = 0 if self._counts is None else len(self._counts)
        if known < len(self._patterns):
            fresh = np.array([p.counts for p in self._patterns[known:]], dtype=np.int64)
            old = self._counts
            self._counts = fresh if old is None else np.concatenate([old, fresh])
        return np.zeros((0, 0), dtype=np.int64) if self._counts is None else self._counts

    def within(self, task: Task) -> list[Pattern]:
        """Patterns that make no more than is wanted, from stock that there is."""
        if not self._patterns:
            return []
        good = (self.counts <= np.array(task.demands)).all(axis=1)
        return [
            self._patterns[j]
            for j in np.flatnonzero(good).tolist()
            if task.limits[self._patterns[j].stock] != 0
        ]


def rest_of(task: Task, chosen: Sequence[Pattern]) -> Task:
    """What is still wanted, and what stock is left, once these patterns are cut."""
    demands, limits = list(task.demands), list(task.limits)
    for pattern in chosen:
        demands = [max(0, d - n) for d, n in zip(demands, pattern.counts, strict=True)]
        limit = limits[pattern.stock]
        limits[pattern.stock] = None if limit is None else limit - 1
    return replace(task, demands=tuple(demands), limits=tuple(limits))
