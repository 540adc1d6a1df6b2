"""Plans sheet by sheet, each filled at values that the last plans have corrected.

A piece that lay on badly used sheets becomes worth more, so that the next plan places it sooner
(sequential value correction, as in G. Belov and G. Scheithauer, "Setup and open-stacks minimization
in one-dimensional stock cutting", INFORMS Journal on Computing 19 (2007), from memory, with beams
of blocks for their knapsacks). It finds plans where prices from an LP leave one sheet too many.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from service.domain.cutting.patterns.choice import Choice, gathered
from service.domain.cutting.patterns.master import Floats, Pattern, Task
from service.domain.cutting.patterns.pool import rest_of
from service.domain.cutting.sheets.blocks import Beam, Builder
from service.domain.cutting.sheets.kinds import Sheets

_BEAM = Beam(240, 3, 24)
_POWER = 1.02
"""Large pieces are worth a little more than their area, since they are harder to place."""
_KEEP = 0.1
"""The least share of its old value that a piece keeps."""
_SLOWLY = 1.2


def corrected(sheets: Sheets, rounds: int) -> Iterator[Choice]:
    """Yield a plan for each round; they end where a plan places nothing."""
    areas = np.array([w * h for w, h, _ in sheets.sizes], dtype=float)
    basic = areas**_POWER
    values = basic.copy()
    for _ in range(rounds):
        chosen: list[Pattern] = []
        rest = sheets.task
        while any(rest.demands):
            pattern = _next(replace(sheets, task=rest), values)
            if pattern is None:
                break
            chosen.append(pattern)
            rest = rest_of(rest, [pattern])
            _correct(values, basic, sheets, pattern, float(np.dot(pattern.counts, areas)))
        if not chosen:
            return
        yield gathered(chosen)


def _next(sheets: Sheets, values: Floats) -> Pattern | None:
    """The filling worth most for the cost of its sheet."""
    task = sheets.task
    stock = [s for s, limit in enumerate(task.limits) if limit != 0]
    if not stock:
        return None
    builder = Builder(sheets, task.demands, _BEAM)
    builder.build(values)
    best: tuple[float, Pattern] | None = None
    for s in stock:
        for worth, counts, block in builder.patterns(s)[:1]:
            rate = worth / (task.costs[s] + 1)
            if best is None or rate > best[0]:
                best = rate, Pattern(s, counts, block)
    return None if best is None else best[1]


def _correct(values: Floats, basic: Floats, sheets: Sheets, pattern: Pattern, used: float) -> None:
    """Move the values of a sheet's pieces towards what they took of it."""
    w, h = sheets.stock[pattern.stock]
    task: Task = sheets.task
    for kind, many in enumerate(pattern.counts):
        if many:
            share = min(1 - _KEEP, many / (_SLOWLY * task.demands[kind]))
            values[kind] += share * (basic[kind] * w * h / used - values[kind])
