"""Tickets of random jobs are proved; tickets with one thing wrong are not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec
from service.domain.jobs.mat import MatSpec
from service.domain.measure.length import Length, Sides
from service.domain.tickets.instructions import Part, Step
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket, MatPiece, RodPiece, TicketNotProved
from service.domain.tickets.proof.boards import prove
from tests.domain.bench_shop import basis, inch, size
from tests.domain.tickets.random_jobs import estimates
from tests.proofs import examples

MANY = settings(
    max_examples=examples(1500),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)


@MANY
@given(estimates())
def test_random_jobs_come_out_as_ordered(drawn: tuple[JobEstimate, Basis]) -> None:
    made, shop = drawn
    ticket = make_ticket(made, shop.shop)
    proved = prove(ticket, made.pieces)
    assert len(proved) == len(made.job.mats)
    if made.sizes.border and proved:
        # The border of the top mat, measured on the finished board, is the border asked for.
        assert proved[0].borders() == tuple(side.ticks for _, side in made.sizes.border.each())
    assert ticket.minutes == made.minutes


def double_mat(**more: object) -> tuple[JobEstimate, Basis]:
    shop = basis()
    spec = JobSpec(
        artwork=Artwork(size("16 3/8 x 20")),
        presentation="overlap",
        mats=(
            MatSpec("WHITE", border=Sides(inch("3"), inch("2 1/2"), inch("3 1/2"), inch("2"))),
            MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
        ),
        glazing=GlazingSpec("CLEAR"),
        frames=(FrameSpec("OAK"),),
        **more,  # type: ignore[arg-type]
    )
    return estimate_job(assemble(spec, shop.shop, shop.catalogue), shop), shop


def with_steps(ticket: CutTicket, *, work: str, change: Callable[[Part], Part | None]) -> CutTicket:
    """The ticket with every part of one kind of work changed by a function (None drops it)."""
    steps: list[Step] = []
    for step in ticket.steps:
        if step.work != work:
            steps.append(step)
            continue
        changed = [change(part) for part in step.parts]
        parts = tuple(part for part in changed if part is not None)
        if parts:
            steps.append(replace(step, parts=parts))
    return replace(ticket, steps=tuple(steps))


def a_mark_off(length: Length) -> Length:
    return Length(length.ticks + 1)


def guide_off_by_a_tick(part: Part) -> Part:
    return replace(
        part,
        changes=tuple(
            replace(c, to=a_mark_off(c.to)) if c.what == "guide" and isinstance(c.to, Length) else c
            for c in part.changes
        ),
    )


def not_turned_over(step: Part) -> Part:
    """Left and right as on the front: the slip that spoils the most mats."""
    names = {"left": "right", "right": "left", "top": "top", "bottom": "bottom"}
    return replace(
        step,
        cuts=tuple(
            replace(
                cut,
                side=names[cut.side],
                start=replace(cut.start, side=names[cut.start.side]),
                stop=replace(cut.stop, side=names[cut.stop.side]),
            )
            for cut in step.cuts
        ),
    )


BREAKS: dict[str, tuple[str, Callable[[Part], Part | None]]] = {
    "the guide is a tick off": ("window", guide_off_by_a_tick),
    "left and right are not changed": ("window", not_turned_over),
    "no window is cut": ("window", lambda _: None),
    "the guide is never set": (
        "window",
        lambda s: replace(s, changes=tuple(c for c in s.changes if c.what != "guide")),
    ),
    "a stop is not set again": (
        "window",
        lambda s: replace(s, changes=tuple(c for c in s.changes if c.what != "end_stop")),
    ),
    "the slip sheet stays out": (
        "window",
        lambda s: replace(s, changes=tuple(c for c in s.changes if c.what != "slip_sheet")),
    ),
    "the head stays on": (
        "window",
        lambda s: replace(s, changes=tuple(c for c in s.changes if c.what != "head")),
    ),
    "a cut starts a tick late": (
        "window",
        lambda s: replace(
            s,
            cuts=tuple(
                replace(c, start=replace(c.start, distance=a_mark_off(c.start.distance)))
                for c in s.cuts
            ),
        ),
    ),
    "every cut is made twice": ("window", lambda s: replace(s, cuts=(*s.cuts, *s.cuts))),
    "a size cut is left out": ("size", lambda s: replace(s, size_cuts=s.size_cuts[1:])),
    "the stop is a tick off": (
        "size",
        lambda s: replace(
            s,
            changes=tuple(
                replace(c, to=a_mark_off(c.to)) if isinstance(c.to, Length) else c
                for c in s.changes
            ),
        ),
    ),
    "the under mat is never fixed": ("fix_under_mat", lambda _: None),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_ticket_is_caught(name: str) -> None:
    made, shop = double_mat()
    ticket = make_ticket(made, shop.shop)
    prove(ticket, made.pieces)
    work, change = BREAKS[name]
    with pytest.raises(TicketNotProved):
        prove(with_steps(ticket, work=work, change=change), made.pieces)


def test_an_under_mat_cut_before_it_is_fixed_is_caught() -> None:
    made, shop = double_mat()
    ticket = make_ticket(made, shop.shop)
    fixing = [step for step in ticket.steps if step.work == "fix_under_mat"]
    rest = [step for step in ticket.steps if step.work != "fix_under_mat"]
    with pytest.raises(TicketNotProved, match="before it is fixed"):
        prove(replace(ticket, steps=tuple(rest + fixing)), made.pieces)


def test_a_reverse_bevel_cut_from_the_back_is_caught() -> None:
    made, shop = double_mat()
    ticket = make_ticket(made, shop.shop)
    pieces = tuple(
        replace(piece, bevel="reverse") if isinstance(piece, MatPiece) else piece
        for piece in ticket.pieces
    )
    with pytest.raises(TicketNotProved, match="lean the wrong way"):
        prove(replace(ticket, pieces=pieces), made.pieces)


@pytest.mark.parametrize("field", ["length", "inner", "mitre"])
def test_a_wrong_rail_is_caught(field: str) -> None:
    made, shop = double_mat()
    ticket = make_ticket(made, shop.shop)
    pieces = tuple(
        replace(piece, **{field: getattr(piece, field) * 2})
        if isinstance(piece, RodPiece)
        else piece
        for piece in ticket.pieces
    )
    with pytest.raises(TicketNotProved):
        prove(replace(ticket, pieces=pieces), made.pieces)


@MANY
@given(estimates(), st.randoms(use_true_random=False))
def test_any_one_length_changed_is_caught(drawn: tuple[JobEstimate, Basis], rng: object) -> None:
    """Move one setting, start or stop of one cut, or one stop, by a tick: never proved."""
    made, shop = drawn
    ticket = make_ticket(made, shop.shop)
    places = [at for at, step in enumerate(ticket.steps) if step.cuts]
    if not places:
        return
    at = rng.choice(places)  # type: ignore[attr-defined]
    step = ticket.steps[at]
    inside = rng.choice([n for n, part in enumerate(step.parts) if part.cuts])  # type: ignore[attr-defined]
    part = step.parts[inside]
    which = rng.randrange(len(part.cuts))  # type: ignore[attr-defined]
    cut = part.cuts[which]
    end = rng.choice(["start", "stop"])  # type: ignore[attr-defined]
    old = getattr(cut, end)
    cuts = list(part.cuts)
    cuts[which] = replace(cut, **{end: replace(old, distance=a_mark_off(old.distance))})
    parts = list(step.parts)
    parts[inside] = replace(part, cuts=tuple(cuts))
    steps = list(ticket.steps)
    steps[at] = replace(step, parts=tuple(parts))
    with pytest.raises(TicketNotProved):
        prove(replace(ticket, steps=tuple(steps)), made.pieces)


def test_a_ticket_of_another_job_is_caught() -> None:
    made, shop = double_mat()
    other, _ = double_mat(quantity=2)
    with pytest.raises(TicketNotProved, match="the quantity of piece 1"):
        prove(make_ticket(made, shop.shop), other.pieces)


def test_a_wrong_blank_is_caught() -> None:
    """The same windows in a board that is a 64th higher at its foot."""
    made, shop = double_mat()
    spec = JobSpec(
        artwork=Artwork(size("16 3/8 x 20")),
        presentation="overlap",
        mats=(
            MatSpec("WHITE", border=Sides(inch("3"), inch("2 1/2"), inch("3 33/64"), inch("2"))),
            MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
        ),
        glazing=GlazingSpec("CLEAR"),
        frames=(FrameSpec("OAK"),),
    )
    other = estimate_job(assemble(spec, shop.shop, shop.catalogue), shop)
    with pytest.raises(TicketNotProved, match="the size of piece 1"):
        prove(make_ticket(made, shop.shop), other.pieces)
