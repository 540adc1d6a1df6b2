"""The search behind stick plans: fill, price, round, choose.

Best-fit-decreasing gives a first plan and first patterns; column generation makes the LP over all
patterns exact; a dive rounds it; a restricted MIP closes what is left. All lengths here include one
kerf each, and every stick one kerf more than it has: n rails need n - 1 cuts between them, and the
last cut, where anything is left to cut off, eats into the leftover.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from math import ceil

from service.domain.cutting.patterns.bound import proven, whole_prices
from service.domain.cutting.patterns.choice import Choice, cheapest, gathered
from service.domain.cutting.patterns.master import Master, Pattern, Prices, Task
from service.domain.cutting.patterns.mixes import Cover, mixes
from service.domain.cutting.patterns.pool import rest_of
from service.domain.cutting.patterns.ties import crowned
from service.domain.cutting.sticks.fill import fill_best_fit, trim
from service.domain.cutting.sticks.mix import fill_mix
from service.domain.cutting.sticks.pricing import Pricer, Sticks
from service.domain.cutting.watch import Watch
from service.domain.value import dataclass

_ROUNDS = 400
_MOST_KINDS = 300
"""With more, mixes are filled and nothing is priced, which takes minutes and gains little."""
_FILLED = 6
_SHARES = (2, 8, 1 << 40)
_DIVES = 4
_MIX_DIVES = 3
_MIXES = 24
_EFFORT = 20_000
_POOL = 400
_AT_ONCE = 12
_TIE_SIZE = 10_000
_NODES = 50
_STEPS = _MIXES + 4


@dataclass(frozen=True, slots=True)
class Found:
    """The patterns chosen, and the bound proven for cost with penalties."""

    choice: Choice
    bound: int


def search(sticks: Sticks, watch: Watch) -> Found:
    """The best choice of patterns found, and its bound.

    Raises:
        PlanCancelled: the caller stopped it.
    """
    return _Search(sticks, watch).run()


class _Search:
    def __init__(self, sticks: Sticks, watch: Watch) -> None:
        self.sticks, self.task, self.watch = sticks, sticks.task, watch
        self.pool: dict[Pattern, None] = {}
        self.patterns: list[Pattern] = []
        self.floor = 0  # no plan that makes all costs less
        self.priced = 0  # nor does any plan, with its penalties, cost less than this

    def run(self) -> Found:
        best = self._first()
        self.watch.step(0, _STEPS)
        best = self._filled(best)
        self.watch.step(1, _STEPS)
        if not self._open(best):
            best = self._settle(best)
            self.watch.step(_STEPS, _STEPS)
            return Found(best, self._bound(best))
        if len(self.task.demands) > _MOST_KINDS:
            self.watch.step(_STEPS, _STEPS)
            return Found(best, 0 if any(best.short(self.task)) else self.floor)
        pricer = Pricer(self.sticks, self.task)
        prices = self._generate(self.task, pricer)
        covers = self._prove(prices, pricer)
        for mix in islice(mixes(self.task, covers, best.rank(self.task)[0], _EFFORT), 1):
            self.floor = max(self.floor, mix.cost)
        self.watch.step(1, _STEPS)
        best = self._dives(self.task, prices, best, _DIVES)
        self.watch.step(2, _STEPS)
        if not any(best.short(self.task)):
            best = self._mixes(best, covers)
        if self._open(best):
            best = cheapest(self.task, list(self.pool)[:_POOL], best, _NODES)
        self.watch.step(_STEPS - 1, _STEPS)
        best = self._settle(best)
        self.watch.step(_STEPS, _STEPS)
        return Found(best, self._bound(best))

    def _filled(self, best: Choice) -> Choice:
        """Fill the cheapest mixes that are long enough, stick by stick; the first is a bound."""
        lengths, demands = self.sticks.lengths, self.task.demands
        need = sum(d * n for d, n in zip(demands, lengths, strict=True))
        cost = best.rank(self.task)[0]
        for mix in islice(
            mixes(self.task, [Cover(self.sticks.stock, need)], cost, _EFFORT), _FILLED
        ):
            self.floor = self.floor or mix.cost
            if not mix.whole:
                break
            for share in _SHARES:
                plan = fill_mix(self.sticks, mix.counts, share)
                if plan is not None:
                    self.pool.update(dict.fromkeys(plan))
                    return gathered(plan)
        else:
            self.floor = self.floor or (0 if any(best.short(self.task)) else cost)
        return best

    def _prove(self, prices: Prices, pricer: Pricer) -> list[Cover]:
        whole = whole_prices(prices.pieces, self.task.penalties)
        ceilings = pricer.ceilings(whole)
        self.priced = ceil(proven(self.task, whole, ceilings))
        self.floor = max(self.floor, self.priced)
        lengths, demands = self.sticks.lengths, self.task.demands
        return [
            Cover(self.sticks.stock, sum(d * n for d, n in zip(demands, lengths, strict=True))),
            Cover(tuple(ceilings), sum(d * p for d, p in zip(demands, whole, strict=True))),
        ]

    def _bound(self, best: Choice) -> int:
        return self.priced if any(best.short(self.task)) else self.floor

    def _open(self, best: Choice) -> bool:
        return best.rank(self.task)[0] > self._bound(best)

    def _mixes(self, best: Choice, covers: list[Cover]) -> Choice:
        """Try the mixes of stock that could be enough, cheapest first; the first that is, is best.

        A mix whose LP leaves pieces out is proven not to be enough, so the bound rises past it; a
        mix that only the dive could not fill stays open, and the bound stays at it.
        """
        proof = True
        step = 0
        for mix in mixes(self.task, covers, best.rank(self.task)[0], _EFFORT):
            if proof:
                self.floor = max(self.floor, mix.cost)
            if step == _MIXES or not mix.whole:
                return best
            step += 1
            self.watch.step(2 + step, _STEPS)
            task = replace(self.task, limits=mix.counts)
            pricer = Pricer(self.sticks, task)
            prices = self._generate(task, pricer)
            whole = whole_prices(prices.pieces, task.penalties)
            if ceil(proven(task, whole, pricer.ceilings(whole))) > mix.cost:
                continue
            proof = False
            best = self._dives(task, prices, best, _MIX_DIVES)
            if best.rank(self.task)[0] <= mix.cost:
                return best
        if proof:
            self.floor = best.rank(self.task)[0]
        return best

    def _first(self) -> Choice:
        plans = []
        for by_rate in (True, False):
            plan = fill_best_fit(self.sticks, by_rate)
            plans.append(gathered(plan))
            self.pool.update(dict.fromkeys(plan))
        return min(plans, key=lambda c: c.rank(self.task))

    def _generate(self, task: Task, pricer: Pricer) -> Prices:
        """Column generation for a task: patterns are added until none is worth its stick."""
        master = Master(task)
        for pattern in self.pool:
            if all(n <= d for n, d in zip(pattern.counts, task.demands, strict=True)):
                master.add(pattern)
        for _ in range(_ROUNDS):
            prices = master.solve()
            fresh = [p for p in pricer.worthwhile(prices) if master.add(p)]
            if not fresh:
                break
            self.pool.update(dict.fromkeys(fresh))
        else:
            prices = master.solve()  # so that it says how much of each pattern is used
        self.patterns = master.patterns
        return prices

    def _dives(self, task: Task, prices: Prices, best: Choice, turns: int) -> Choice:
        patterns = list(self.patterns)
        for turn in range(turns):
            if not self._open(best):
                break
            found = self._dive(task, patterns, prices, turn)
            best = min(best, found, key=lambda c: c.rank(self.task))
        return best

    def _dive(self, task: Task, patterns: list[Pattern], prices: Prices, turn: int) -> Choice:
        """Fix the whole part of the LP, or one pattern much used, and price the rest again."""
        fixed: list[Pattern] = []
        while any(task.demands):
            chosen = _round(patterns, prices, task, turn)
            if not chosen:
                break
            fixed += chosen
            task = rest_of(task, chosen)
            if any(task.demands):
                prices = self._generate(task, Pricer(self.sticks, task))
                patterns = list(self.patterns)
        return gathered(fixed)

    def _settle(self, best: Choice) -> Choice:
        """Break ties, with the patterns of the choice cut down to the need."""
        start = trim(self.sticks, best)
        if not start:
            return best
        pool = list(self.pool)[: _TIE_SIZE // len(self.task.demands)]
        kinds = len(self.task.demands)
        singles = [
            self.sticks.pattern(s, [int(i == j) for j in range(kinds)])
            for s, length in enumerate(self.sticks.stock)
            for i in range(kinds)
            if self.sticks.lengths[i] <= length
        ]
        unit = max(self.sticks.stock)
        crowns = list(dict.fromkeys([*pool, *singles]))
        return gathered(
            crowned(self.task, start, pool, crowns, unit, lambda p: trim(self.sticks, gathered(p)))
        )


def _round(patterns: list[Pattern], prices: Prices, task: Task, turn: int) -> list[Pattern]:
    # Patterns used a whole number of times are taken for good; if none is, one that is used much,
    # or in a large task a few that do not stand in each other's way. The first turn takes the most
    # used, a later turn sometimes the next.
    order = sorted(range(len(patterns)), key=lambda j: (-round(float(prices.uses[j]), 6), j))
    order = [j for j in order if prices.uses[j] > 1e-6]
    whole = [patterns[j] for j in order for _ in range(int(prices.uses[j] + 1e-6))]
    if whole or not order:
        return whole
    pick = (turn * (1 + sum(task.demands))) % min(len(order), 1 + turn)
    chosen = [patterns[order[pick]]]
    left = rest_of(task, chosen)
    for j in order:
        if len(chosen) >= float(prices.uses.sum()) / _AT_ONCE:
            break
        pattern = patterns[j]
        fits = all(n <= d for n, d in zip(pattern.counts, left.demands, strict=True))
        if fits and left.limits[pattern.stock] != 0:
            chosen.append(pattern)
            left = rest_of(left, [pattern])
    return chosen
