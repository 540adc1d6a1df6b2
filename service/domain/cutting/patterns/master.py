"""Choosing among patterns with HiGHS: the LP that prices pieces, and the MIP that chooses.

A pattern takes one piece of stock and makes some pieces. Pieces may be made too often (what is
too much is left on the sheet), so a row reads "at least"; a short piece costs its penalty. Floats
live here only as prices and choices; every figure that is answered is worked out from whole
numbers afterwards. One thread and no clock, so that the same plan comes out on any machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

import highspy
import numpy as np
from highspy._core import _Highs
from numpy.typing import NDArray

from service.domain.value import dataclass

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to cut one piece of stock: `counts` of each type of piece.

    `form` is whatever the caller needs to draw it; `largest`, `total` and `cuts` rank equal costs.
    """

    stock: int
    counts: tuple[int, ...]
    form: object = field(default=None, compare=False)
    largest: int = 0
    total: int = 0
    cuts: int = 0


@dataclass(frozen=True, slots=True)
class Task:
    """What is wanted and what there is: demands, penalties for each short, stock costs, limits."""

    demands: tuple[int, ...]
    penalties: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Prices:
    """What the LP says: `value` of it, price of each piece, rent of each stock, use of patterns."""

    value: float
    pieces: Floats
    rents: Floats
    uses: Floats


def quiet_solver() -> _Highs:
    """A solver that prints nothing and works on one thread.

    The class under `highspy.Highs`, as the wrapper prints a banner when it is made.
    """
    solver = _Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("parallel", "off")
    solver.setOptionValue("random_seed", 0)
    return solver


def row_bounds(task: Task) -> tuple[Floats, Floats]:
    """Lower and upper bounds of the rows: at least each demand, at most each limit."""
    limits = [highspy.kHighsInf if q is None else float(q) for q in task.limits]
    lower = np.array([float(d) for d in task.demands] + [-highspy.kHighsInf] * len(limits))
    upper = np.array([highspy.kHighsInf] * len(task.demands) + limits)
    return lower, upper


def _column(task: Task, pattern: Pattern) -> tuple[list[int], list[float]]:
    rows = [i for i, n in enumerate(pattern.counts) if n]
    values = [float(pattern.counts[i]) for i in rows]
    return [*rows, len(task.demands) + pattern.stock], [*values, 1.0]


@dataclass(slots=True)
class Master:
    """The LP over the patterns so far; it keeps its basis while patterns are added."""

    task: Task
    patterns: list[Pattern] = field(default_factory=list)
    _seen: set[tuple[int, tuple[int, ...]]] = field(default_factory=set)
    _solver: _Highs = field(default_factory=quiet_solver)
    _loaded: int = 0

    def __post_init__(self) -> None:
        lower, upper = row_bounds(self.task)
        none = np.array([], dtype=np.int32)
        self._solver.addRows(
            len(lower), lower, upper, 0, none, none, np.array([], dtype=np.float64)
        )
        for i, penalty in enumerate(self.task.penalties):
            self._solver.addCol(float(penalty), 0.0, highspy.kHighsInf, 1, [i], [1.0])

    def add(self, pattern: Pattern) -> bool:
        """Add a pattern unless one with the same counts of the same stock is there."""
        key = (pattern.stock, pattern.counts)
        if key in self._seen:
            return False
        self._seen.add(key)
        self.patterns.append(pattern)
        return True

    def solve(self) -> Prices:
        """Solve the LP over all patterns added so far."""
        fresh = self.patterns[self._loaded :]
        if fresh:
            self._load(fresh)
        self._solver.run()
        answer = self._solver.getSolution()
        duals = np.array(answer.row_dual)
        n = len(self.task.demands)
        return Prices(
            float(self._solver.getInfo().objective_function_value),
            np.maximum(duals[:n], 0.0),
            np.maximum(-duals[n:], 0.0),
            np.array(answer.col_value)[n:],
        )

    def _load(self, fresh: Sequence[Pattern]) -> None:
        starts: list[int] = []
        index: list[int] = []
        value: list[float] = []
        for pattern in fresh:
            starts.append(len(index))
            rows, values = _column(self.task, pattern)
            index += rows
            value += values
        n = len(fresh)
        self._solver.addCols(
            n,
            np.array([float(self.task.costs[p.stock]) for p in fresh]),
            np.zeros(n),
            np.full(n, highspy.kHighsInf),
            len(index),
            np.array(starts, dtype=np.int32),
            np.array(index, dtype=np.int32),
            np.array(value),
        )
        self._loaded = len(self.patterns)

    def retarget(self, demands: Sequence[int], limits: Sequence[int | None]) -> None:
        """Go on with other demands and limits; patterns that make too much stay good."""
        for i, demand in enumerate(demands):
            self._solver.changeRowBounds(i, float(demand), highspy.kHighsInf)
        for s, limit in enumerate(limits):
            upper = highspy.kHighsInf if limit is None else float(limit)
            self._solver.changeRowBounds(len(demands) + s, -highspy.kHighsInf, upper)
