"""The search behind sheet plans: attempts on the whole, on mixes of stock, and on parts again.

A first attempt and a proof of how cheap a plan could be. While they differ: mixes of stock that
could be enough are tried, cheapest first, since a plan is easier found once it is known what it may
be cut from; and some sheets of the best plan at a time are taken back and planned afresh. At last
equal costs are told apart by offcuts and cuts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from service.domain.cutting.bound import next_cost, whole_prices
from service.domain.cutting.choice import Choice, gathered
from service.domain.cutting.master import Master, Pattern
from service.domain.cutting.mixes import Mix, mixes
from service.domain.cutting.pool import Pool, rest_of
from service.domain.cutting.sheet_attempt import Effort, attempt, generate
from service.domain.cutting.sheet_blocks import Beam
from service.domain.cutting.sheet_bound import Proof
from service.domain.cutting.sheet_kinds import Sheets
from service.domain.cutting.sheet_ties import settle_ties
from service.domain.cutting.watch import Watch

_PART = Effort(fills=6, rounds=4, shaken=1, pool=250, nodes=10, beam=Beam(240, 3, 24))
_MIX = Effort(fills=10, rounds=6, shaken=2, pool=300, nodes=10, beam=Beam(320, 4, 30))
_EFFORT = 20_000


@dataclass(frozen=True, slots=True)
class Plan:
    """How much of everything a search does, by the number of pieces."""

    first: Effort
    work: int
    mixes: int
    tries: int
    recuts: int

    @staticmethod
    def of(pieces: int) -> Plan:
        """Small jobs are searched closely, large ones within about the same time."""
        if pieces <= 80:
            first = Effort(60, 12, 4, 350, 20, Beam(400, 4, 40))
            return Plan(first, 800_000_000, 40, 4, 4)
        if pieces <= 250:
            first = Effort(24, 24, 4, 400, 20, Beam(400, 4, 40))
            return Plan(first, 2_000_000_000, 30, 4, 12)
        return Plan(Effort(12, 24, 4, 500, 20, Beam(400, 4, 40)), 3_000_000_000, 12, 2, 12)


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


class _Search:
    def __init__(self, sheets: Sheets, watch: Watch) -> None:
        self.sheets, self.task, self.watch = sheets, sheets.task, watch
        self.size = Plan.of(sum(sheets.task.demands))
        self.proof = Proof(sheets, self.size.work)
        self.pool = Pool()
        self.best = Choice(())
        self.floor = 0  # no plan that makes all costs less
        self.steps = self.size.mixes + self.size.recuts + 4
        self.done = 0

    def run(self) -> Found:
        first = attempt(self.sheets, self.size.first, [], 0, 0)
        for pattern in first.patterns:
            self.pool.add(pattern)
        self.best = first.choice
        self._step()
        self.proof.settle(first.patterns)
        self._raise_floor()
        self._step()
        if not any(self.best.short(self.task)):
            self._try_mixes()
        self._recut()
        self.best = settle_ties(self.sheets, self.best, list(self.pool))
        self.watch.step(self.steps, self.steps)
        return Found(self.best, self._bound())

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

    def _try_mixes(self) -> None:
        """Try mixes of stock in order of cost; while each is proven too little the bound rises."""
        proven, tried, seen = True, 0, set[tuple[int, ...]]()
        for _ in range(self.size.mixes):
            mix = self._next_mix(seen)
            if mix is None or mix.cost >= self._cost:
                self.floor = self._cost if proven and mix is None else self.floor
                return
            if proven:
                self.floor = max(self.floor, mix.cost)
            if not mix.whole or tried == self.size.tries:
                return
            seen.add(mix.counts)
            self._step()
            enough, ruled_out = self._weigh(mix)
            proven = proven and ruled_out
            if enough:
                tried += 1
                self._fill_mix(mix)

    def _next_mix(self, seen: set[tuple[int, ...]]) -> Mix | None:
        for mix in mixes(self.task, self.proof.covers, self._cost, _EFFORT):
            if mix.counts not in seen:
                return mix
        return None

    def _weigh(self, mix: Mix) -> tuple[bool, bool]:
        """Whether the patterns known could fill a mix, and whether it is proven that none can."""
        task = replace(self.task, limits=mix.counts)
        sheets = replace(self.sheets, task=task)
        master = Master(task)
        for pattern in self.pool:
            master.add(pattern)
        prices = master.solve()
        if prices.value > mix.cost + 0.5:
            known = len(master.patterns)
            prices = generate(sheets, replace(_MIX, rounds=2, shaken=0), master, 0)
            for pattern in master.patterns[known:]:
                self.pool.add(pattern)
        if prices.value <= mix.cost + 0.5:
            return True, False
        cover = self.proof.weigh(whole_prices(prices.pieces, task.penalties))
        held = sum(n * v for n, v in zip(mix.counts, cover.holds, strict=True))
        if held < cover.need:
            self.proof.covers.append(cover)
            return False, True
        return False, False

    def _fill_mix(self, mix: Mix) -> None:
        task = replace(self.task, limits=mix.counts)
        sheets = replace(self.sheets, task=task)
        found = attempt(sheets, _MIX, self.pool.within(task), 0, mix.cost)
        for pattern in found.patterns:
            self.pool.add(pattern)
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
        for pattern in found.patterns:
            self.pool.add(pattern)
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
