"""Routes of cutting plans, and what a quote could take from the offcut rack."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, Response, url_for

from schemas.cutting.from_rack import from_rack_document, quote_wishes
from schemas.cutting.plan_shapes import CuttingPlanList
from schemas.cutting.plans import (
    WrittenPlans,
    dry_document,
    plan_head_document,
    stored_plan_document,
)
from schemas.cutting.records import PLAN_LIFE, PLANS, WAITING, WORKING, StoredPlan
from schemas.cutting.request import read_plan_request
from schemas.materials.stock import offcut_document
from schemas.quotes.steps import NOTHING
from schemas.quotes.stored import worked
from schemas.tickets.stored import made_tickets
from schemas.wire.figures import Json, plain
from service.api.http import negotiation, paging
from service.api.http.answers import answer
from service.api.http.body import Body, body_of
from service.api.http.conditional import IfMatch, etag, tagged, unless_seen
from service.api.http.context import planner, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.api.quotes.shown import found_quote
from service.app.cutting import commit as cut_commit
from service.app.cutting.background import is_orphan, store
from service.app.cutting.planning import PlanBasis, is_big, make_plan, rack_basis, read_basis
from service.app.keys.access import Principal
from service.app.keys.actor import Planner
from service.domain.errors import Conflict, NotFound, Stale
from service.persistence.unit_of_work import UnitOfWork
from service.printing.cutting.drawing import use_drawing
from service.printing.cutting.rows import plan_html
from service.printing.on_demand import labels_pdf, piece_labels_pdf, plan_pdf
from service.printing.parts.svg import svg

bp = Blueprint("cutting_plans", __name__)
SCOPES = ("bench", "counter")
STEP = Operation(scopes=SCOPES, if_match=True, body=body_of(NOTHING, optional=True), once=True)
DOCUMENTS = WrittenPlans()
Act = Callable[[UnitOfWork, StoredPlan, Planner], StoredPlan]


@bp.post("/v1/cutting-plans")
@Operation(scopes=SCOPES, body=Body("CuttingPlanRequest"), once=True)
def create(call: Call) -> Response:
    """Create a plan: at once or, if it is large, in the background."""
    principal, document, body = call.principal, call.body, call.raw
    wired = wiring()
    with wired.units.reading() as uow:
        book = wired.shelf.book_within(uow, principal.shop_id)
        request = read_plan_request(document, book.shop.ruler.unit)
        basis = read_basis(uow, book, request, DOCUMENTS)
    if is_big(basis):
        return _in_background(basis, body, planner(principal))
    plan = make_plan(basis)
    written = DOCUMENTS.written(plan, book.shop)
    if request.dry_run:
        return answer(dry_document(*written, basis.pieces, with_costs=principal.sees_costs))
    with wired.units.writing() as uow:
        stored = store(uow, basis, body, (plan, written), planner(principal))
        made = keep(uow, _shown(stored, principal, 201))
        uow.commit()
    return made


def _in_background(basis: PlanBasis, body: bytes, by: Planner) -> Response:
    wired = wiring()
    with wired.units.writing() as uow:
        head = store(uow, basis, body, None, by).head
        headers = {
            **tagged(head.version),
            "Location": url_for("cutting_plans.one", plan=head.id),
            "Retry-After": "1",
        }
        made = keep(uow, answer(plan_head_document(head), 202, headers))
        uow.commit()
    wired.jobs.put(head.shop_id, head.id)
    return made


def _shown(stored: StoredPlan, principal: Principal, status: int = 200) -> Response:
    document = stored_plan_document(stored, with_costs=principal.sees_costs)
    headers = tagged(stored.head.version)
    if stored.head.status in (WAITING, WORKING):
        headers = {"Cache-Control": "private, no-store", "ETag": etag(stored.head.version)}
    if status == 201:
        headers["Location"] = url_for("cutting_plans.one", plan=stored.head.id)
    return answer(document, status, headers)


@bp.get("/v1/cutting-plans")
@Operation(scopes=SCOPES, parameters=("limit", "cursor", "status"))
def listed(call: Call) -> Response:
    """Return the shop's stored plans, newest first."""
    principal = call.principal
    status = paging.one_of("status", PLAN_LIFE.states)
    limit, after = paging.limit(), paging.cursor()
    with wiring().units.reading() as uow:
        page = uow.cutting_plans.page(principal.shop_id, status, limit, after)
    rows = [plan_head_document(head) for head in page.heads]
    return paging.page_answer(rows, page.after, CuttingPlanList)


@bp.get("/v1/cutting-plans/<plan>")
@Operation(scopes=SCOPES, parameters=("paper",), forms=negotiation.FORMS)
def one(call: Call, plan: str) -> Response:
    """Return a plan, by its id or number: JSON, a page, or on paper; or its progress."""
    principal = call.principal
    form, paper = negotiation.form_wanted(), negotiation.paper_wanted()
    wired = wiring()
    with wired.units.reading() as uow:
        stored = found_plan(uow, principal, plan)
        shop = uow.shops.by_id(principal.shop_id).shop
    head = stored.head
    if is_orphan(head, wired.clock()):
        wired.jobs.put(head.shop_id, head.id)
    if form == negotiation.JSON_FORM:
        known = None if head.status in (WAITING, WORKING) else unless_seen(head.version)
        return negotiation.varies(known or _shown(stored, principal))
    document = _made(stored)
    if form == negotiation.PAGE_FORM:
        return negotiation.page(plan_html(document, shop.name))
    on = paper or negotiation.usual_paper(shop.ruler)
    return negotiation.pdf(plan_pdf(document, shop.name, on), head.number)


def _made(stored: StoredPlan) -> Json:
    """Return the document of a finished plan.

    Raises:
        Conflict: it is not finished.
    """
    if stored.document == b"{}":
        head = stored.head
        raise Conflict(
            f"plan {head.number} is {head.status}: there is nothing to be printed of it",
            facts={"state": head.status, "possible": " ".join(PLAN_LIFE.possible(head.status))},
        )
    return stored_plan_document(stored, with_costs=False)


@bp.get("/v1/cutting-plans/<plan>/items/<int:item>/uses/<int:use>/drawing.svg")
@Operation(scopes=SCOPES, forms=(negotiation.SVG_FORM,))
def drawing(call: Call, plan: str, item: int, use: int) -> Response:
    """Return one sheet or stick of a plan, drawn to scale."""
    principal = call.principal
    with wiring().units.reading() as uow:
        document = _made(found_plan(uow, principal, plan))
    drawn = use_drawing(document, item, use)
    return negotiation.svg(svg(drawn))


@bp.get("/v1/cutting-plans/<plan>/labels.pdf")
@Operation(scopes=SCOPES, parameters=("of", "label_stock"), forms=(negotiation.PDF_FORM,))
def labels(call: Call, plan: str) -> Response:
    """Return the labels of its pieces, or of what a committed plan keeps, as they are cut."""
    principal, stock = call.principal, negotiation.label_stock_wanted()
    of = paging.one_of("of", ("offcuts", "pieces"))
    with wiring().units.reading() as uow:
        stored = found_plan(uow, principal, plan)
        shop = uow.shops.by_id(principal.shop_id).shop
    if of == "pieces":
        made = piece_labels_pdf(_made(stored), stock)
        return negotiation.pdf(made, f"{stored.head.number}-pieces")
    if not stored.booked:
        raise Conflict(f"plan {stored.head.number} has put nothing on the rack")
    shown = [offcut_document(offcut, {}, shop) for offcut in stored.booked]
    return negotiation.pdf(
        labels_pdf(plain(shown), shop.ruler.unit, stock), f"{stored.head.number}-labels"
    )


@bp.post("/v1/cutting-plans/<plan>/commit")
@STEP
def commit(call: Call, plan: str) -> Response:
    """Take what the plan uses, and book what it leaves: all or nothing."""
    return _stepped(call, plan, cut_commit.commit)


@bp.post("/v1/cutting-plans/<plan>/undo")
@STEP
def undo(call: Call, plan: str) -> Response:
    """Return what a committed plan took, and remove what it booked."""
    return _stepped(call, plan, cut_commit.undo)


@bp.post("/v1/cutting-plans/<plan>/cancel")
@STEP
def cancel(call: Call, plan: str) -> Response:
    """Stop a plan that is being made, or discard one."""
    return _stepped(call, plan, cut_commit.cancel)


def _stepped(call: Call, plan: str, act: Act) -> Response:
    principal = call.principal
    with wiring().units.writing() as uow:
        uow.shops.take_turn(principal.shop_id)
        stored = found_plan(uow, principal, plan)
        _checked(call.if_match, stored)
        response = keep(uow, _shown(act(uow, stored, planner(principal)), principal))
        uow.commit()
    return response


def _checked(if_match: IfMatch, stored: StoredPlan) -> None:
    head = stored.head
    try:
        if_match.check(head.version)
    except Stale as stale:
        possible = " ".join(PLAN_LIFE.possible(head.status))
        facts = {"state": head.status, "possible": possible, "etag": etag(head.version)}
        raise Stale(stale.message, facts=facts) from None


def found_plan(uow: UnitOfWork, principal: Principal, plan: str) -> StoredPlan:
    """Return the plan with this id or number.

    Raises:
        NotFound: the shop has none, or the number was misread.
    """
    if PLANS.means(plan):
        return uow.cutting_plans.by_serial(principal.shop_id, PLANS.read(plan))
    if "\0" in plan:  # a NUL cannot be stored
        raise NotFound("this shop has no such cutting plan")
    return uow.cutting_plans.by_id(principal.shop_id, plan)


@bp.get("/v1/quotes/<quote_id>/from-rack")
@Operation(scopes=("counter", "bench"))
def from_rack(call: Call, quote_id: str) -> Response:
    """Return the pieces that the rack could supply now; nothing is taken, and no price changes."""
    principal, wired = call.principal, wiring()
    with wired.units.reading() as uow:
        was = found_quote(uow, principal, quote_id)
        revision = uow.quotes.revision(principal.shop_id, was.head.id, was.head.revision)
        book = wired.shelf.book_within(uow, principal.shop_id)
        wishes = quote_wishes(made_tickets(worked(revision).estimate))
        basis = rack_basis(uow, book, wishes)
    head = was.head
    return answer(from_rack_document(head.number, head.revision, make_plan(basis), book.shop))
