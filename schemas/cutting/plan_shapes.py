"""Whole cutting plans, lists of them, and what a quote could take from the rack, as records."""

from __future__ import annotations

from typing import Annotated

from schemas.cutting.records import PLAN_LIFE
from schemas.cutting.shapes import Item, Name, PlanCosts, PlanItem, PlanPiece, PlanUnplaced
from schemas.materials.stock_shapes import Height, StickLength, Width
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing
from schemas.wire.values import Instant, Length, Next

Status = Annotated[
    str,
    growing(
        ("dry_run", *PLAN_LIFE.states),
        "`waiting` and `working`: it is being made. `planned`: it can be committed.",
    ),
]
Possible = Annotated[tuple[str, ...], doc("The steps that are possible now.")]
Wanted = Annotated[int, at_least(0, "Number of pieces requested.")]
Reference = Annotated[str, doc("The caller's own reference.")]
CreatedAt = Annotated[Instant, doc("When it was requested (RFC 3339, UTC).")]
UpdatedAt = Annotated[Instant, doc("When it last changed (RFC 3339, UTC).")]
Failure = Annotated[str, doc("Why it could not be made.")]


class PlanProgress(Record):
    """How far the calculation of a plan is."""

    done: Annotated[int, at_least(0, "Number of steps that are done.")]
    of: Annotated[int, at_least(0, "Number of all steps; 0 before the first.")]


class PlanRuler(Record):
    """The ruler of the marks in a plan."""

    unit: Annotated[str, doc("in, mm or cm.")]
    step: Annotated[Length, doc("The step between two marks.")]


class PlanRow(Record):
    """A stored plan in a list."""

    id: Annotated[str | None, doc("Its id.")]
    number: Annotated[str | None, doc("Its number, with a check digit: P100014.")]
    reference: Reference
    status: Status
    possible: Possible
    pieces_wanted: Wanted
    progress: Annotated[PlanProgress, doc("How far the calculation is.")]
    created_at: CreatedAt
    updated_at: UpdatedAt
    failure: Failure | Unset = UNSET


class MadePlan(Record):
    """The content of a plan, as it is stored."""

    reference: Reference
    ruler: Annotated[PlanRuler, doc("The ruler of its marks.")]
    tickets: Annotated[tuple[str, ...], doc("The numbers of its tickets.")]
    pieces: Annotated[tuple[PlanPiece, ...], doc("All requested pieces.")]
    items: Annotated[tuple[PlanItem, ...], doc("The plan, by item.")]
    unplaced: Annotated[tuple[PlanUnplaced, ...], doc("The pieces that it does not make.")]
    cautions: Annotated[tuple[str, ...], doc("Safety advice.")]


class CuttingPlan(Record, kw_only=True):
    """A cutting plan; while it is being made there is only its progress."""

    id: Annotated[str | None, doc("Its id; null for a dry run.")]
    number: Annotated[
        str | None, doc("Its number, with a check digit: P100014; null for a dry run.")
    ]
    reference: Reference
    status: Status
    possible: Possible
    pieces_wanted: Wanted
    progress: Annotated[PlanProgress, doc("How far the calculation is.")] | Unset = UNSET
    created_at: CreatedAt | Unset = UNSET
    updated_at: UpdatedAt | Unset = UNSET
    failure: Failure | Unset = UNSET
    ruler: Annotated[PlanRuler, doc("The ruler of its marks.")] | Unset = UNSET
    tickets: Annotated[tuple[str, ...], doc("The numbers of its tickets.")] | Unset = UNSET
    pieces: Annotated[tuple[PlanPiece, ...], doc("All requested pieces.")] | Unset = UNSET
    items: Annotated[tuple[PlanItem, ...], doc("The plan, by item.")] | Unset = UNSET
    unplaced: (
        Annotated[tuple[PlanUnplaced, ...], doc("The pieces that it does not make.")] | Unset
    ) = UNSET
    cautions: Annotated[tuple[str, ...], doc("Safety advice.")] | Unset = UNSET
    costs: Annotated[PlanCosts, doc("Only for keys that may see costs.")] | Unset = UNSET


class CuttingPlanList(Record):
    """A page of plans, newest first."""

    items: Annotated[tuple[PlanRow, ...], doc("The plans.")]
    next: Next


class FromRackPiece(Record, kw_only=True):
    """Equal pieces of a job."""

    job: Annotated[int, at_least(1, "The number of the job in the quote, from 1.")]
    item: Item
    name: Name
    quantity: Annotated[int, at_least(1, "Number of pieces needed.")]
    from_rack: Annotated[int, at_least(0, "How many of them the rack can supply.")]
    offcuts: Annotated[tuple[str, ...], doc("The labels of the offcuts.")]
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET


class FromRackOffcut(Record, kw_only=True):
    """An offcut that could be used."""

    label: Annotated[str, doc("Its rack label.")]
    item: Item
    place: Annotated[str, doc("Its place on the rack.")]
    pieces: Annotated[int, at_least(1, "Number of pieces that come from it.")]
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET


class FromRack(Record):
    """The pieces of a quote that could be cut from the offcuts now on the rack."""

    number: Annotated[str, doc("The quote's number.")]
    revision: Annotated[int, at_least(1, "Its revision.")]
    pieces: Annotated[tuple[FromRackPiece, ...], doc("All pieces that the shop cuts itself.")]
    offcuts: Annotated[tuple[FromRackOffcut, ...], doc("The offcuts that would be used.")]
    complete: Annotated[bool, doc("True if the rack can supply all of them.")]
