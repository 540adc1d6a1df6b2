"""Measure the cutting planner: `python -m tests.bench.cutting_plans [--large]`.

For each instance: cost, proven bound, gate (the cost that must be reached), best known, seconds by
the wall clock and of the processor (which the limit is held against, as a busy machine slows the
clock), whether a second run gives the same plan, and what first-fit-decreasing and rectpack
(where it is installed) pay. HiGHS is held to one thread by the planner itself.
"""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import dataclass

from service.domain.cutting.plan import SheetPlan, StickPlan
from service.domain.cutting.sheets.plan import plan_sheets
from service.domain.cutting.sticks.plan import plan_sticks
from service.domain.cutting.stock import StickPiece, StickRules, StickStock
from tests.bench.cutting_first_fit import sheets_first_fit, sheets_rectpack, sticks_first_fit
from tests.bench.cutting_instances import SheetJob, StickJob, kept, sheet_job, stick_job

# Best known costs of the kept instances and how far above them a plan may be, in seconds at most.
KEPT: dict[str, tuple[int, float, int]] = {
    "shop_mat10a": (2700, 0, 1),
    "shop_mat40a": (11_700, 0, 2),
    "shop_mat40b": (17_700, 0, 2),
    "shop_mat40d_rem": (10_122, 0, 2),
    "shop_glass40": (18_050, 0, 3),
    "shop_back40_foam": (9250, 0, 3),
    "shop_mat150a": (49_500, 0, 5),
    "shop_mat150b_rem": (51_585, 0, 8),
    "shop_glass150": (99_350, 0, 8),
    "shop_back150_saw": (35_200, 0, 10),
    "shop_mat500b": (166_800, 0, 10),
    "shop_rail12": (3240, 0, 1),
    "shop_rail40a": (9720, 0, 1),
    "shop_rail500a": (111_600, 0, 1),
    "shop_rail40b_rem": (6725, 0, 2),
    "shop_rail152b_mix": (35_375, 0, 2),
}

# Paper rolls of 5600 mm, the well-known example (from memory); optimum 73.
ROLLS = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
    2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    name: str
    cost: int
    bound: int
    gate: int | None
    best: int | None
    wall: float
    seconds: float
    limit: int | None
    same: bool
    first_fit: int
    packed: str

    def text(self) -> str:
        """The line, with what failed marked."""
        bad = []
        if self.gate is not None and self.cost > self.gate:
            bad.append("COST")
        if self.limit is not None and self.seconds > self.limit:
            bad.append("TIME")
        if not self.same:
            bad.append("DIFFERS")
        return (
            f"{self.name:24}{self.cost:>9}{self.bound:>9}{self.gate or '-':>9}{self.best or '-':>9}"
            f"{self.wall:>7.2f}{self.seconds:>7.2f}{self.first_fit:>9}{self.packed:>9}"
            f"  {' '.join(bad)}"
        )


def measure(job: SheetJob | StickJob, best: int | None, over: float, limit: int | None) -> Row:
    """Plan a job twice and set it beside the plain methods."""
    start, ticking = time.perf_counter(), time.process_time()
    plan = _plan(job)
    wall, seconds = time.perf_counter() - start, time.process_time() - ticking
    same = _plan(job) == plan
    if isinstance(job, StickJob):
        first_fit, packed = sticks_first_fit(job), "-"
    else:
        first_fit, packed = sheets_first_fit(job), _packed(job)
    gate = None if best is None else int(best * (1 + over))
    summary = plan.summary
    return Row(
        job.name,
        summary.cost,
        summary.bound,
        gate,
        best,
        wall,
        seconds,
        limit,
        same,
        first_fit,
        packed,
    )


def _plan(job: SheetJob | StickJob) -> SheetPlan | StickPlan:
    if isinstance(job, StickJob):
        return plan_sticks(job.stock, job.pieces, job.rules)
    return plan_sheets(job.stock, job.pieces, job.rules)


def _packed(job: SheetJob) -> str:
    try:
        return str(sheets_rectpack(job))
    except ImportError:
        return "-"
    except ValueError:
        return "left out"


def generated(large: bool) -> list[SheetJob | StickJob]:
    """Invented jobs of the same kinds, by seed; nothing was tuned to these alone."""
    kinds = (
        ("mat", 0, 2), ("mat32", 0, 2), ("glass", 0, 2), ("foam", 0, 2), ("mat", 6, 1),
        ("glass", 4, 1), ("mat32", 5, 1), ("foam", 6, 2),
    )  # fmt: skip
    jobs: list[SheetJob | StickJob] = [
        sheet_job(700 + n, 40, kind, offcuts, step) for n, (kind, offcuts, step) in enumerate(kinds)
    ]
    jobs += [sheet_job(720, 10, "mat"), sheet_job(721, 150, "mat", 6, 1)]
    jobs += [
        stick_job(730, 40, (1728,), 5),
        stick_job(731, 152, (1728, 1920), 10),
        stick_job(732, 500, (1728,), 0),
    ]
    if large:
        jobs += [sheet_job(740, 500, "mat", 0, 1), sheet_job(741, 500, "glass", 8, 1)]
        jobs += [sheet_job(742, 500, "glass", 0, 1, usual=0)]  # some 320 different sizes
    return jobs


def main() -> None:
    """Print the table."""
    print(
        f"{'instance':24}{'cost':>9}{'bound':>9}{'gate':>9}{'best':>9}"
        f"{'wall':>7}{'cpu':>7}{'FFD':>9}{'rectpack':>9}"
    )
    for name, (best, over, limit) in KEPT.items():
        print(measure(kept(name), best, over, limit).text(), flush=True)
    rolls = StickJob(
        "paper rolls",
        (StickStock("roll", 5600, 1),),
        tuple(StickPiece(str(w), w, n) for w, n in ROLLS.items()),
        StickRules(),
    )
    print(measure(rolls, 73, 0, 1).text())
    for job in generated("--large" in sys.argv[1:]):
        print(measure(job, None, 0, None).text(), flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"peak memory of the whole run: {peak} MB")


if __name__ == "__main__":
    main()
