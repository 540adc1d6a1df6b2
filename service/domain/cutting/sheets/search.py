"""The search behind sheet plans: attempts on the whole, on mixes of stock, and on parts again.

A first attempt and a proof of how cheap a plan could be. While they differ: mixes of stock that
could be enough are tried, cheapest first, since a plan is easier found once it is known what it may
be cut from; and some sheets of the best plan at a time are taken back and planned afresh. At last
equal costs are told apart by offcuts and cuts.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.domain.cutting.patterns.bound import next_cost, whole_prices
from service.domain.cutting.patterns.choice import Choice, gathered
from service.domain.cutting.patterns.master import Master, Pattern, Prices
from service.domain.cutting.patterns.mixes import Cover, Mix, mixes
from service.domain.cutting.patterns.pool import Pool, rest_of
from service.domain.cutting.sheets.attempt import Effort, attempt, choose, generate, price
from service.domain.cutting.sheets.blocks import Beam
from service.domain.cutting.sheets.bound import Proof
from service.domain.cutting.sheets.dive import dive
from service.domain.cutting.sheets.exact import exact_floor
from service.domain.cutting.sheets.kinds import Sheets
from service.domain.cutting.sheets.layout import Layouts
from service.domain.cutting.sheets.ties import cut_down, settle_ties
from service.domain.cutting.sheets.values import corrected
from service.domain.cutting.watch import Watch
from service.domain.value import dataclass

_PART = Effort(fills=6, rounds=4, shaken=1, pool=120, nodes=5, beam=Beam(240, 3, 24))
_MIX = Effort(fills=30, rounds=3, shaken=0, pool=140, nodes=5, beam=Beam(320, 4, 30))
_EFFORT = 12_000
_MANY_SIZES = 80
"""With more, choosing whole sheets by a MIP takes most of the time and was seen to find no less."""
_MOST_SIZES = 200
"""With more, every round takes so long that a plan is made in about half of them."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How much of everything a search does, by the number of pieces and of different sizes."""

    first: Effort
    work: int
    dives: int
    proofs: int
    mixes: int
    tries: int
    recuts: int
    corrections: int

    @staticmethod
    def of(pieces: int, sizes: int) -> Plan:
        """Small jobs are searched closely, large ones within about the same time."""
        if pieces <= 80:
            first = Effort(80, 8, 2, 150, 10, Beam(300, 4, 30))
            return Plan(first, 400_000_000, 4, 10, 24, 3, 0, 8)
        if pieces <= 250 and sizes <= _MANY_SIZES:
            first = Effort(24, 16, 3, 250, 10, Beam(400, 4, 40))
            return Plan(first, 1_200_000_000, 3, 8, 16, 2, 4, 5)
        first = Effort(8, 14, 3, 0, 0, Beam(400, 4, 40))
        if sizes <= _MOST_SIZES:
            return Plan(first, 3_000_000_000, 2, 2, 0, 0, 0, 1)
        return Plan(replace(first, fills=4), 1_000_000_000, 1, 1, 0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Found:
    """The patterns chosen, and the bound proven for cost with penalties."""

    choice: Choice
    bound: int


def search(sheets: Sheets, watch: Watch) -> Found:
    """The best choice of patterns found, and its bound.

    Raises:
        PlanCancelled: the caller stopped it.
    """
    return _Search(sheets, watch).run()


def cut_plan(sheets: Sheets, size: Plan) -> list[Pattern]:
    """A plan sheet by sheet with nothing made too often: greedy, priced and rounded, not proved."""
    task = sheets.task
    first = price(sheets, size.first, [], 0)
    pool = Pool()
    for pattern in first.patterns:
        pool.add(pattern)
    best = first.choice
    for seed in range(size.dives):
        best = min(best, dive(sheets, pool, seed), key=lambda c: c.rank(task)[0])
    return cut_down(Layouts(sheets), best)


class _Search:
    def __init__(self, sheets: Sheets, watch: Watch) -> None:
        self.sheets, self.task, self.watch = sheets, sheets.task, watch
        self.size = Plan.of(sum(sheets.task.demands), len(sheets.sizes))
        self.proof = Proof(sheets, self.size.work)
        self.pool = Pool()
        self.best = Choice(())
        self.floor = 0  # no plan that makes all costs less
        self.steps = sum((self.size.dives, self.size.proofs, self.size.mixes, self.size.recuts)) + 4
        self.done = 0

    def run(self) -> Found:
        first = price(self.sheets, self.size.first, [], 0)
        self._gather(first.patterns)
        self.best = first.choice
        self._step()
        self.proof.settle(first.patterns)
        self._gather(self.proof.patterns)
        self._raise_floor()
        if not any(self.best.short(self.task)) and self._cost > self.floor:
            self.floor = max(self.floor, exact_floor(self.sheets))
        self._step()
        self._correct()
        self._dive()
        if not any(self.best.short(self.task)):
            self._prove_mixes()
            self._try_mixes()
        self._choose()
        self._recut()
        self.best = settle_ties(self.sheets, self.best, list(self.pool))
        self.watch.step(self.steps, self.steps)
        return Found(self.best, self._bound())

    def _gather(self, patterns: list[Pattern]) -> None:
        for pattern in patterns:
            self.pool.add(pattern)

    def _correct(self) -> None:
        """Fill sheet by sheet at corrected values.

        The patterns join the pool of large jobs only; elsewhere a MIP was seen to choose worse.
        """
        plans = corrected(self.sheets, self.size.corrections)
        while self._cost > self._bound() and (choice := next(plans, None)) is not None:
            self._take(choice)
            if not self.size.first.pool:
                self._gather([pattern for pattern, _ in choice.uses])

    def _dive(self) -> None:
        for seed in range(self.size.dives):
            if self._cost <= self._bound():
                return
            self._take(dive(self.sheets, self.pool, seed))
            self._step()

    def _choose(self) -> None:
        if self._cost <= self._bound() or not self.size.first.pool:
            return
        master = Master(self.task)
        for pattern in self.pool:
            master.add(pattern)
        prices = master.solve()
        self._take(choose(self.task, master.patterns, prices, self.best, self.size.first))
        self._step()

    def _step(self) -> None:
        self.done += 1
        self.watch.step(self.done, self.steps)

    @property
    def _cost(self) -> int:
        return self.best.rank(self.task)[0]

    def _bound(self) -> int:
        return self.proof.floor if any(self.best.short(self.task)) else self.floor

    def _raise_floor(self) -> None:
        self.floor = next_cost(self.task, self.proof.bound, self._cost)

    def _take(self, choice: Choice) -> None:
        self.best = min(self.best, choice, key=lambda c: c.rank(self.task)[0])

    def _prove_mixes(self) -> None:
        """Raise the bound past mixes of stock, cheapest first, while each is proven too little."""
        for _ in range(self.size.proofs):
            mix = next(mixes(self.task, self.proof.covers, self._cost, _EFFORT), None)
            if mix is None:
                self.floor = self._cost
                return
            self.floor = max(self.floor, mix.cost)
            if not mix.whole:
                return
            self._step()
            prices = self._priced(mix, rounds=0)
            cover = self.proof.weigh(whole_prices(prices.pieces, self.task.penalties))
            if _enough(mix, cover):
                return
            self.proof.covers.append(cover)

    def _try_mixes(self) -> None:
        """Fill mixes of stock that could be enough, cheapest first.

        Mixes that the patterns known cannot fill are passed by; their prices, taken for a proof,
        pass others by too, which a proof would not, so nothing here raises the bound.
        """
        covers, tried = list(self.proof.covers), 0
        passed: set[tuple[int, ...]] = set()
        for _ in range(self.size.mixes):
            found = mixes(self.task, covers, self._cost, _EFFORT)
            mix = next((m for m in found if m.counts not in passed), None)
            if mix is None or not mix.whole or tried == self.size.tries:
                return
            passed.add(mix.counts)
            self._step()
            prices = self._priced(mix, rounds=2)
            if prices.value > mix.cost + 0.5:
                covers.append(self._believed(prices))
                continue
            tried += 1
            self._fill_mix(mix)
            if self._cost <= mix.cost:
                return

    def _priced(self, mix: Mix, rounds: int) -> Prices:
        """The LP of a mix over the patterns known, and new ones where these do not fill it."""
        task = replace(self.task, limits=mix.counts)
        master = Master(task)
        for pattern in self.pool:
            master.add(pattern)
        prices = master.solve()
        if rounds and prices.value > mix.cost + 0.5:
            known = len(master.patterns)
            sheets = replace(self.sheets, task=task)
            prices = generate(sheets, replace(_MIX, rounds=rounds, shaken=0), master, 0)
            self._gather(master.patterns[known:])
        return prices

    def _believed(self, prices: Prices) -> Cover:
        """A cover by the patterns known alone: what they hold, not what could be held."""
        whole = whole_prices(prices.pieces, self.task.penalties)
        patterns = list(self.pool)
        worth = self.pool.counts @ np.array(whole)
        stock = np.array([p.stock for p in patterns])
        holds = tuple(int(worth[stock == s].max(initial=0)) for s in range(len(self.task.costs)))
        need = sum(d * p for d, p in zip(self.task.demands, whole, strict=True))
        # A little is let pass, as prices are rounded.
        return Cover(holds, need - len(patterns) - need // 1_000_000)

    def _fill_mix(self, mix: Mix) -> None:
        task = replace(self.task, limits=mix.counts)
        sheets = replace(self.sheets, task=task)
        found = attempt(sheets, _MIX, self.pool.within(task), 0, mix.cost)
        self._gather(found.patterns)
        self._take(found.choice)

    def _recut(self) -> None:
        for turn in range(self.size.recuts):
            if self._cost <= self._bound():
                return
            self._step()
            self._recut_some(turn)

    def _recut_some(self, turn: int) -> None:
        """Take some sheets of the plan back and plan their pieces afresh."""
        plan = [pattern for pattern, times in self.best.uses for _ in range(times)]
        taken = self._dear(plan, turn)
        kept = [p for j, p in enumerate(plan) if j not in taken]
        rest = rest_of(self.task, kept)
        if not any(rest.demands):
            self._take(gathered(kept))
            return
        spent = sum(self.task.costs[p.stock] for p in kept)
        part = replace(self.sheets, task=rest)
        found = attempt(part, _PART, self.pool.within(rest), self._bound() - spent, 7 * turn)
        self._gather(found.patterns)
        again = [p for p, times in found.choice.uses for _ in range(times)]
        self._take(gathered([*kept, *again]))

    def _dear(self, plan: list[Pattern], turn: int) -> set[int]:
        # Sheets that cost most for what they make are taken more often.
        rng = np.random.default_rng(1000 + turn)
        areas = np.array([w * h for w, h, _ in self.sheets.sizes], dtype=float)
        made = np.array([1.0 + float(np.dot(p.counts, areas)) for p in plan])
        rate = np.array([float(self.task.costs[p.stock]) for p in plan]) / made
        order = np.argsort(-rate / max(rate.max(), 1e-12) - rng.random(len(plan)), kind="stable")
        return set(order[: 4 + turn % 5].tolist())


def _enough(mix: Mix, cover: Cover) -> bool:
    return sum(n * v for n, v in zip(mix.counts, cover.holds, strict=True)) >= cover.need
