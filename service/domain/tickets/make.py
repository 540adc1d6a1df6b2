"""Makes a cut ticket from an estimate.

The order of work follows from its stages (`order/stages.py`); within it the cutter's set-up changes
least.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.guide import uses_stops
from service.domain.jobs.mat import Window
from service.domain.jobs.notes import Note
from service.domain.jobs.places import float_places
from service.domain.shop import Shop
from service.domain.tickets.instructions import SetUps, Step
from service.domain.tickets.material import arts, frames_on, hardware, stack, supplies
from service.domain.tickets.minutes import other_work, shares
from service.domain.tickets.model import CutTicket, TicketRefused
from service.domain.tickets.order.links import link
from service.domain.tickets.order.sequence import in_order, numbered
from service.domain.tickets.pieces import ticket_pieces
from service.domain.tickets.proof.boards import prove
from service.domain.tickets.steps import cutter, finishing, glazing, intake, own, package, rails
from service.domain.tickets.steps import mats as mat_work
from service.domain.tickets.steps.draft import Bundle, Draft
from service.domain.tickets.steps.faces import face_draft


def stops_of(jobs: Sequence[JobEstimate]) -> list[Advisory]:
    """Return what keeps jobs from being made, with pointers from their document's root."""
    return [
        replace(advisory, pointer=f"/jobs/{position}{advisory.pointer}")
        for position, job in enumerate(jobs)
        for advisory in job.advisories
        if advisory.stops
    ]


def make_ticket(made: JobEstimate, shop: Shop, notes: tuple[Note, ...] = ()) -> CutTicket:
    """Return the ticket of one job; `notes` are those on the whole order.

    Raises:
        TicketRefused: the job has a `stop` advisory that is not set aside.
        TicketNotProved: the cuts do not produce what was ordered (our fault, never the job's).
    """
    stopped = [advisory for advisory in made.advisories if advisory.stops]
    if stopped:
        raise TicketRefused(stopped)
    stops = uses_stops(shop.bench, made.job.quantity)
    bundle = Bundle(made, shop, ticket_pieces(made, shop, stops=stops), stops)
    drafts, set_ups = in_order(_drafts(bundle), stops=stops)
    steps = numbered(bundle, drafts, shares(made.times, drafts))
    ticket = _ticket(bundle, steps, set_ups, notes)
    prove(ticket, made.pieces)
    return ticket


def _ticket(
    bundle: Bundle, steps: tuple[Step, ...], set_ups: SetUps, notes: tuple[Note, ...]
) -> CutTicket:
    made, shop = bundle.made, bundle.shop
    return CutTicket(
        label=made.job.label,
        quantity=made.job.quantity,
        presentation=made.job.presentation,
        art=arts(made.job),
        shows=made.sizes.shows,
        ruler=shop.ruler,
        stops=bundle.stops,
        package=made.sizes.package,
        allowance=made.sizes.allowance,
        gap=made.job.gap,
        frames=frames_on(made),
        stack=stack(made.job),
        stack_depth=made.sizes.stack_depth,
        pieces=bundle.pieces,
        steps=steps,
        set_ups=set_ups,
        hardware=hardware(made, shop),
        supplies=supplies(made),
        weight_mg=made.weight_mg,
        safety_factor=shop.safety.hardware_factor,
        advisories=made.advisories,
        notes=(*notes, *made.job.notes),
        condition=made.job.condition,
        work=made.job.work,
        floated=tuple(_floated(made)),
    )


def _floated(made: JobEstimate) -> Iterator[Window]:
    """Yield where floated art lies on its board, if its margin differs by side."""
    if made.job.by_side is not None:
        for place in float_places(made.job, made.sizes):
            yield Window("rectangle", place.x, place.y, place.size)


def _drafts(bundle: Bundle) -> list[Draft]:
    """Return all steps in the usual order, each with the steps it waits for."""
    if bundle.made.job.goods:
        drafts = [own.hand_out_draft(bundle)]
        drafts += other_work(bundle.made.times, drafts)
        link(drafts)
        return drafts
    sized = cutter.size_drafts(bundle)
    square = [intake.square_draft()] if any(draft.machine == "cutter" for draft in sized) else []
    for draft in sized:
        draft.after += square
    drafts = _given(
        intake.take_in_draft(bundle),
        own.open_draft(bundle),
        intake.order_draft(bundle),
        *square,
        *sized,
        *_mat_drafts(bundle),
        *glazing.glazing_drafts(bundle),
        mat_work.corners_draft(bundle),
        *rails.rail_drafts(bundle),
        own.cut_down_draft(bundle),
        *(own.join_drafts(bundle) if bundle.made.job.own_frame else _frame_drafts(bundle)),
        *finishing.hanger_drafts(bundle),
        package.dry_fit_draft(bundle),
        package.mount_draft(bundle),
        package.spacer_draft(bundle),
        package.package_draft(bundle),
        *_fit_drafts(bundle),
        *finishing.finish_drafts(bundle),
        finishing.wrap_draft(bundle),
    )
    drafts += other_work(bundle.made.times, drafts)
    link(drafts)
    return drafts


def _given(*drafts: Draft | None) -> list[Draft]:
    return [draft for draft in drafts if draft is not None]


def _mat_drafts(bundle: Bundle) -> list[Draft]:
    """Return the work on mats: each mat's windows are cut before the next mat is fixed to it."""
    made: list[Draft] = []
    opened: list[Draft] = []
    mats = bundle.mats()
    for position, mat in enumerate(mats):
        face = _given(face_draft(bundle, mat))
        made += face
        mark = mat_work.mark_draft(bundle, mat)
        mark.after += face
        cut = _given(*cutter.window_drafts(bundle, mat), mat_work.shaped_draft(bundle, mat))
        for draft in cut:
            draft.after.append(mark)
        if not position:
            made += [mark, *cut]
        else:
            fix = mat_work.fix_draft(bundle, mats[position - 1], mat)
            fix.after += [*opened, *face]
            if mat.edges == "own":
                fix.after += cut
                made += [mark, *cut, fix]
            else:
                mark.after.append(fix)
                made += [fix, mark, *cut]
            opened.append(fix)
        opened += cut
    fillets = (
        mat_work.fillet_draft(bundle, f"/mats/{position}", behind=position + 1 < len(mats))
        for position in range(len(mats))
    )
    return made + _given(*fillets)


def _frame_drafts(bundle: Bundle) -> list[Draft]:
    """Return the joining of each frame, and the fillets glued into it."""
    made: list[Draft] = []
    for position in range(len(bundle.made.sizes.frames)):
        made.append(rails.join_draft(bundle, position))
        made += _given(mat_work.fillet_draft(bundle, f"/frames/{position}", behind=False))
    return made


def _fit_drafts(bundle: Bundle) -> list[Draft]:
    """Return the fitting of each frame, the innermost first."""
    made: list[Draft] = []
    for position in range(len(bundle.made.sizes.frames)):
        fit = package.fit_draft(bundle, position)
        fit.after += made
        made.append(fit)
    return made
