"""`/v1/offcuts`: the offcuts on the rack, put there by plans and by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from flask import Blueprint, Response, request, url_for
from marshmallow import ValidationError

from schemas.materials.records import OFFCUT_LIFE, OFFCUTS, ON_RACK, Offcut, OffcutFilter
from schemas.materials.stock import DISCARD, OFFCUT, OFFCUT_CHANGE, offcut_document
from schemas.materials.stock_shapes import OffcutList, OffcutShown
from schemas.wire.document import read
from schemas.wire.figures import Figures, plain
from schemas.wire.lengths import DOCUMENT_UNIT, length_of
from schemas.wire.shown import as_sent
from service.api.http import negotiation, paging
from service.api.http.answers import answer
from service.api.http.body import Body, body_of
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import planner, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app.cutting.commit import discard, move
from service.app.keys.access import Principal
from service.app.keys.actor import Planner, noted
from service.app.materials.stock import stock_sizes
from service.app.shop import make_room
from service.domain.errors import Fault, JobRefused, NotFound
from service.domain.measure.length import Length
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitOfWork
from service.printing.on_demand import label_svg, labels_pdf

bp = Blueprint("offcuts", __name__)
SCOPES = ("bench", "counter")
FILTERS = ("limit", "cursor", "status", "item", "least_width", "least_height")
Act = Callable[[UnitOfWork, Offcut, Planner], Offcut]


@bp.get("/v1/offcuts")
@Operation(scopes=SCOPES, parameters=FILTERS)
def listed(call: Call) -> Response:
    """Return the shop's offcuts, newest first."""
    principal = call.principal
    shop = wiring().shelf.recent_book(principal.shop_id).shop
    wanted = OffcutFilter(
        status=paging.one_of("status", OFFCUT_LIFE.states),
        item=request.args.get("item") or None,
        least_width=_least("least_width", shop),
        least_height=_least("least_height", shop),
    )
    limit, after = paging.limit(), paging.cursor()
    with wiring().units.reading() as uow:
        page = uow.rack.page(principal.shop_id, wanted, limit, after)
        rows = _documents(uow, page.offcuts, shop)
    return paging.page_answer(rows, page.after, OffcutList)


def _least(name: str, shop: Shop) -> Length | None:
    text = request.args.get(name)
    if text is None:
        return None
    token = DOCUMENT_UNIT.set(shop.ruler.unit)
    try:
        return length_of(text)
    except ValidationError as wrong:
        told = "this is a length: 12 in, 300 mm, or a bare number in the shop's unit"
        raise paging.bad_parameter(name, told) from wrong
    finally:
        DOCUMENT_UNIT.reset(token)


def _documents(uow: UnitOfWork, offcuts: Sequence[Offcut], shop: Shop) -> list[OffcutShown]:
    """Return offcuts with the numbers of the plans that cut and used them."""
    named = {plan for each in offcuts for plan in (each.cut_by, each.used_by) if plan}
    plans = uow.cutting_plans.numbers(offcuts[0].shop_id, sorted(named)) if offcuts else {}
    return [offcut_document(each, plans, shop) for each in offcuts]


def _document(uow: UnitOfWork, offcut: Offcut, shop: Shop) -> OffcutShown:
    return _documents(uow, [offcut], shop)[0]


@bp.post("/v1/offcuts")
@Operation(scopes=SCOPES, body=Body("OffcutRequest"), once=True)
def create(call: Call) -> Response:
    """Put an offcut on the rack by hand."""
    principal, wired = call.principal, wiring()
    book = wired.shelf.book(principal.shop_id)
    fields = read(OFFCUT, as_sent(call.body), unit=book.shop.ruler.unit)
    sizes = stock_sizes(book.catalogue.items.get(fields["item"]))
    if not sizes or bool(sizes[0][1]) != bool(fields["height"]):
        told = f"the catalogue has no {fields['item']} that is cut from such stock"
        raise JobRefused([Fault("/item", "unknown_item", told)])
    _refuse_larger(fields["width"], fields["height"], sizes, book.shop)
    by = planner(principal)
    with wired.units.writing() as uow:
        make_room(uow, by.shop_id, "offcuts")
        offcut = Offcut(
            id=by.new_id(),
            shop_id=by.shop_id,
            serial=uow.rack.serials(by.shop_id, 1).start,
            status=ON_RACK,
            reason="",
            cut_by=None,
            used_by=None,
            version=1,
            created_at=by.now,
            updated_at=by.now,
            **fields,
        )
        uow.rack.add([offcut])
        noted(uow, by, "offcut.added", "offcut", offcut.id, label=offcut.label, item=offcut.item)
        headers = {**tagged(1), "Location": url_for("offcuts.one", offcut=offcut.id)}
        made = keep(uow, answer(_document(uow, offcut, book.shop), 201, headers))
        uow.commit()
    return made


def _refuse_larger(
    width: Length, height: Length, sizes: Sequence[tuple[Length, Length]], shop: Shop
) -> None:
    """Refuse an offcut that fits, either way round, in none of the sizes it could come from.

    Raises:
        JobRefused: it fits in none.
    """
    piece = sorted((width.ticks, height.ticks))
    for whole in sizes:
        short, long = sorted(side.ticks for side in whole)
        if piece[0] <= short and piece[1] <= long:
            return
    figures = Figures(shop.ruler)
    largest = max(sizes, key=lambda size: size[0].ticks * (size[1].ticks or 1))
    size = " x ".join(figures.length(side).shop for side in largest if side)
    told = f"an offcut is no larger than what it is left of; the largest here is {size}"
    raise JobRefused([Fault("/width" if height else "/length", "bad_value", told)])


@bp.get("/v1/offcuts/<offcut>")
@Operation(scopes=SCOPES)
def one(call: Call, offcut: str) -> Response:
    """Return one offcut, by its id or label."""
    principal = call.principal
    shop = wiring().shelf.recent_book(principal.shop_id).shop
    with wiring().units.reading() as uow:
        found = _found(uow, principal, offcut)
        document = _document(uow, found, shop)
    return unless_seen(found.version) or answer(document, headers=tagged(found.version))


@bp.patch("/v1/offcuts/<offcut>")
@Operation(scopes=SCOPES, if_match=True, body=body_of(OFFCUT_CHANGE, optional=True))
def change(call: Call, offcut: str) -> Response:
    """Set where an offcut lies."""
    return _changed(call, offcut, lambda uow, was, by: move(uow, was, call.body["place"], by))


@bp.post("/v1/offcuts/<offcut>/discard")
@Operation(scopes=SCOPES, if_match=True, body=body_of(DISCARD, optional=True), once=True)
def throw_away(call: Call, offcut: str) -> Response:
    """Throw an offcut away."""
    reason = call.body.get("reason", "")
    return _changed(call, offcut, lambda uow, was, by: discard(uow, was, reason, by))


def _changed(call: Call, offcut: str, act: Act) -> Response:
    principal = call.principal
    shop = wiring().shelf.recent_book(principal.shop_id).shop
    with wiring().units.writing() as uow:
        found = _found(uow, principal, offcut)
        call.if_match.check(found.version)
        now = act(uow, found, planner(principal))
        shown = answer(_document(uow, now, shop), headers=tagged(now.version))
        response = keep(uow, shown)
        uow.commit()
    return response


@bp.get("/v1/offcuts/<offcut>/label.svg")
@Operation(scopes=SCOPES, forms=(negotiation.SVG_FORM,))
def label_drawing(call: Call, offcut: str) -> Response:
    """Return its rack label as a drawing."""
    return _label(call, offcut, lambda shown, unit: negotiation.svg(label_svg(shown, unit)))


@bp.get("/v1/offcuts/<offcut>/label.pdf")
@Operation(scopes=SCOPES, parameters=("label_stock",), forms=(negotiation.PDF_FORM,))
def label_page(call: Call, offcut: str) -> Response:
    """Return its rack label on a label stock."""
    stock = negotiation.label_stock_wanted()

    def on_paper(shown: dict[str, object], unit: str) -> Response:
        return negotiation.pdf(labels_pdf([shown], unit, stock), str(shown["label"]))

    return _label(call, offcut, on_paper)


def _label(call: Call, offcut: str, make: Callable[[dict[str, object], str], Response]) -> Response:
    principal = call.principal
    shop = wiring().shelf.recent_book(principal.shop_id).shop
    with wiring().units.reading() as uow:
        found = _found(uow, principal, offcut)
    return make(plain(offcut_document(found, {}, shop)), shop.ruler.unit)


def _found(uow: UnitOfWork, principal: Principal, offcut: str) -> Offcut:
    """Return the offcut with this id or label.

    Raises:
        NotFound: the shop has none, or the label was misread.
    """
    if OFFCUTS.means(offcut):
        return uow.rack.by_serial(principal.shop_id, OFFCUTS.read(offcut))
    if "\0" in offcut:  # a NUL cannot be stored
        raise NotFound("this shop has no such offcut")
    return uow.rack.by_id(principal.shop_id, offcut)
