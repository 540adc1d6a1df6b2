"""The planner's two doors, loaded when they are first gone through.

numpy and highspy take a quarter of a second and 40 MB; a worker that never plans need not pay it.
"""
# ruff: noqa: PLC0415 — importing late is what this module is for

from __future__ import annotations

from collections.abc import Sequence

from service.domain.cutting.plan import SheetPlan, StickPlan
from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    SheetStock,
    StickPiece,
    StickRules,
    StickStock,
)
from service.domain.cutting.watch import Watch


def plan_sheets(
    stock: Sequence[SheetStock],
    pieces: Sequence[SheetPiece],
    rules: SheetRules | None = None,
    watch: Watch | None = None,
) -> SheetPlan:
    """Plan pieces on sheets; see `sheets.plan_sheets`.

    Raises:
        BadValue, PlanCancelled, PlanRejected: as there.
    """
    from service.domain.cutting.sheets import plan as sheets

    return sheets.plan_sheets(stock, pieces, rules, watch)


def plan_sticks(
    stock: Sequence[StickStock],
    pieces: Sequence[StickPiece],
    rules: StickRules | None = None,
    watch: Watch | None = None,
) -> StickPlan:
    """Plan rails on sticks; see `sticks.plan_sticks`.

    Raises:
        BadValue, PlanCancelled, PlanRejected: as there.
    """
    from service.domain.cutting.sticks import plan as sticks

    return sticks.plan_sticks(stock, pieces, rules, watch)
