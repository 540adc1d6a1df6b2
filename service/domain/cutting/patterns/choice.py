"""Choosing whole patterns from a pool: the restricted MIP, and the same within a cost, for offcuts.

A branch-and-bound that is limited by nodes, never by time. It may stop before it is sure; what it
answers is always a plan that holds, and never worse than the one it was started from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import highspy
import numpy as np

from service.domain.cutting.patterns.master import Pattern, Task, quiet_solver, row_bounds
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """Patterns and how often each, in a fixed order; what is short follows from the task."""

    uses: tuple[tuple[Pattern, int], ...]

    def made(self, kinds: int) -> list[int]:
        """How many of each type of piece the choice makes, surplus included."""
        total = [0] * kinds
        for pattern, times in self.uses:
            for i, n in enumerate(pattern.counts):
                total[i] += n * times
        return total

    def short(self, task: Task) -> list[int]:
        """How many of each type are missing."""
        made = self.made(len(task.demands))
        return [max(0, d - m) for d, m in zip(task.demands, made, strict=True)]

    def rank(self, task: Task) -> tuple[int, int, int, int]:
        """What is compared, smaller is better: cost with penalties, -largest, -total, cuts."""
        cost = sum(task.costs[p.stock] * times for p, times in self.uses)
        cost += sum(n * p for n, p in zip(self.short(task), task.penalties, strict=True))
        return (
            cost,
            -max((p.largest for p, _ in self.uses), default=0),
            -sum(p.total * times for p, times in self.uses),
            sum(p.cuts * times for p, times in self.uses),
        )


def gathered(patterns: Sequence[Pattern]) -> Choice:
    """A choice from patterns listed one by one, equal ones counted together."""
    times = Counter(patterns)
    return Choice(tuple(times.items()))


def cheapest(task: Task, pool: Sequence[Pattern], start: Choice, nodes: int) -> Choice:
    """The cheapest choice from the pool, or `start` where nothing cheaper was found."""
    program = _Program(task, pool, [task.costs[p.stock] for p in pool])
    found = program.solve(start, nodes, step=_cost_step(task))
    return min(start, found, key=lambda c: c.rank(task)[0])


def within_cost(task: Task, pool: Sequence[Pattern], cost: int, nodes: int, unit: int) -> Choice:
    """A choice that costs no more than `cost`, with most offcut and then fewest cuts.

    Where the search finds none, the choice is empty, and everything short.
    """
    program = _Program(task, pool, [p.cuts * 1e-4 - p.total / unit for p in pool])
    program.hold_cost(cost)
    return program.solve(Choice(()), nodes, step=1e-4)


def _cost_step(task: Task) -> float:
    # Two costs differ by at least this, so a bound nearer than it proves the best.
    return float(np.gcd.reduce([*task.costs, *task.penalties])) if task.costs else 1.0


class _Program:
    """The MIP: whole uses of patterns, and what is short."""

    def __init__(self, task: Task, pool: Sequence[Pattern], weights: Sequence[float]) -> None:
        self.task, self.pool, self.weights = task, pool, [float(w) for w in weights]
        self.shorts = len(task.demands)
        lower, upper = row_bounds(task)
        self.lower, self.upper = list(lower), list(upper)
        self.columns: list[dict[int, float]] = [{i: 1.0} for i in range(self.shorts)]
        self.objective = [float(p) for p in task.penalties]
        self.ceilings = [float(d) for d in task.demands]
        for pattern, weight in zip(pool, self.weights, strict=True):
            column = {i: float(n) for i, n in enumerate(pattern.counts) if n}
            column[self.shorts + pattern.stock] = 1.0
            self.columns.append(column)
            self.objective.append(weight)
            needed = max(
                (-(-task.demands[i] // n) for i, n in enumerate(pattern.counts) if n), default=0
            )
            limit = task.limits[pattern.stock]
            self.ceilings.append(float(needed if limit is None else min(needed, limit)))

    def _row(self, lower: float, upper: float) -> int:
        self.lower.append(lower)
        self.upper.append(upper)
        return len(self.lower) - 1

    def hold_cost(self, cost: int) -> None:
        """Keep the cost, penalties included, at or under this."""
        row = self._row(-highspy.kHighsInf, float(cost) + 1e-6)
        for i, penalty in enumerate(self.task.penalties):
            self.columns[i][row] = float(penalty)
            self.objective[i] = 0.0
        for j, pattern in enumerate(self.pool):
            self.columns[self.shorts + j][row] = float(self.task.costs[pattern.stock])

    def solve(self, start: Choice, nodes: int, step: float) -> Choice:
        """Run the branch-and-bound and read off the patterns chosen."""
        solver = quiet_solver()
        solver.passModel(self._model())
        solver.setOptionValue("mip_max_nodes", nodes)
        solver.setOptionValue("mip_rel_gap", 0.0)
        # These heuristics took half the time and were not seen to find more than the dives do.
        for heuristic in ("root_reduced_cost", "rens", "rins"):
            solver.setOptionValue(f"mip_heuristic_run_{heuristic}", False)
        solver.setOptionValue("mip_abs_gap", max(1e-6, step * 0.99))
        # No start is handed over: this release of HiGHS, given one together with presolve, cuts off
        # better answers and calls the start optimal (HiGHS 1.16.0, seen on shop_mat40b).
        solver.run()
        values = np.array(solver.getSolution().col_value)
        if len(values) != len(self.columns):
            return start
        chosen = [round(v) for v in values[self.shorts : self.shorts + len(self.pool)]]
        return Choice(tuple((p, n) for p, n in zip(self.pool, chosen, strict=True) if n))

    def _model(self) -> highspy.HighsLp:
        starts, index, value = [0], [], []
        for column in self.columns:
            for row in sorted(column):
                index.append(row)
                value.append(column[row])
            starts.append(len(index))
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.columns), len(self.lower)
        lp.col_cost_ = np.array(self.objective)
        lp.col_lower_ = np.zeros(len(self.columns))
        lp.col_upper_ = np.array(self.ceilings)
        lp.row_lower_, lp.row_upper_ = np.array(self.lower), np.array(self.upper)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(value)
        lp.integrality_ = [highspy.HighsVarType.kInteger] * len(self.columns)
        return lp
