"""Makes a cut ticket from an estimate.

The order of steps minimises changes of the cutter's set-up; a board is sized before its windows are
cut, a mat's windows are cut before the next mat is fixed to it, glass is scored after the last
board so that no splinter lies under a mat, and everything is ready before it is fitted.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.guide import uses_stops
from service.domain.shop import Shop
from service.domain.tickets.material import arts, frames_on, hardware, stack, supplies
from service.domain.tickets.minutes import other_work, shares
from service.domain.tickets.model import CutTicket, SetUps, Step, TicketRefused
from service.domain.tickets.order.sequence import fill_in, in_order, numbered
from service.domain.tickets.pieces import ticket_pieces
from service.domain.tickets.proof.boards import prove
from service.domain.tickets.steps import cutter, frames
from service.domain.tickets.steps import mats as mat_work
from service.domain.tickets.steps.draft import Bundle, Draft


def make_ticket(made: JobEstimate, shop: Shop) -> CutTicket:
    """Return the ticket of one job.

    Raises:
        TicketRefused: the job has a `stop` advisory.
        TicketNotProved: the cuts do not produce what was ordered (our fault, never the job's).
    """
    stopped = [advisory for advisory in made.advisories if advisory.severity == "stop"]
    if stopped:
        raise TicketRefused(stopped)
    stops = uses_stops(shop.bench, made.job.quantity)
    bundle = Bundle(made, shop, ticket_pieces(made, shop, stops=stops), stops)
    drafts = _drafts(bundle)
    drafts, set_ups = in_order(drafts, stops=stops)
    fill_in(bundle, drafts)
    ticket = _ticket(bundle, numbered(drafts, shares(made.times, drafts), stops=stops), set_ups)
    prove(ticket, made.pieces)
    return ticket


def _ticket(bundle: Bundle, steps: tuple[Step, ...], set_ups: SetUps) -> CutTicket:
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
    )


def _drafts(bundle: Bundle) -> list[Draft]:
    """Return all steps in the usual order, each with the steps it waits for."""
    first = frames.take_in_draft(bundle)
    sized = cutter.size_drafts(bundle)
    drafts = [first]
    if sized:
        square = frames.square_draft()
        square.after.append(first)
        for draft in sized:
            draft.after.append(square)
        drafts += [square, *sized]
    drafts += _mat_drafts(bundle, sized)
    scored = cutter.glazing_drafts(bundle)
    for draft in scored:
        draft.after += [first, *(other for other in drafts if other.cuts or other.size_cuts)]
    drafts += scored
    drafts += _assembly_drafts(bundle, first, drafts)
    others = other_work(bundle.made.times, drafts)
    for draft in others:
        draft.after.append(first)
    return drafts + others


def _mat_drafts(bundle: Bundle, sized: Sequence[Draft]) -> list[Draft]:
    made: list[Draft] = []
    opened: list[Draft] = []
    mats = bundle.mats()
    for position, mat in enumerate(mats):
        ready = [draft for draft in sized if mat.number in draft.pieces]
        mark = mat_work.mark_draft(bundle, mat)
        windows = cutter.window_drafts(bundle, mat)
        shaped = mat_work.shaped_draft(bundle, mat)
        cut = windows + ([shaped] if shaped else [])
        for draft in cut:
            draft.after.append(mark)
        if not position:
            mark.after += ready
            made += [mark, *cut]
        else:
            fix = mat_work.fix_draft(bundle, mats[position - 1], mat)
            fix.after += [*ready, *opened]
            own = mat.edges == "own"
            mark.after += ready if own else [fix]
            fix.after += cut if own else []
            made += [mark, *cut, fix] if own else [fix, mark, *cut]
            opened.append(fix)
        opened += cut
    for position in range(len(mats)):
        behind = position + 1 < len(mats)
        fillet = mat_work.fillet_draft(bundle, f"/mats/{position}", behind=behind)
        if fillet:
            fillet.after += opened
            made.append(fillet)
    return made


def _assembly_drafts(bundle: Bundle, first: Draft, before: Sequence[Draft]) -> list[Draft]:
    """Return the steps off the cutter; fitting waits for them, finishing for the last fitting."""
    made: list[Draft] = []
    for draft in (
        mat_work.corners_draft(bundle),
        frames.spacer_draft(bundle),
        frames.mount_draft(bundle),
    ):
        if draft:
            draft.after += before
            made.append(draft)
    rails = frames.rail_drafts(bundle)
    for draft in rails:
        draft.after.append(first)
    made += rails
    fitted: list[Draft] = []
    for position in range(len(bundle.made.sizes.frames)):
        join = frames.join_draft(bundle, position)
        join.after += [first, *(rail for rail in rails if rail.pieces[0] in join.pieces)]
        fillet = mat_work.fillet_draft(bundle, f"/frames/{position}", behind=False)
        fit = frames.fit_draft(bundle, position)
        parts = [join]
        if fillet:
            fillet.after.append(join)
            parts.append(fillet)
        fit.after += [*before, *made, *parts, *fitted]
        made += parts
        fitted.append(fit)
    last = [*before, *made, *fitted]
    finishing = frames.finish_drafts(bundle)
    for draft in finishing:
        draft.after += last
    return made + fitted + finishing
