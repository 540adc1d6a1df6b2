"""`/v1/mouldings`, `/v1/boards`, … and `/v1/costs`: the shop's items and, apart, their costs.

One set of views serves every kind. Nothing is deleted: quotes refer to items, so a code is
permanent, and what is no longer sold is discontinued.
"""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, request, url_for

from schemas.materials.catalogue import (
    PLACES,
    ItemDocuments,
    costs_shown,
    item_document,
    read_costs,
    read_item,
)
from schemas.materials.records import ItemFilter, ItemRecord
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import changing, refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.api.http.paging import (
    CODE,
    bad_parameter,
    limit,
    moment,
    not_a_cursor,
    one_of,
    page,
    until,
)
from service.app.keys.access import Principal
from service.app.materials import catalogue
from service.domain.materials.catalogue import Kind
from service.domain.measure.ruler import Ruler
from service.persistence.instants import OF_ITEMS

bp = Blueprint("catalogue", __name__)
refuse_nul(bp, "item")
ADMIN = ("admin",)
SEE_COSTS = ("counter", "reports")
READERS = ("price", "counter", "bench", "reports")
FILTERS = ("group", "discontinued", "q", "updated_since", "limit", "cursor")
MOST_WORDS = 10
DOCUMENTS = ItemDocuments()


def listed(call: Call, kind: Kind) -> Response:
    """Return the items of a kind, ordered by code."""
    principal = call.principal
    ruler = _ruler(principal)
    wanted = _wanted(kind, principal)
    with wiring().units.reading() as uow:
        found = uow.items.page(principal.shop_id, wanted, limit(), _after())
        last = uow.instants.last(principal.shop_id, OF_ITEMS)
    rows = [item_document(record, ruler) for record in found.items]
    cursor = None if found.after is None else _cursor_of(found.after)
    return page(rows, cursor, until=until(last))


def create(call: Call, kind: Kind) -> Response:
    """Create an item."""
    principal = call.principal
    ruler = _ruler(principal)
    item = read_item(call.body, kind, ruler.unit)
    with changing(principal) as change:
        record = catalogue.create_item(change, kind, item, DOCUMENTS)
        place = url_for(f"catalogue.one_{kind}", code=item.code)
        return keep(change.uow, _item(record, ruler, 201, {"Location": place}))


def one(call: Call, kind: Kind, code: str) -> Response:
    """Return one item."""
    principal = call.principal
    with wiring().units.reading() as uow:
        record = uow.items.one(principal.shop_id, kind, code)
    return unless_seen(record.version) or _item(record, _ruler(principal))


def change(call: Call, kind: Kind, code: str) -> Response:
    """Replace an item."""
    principal = call.principal
    ruler = _ruler(principal)
    item = read_item(call.body, kind, ruler.unit, code)
    with changing(principal) as change:
        record = catalogue.change_item(change, kind, item, call.if_match.check, DOCUMENTS)
    return _item(record, ruler)


def discontinue(call: Call, kind: Kind, code: str) -> Response:
    """Discontinue an item: no new job can use it."""
    return _sell(call, kind, code, on_sale=False)


def reinstate(call: Call, kind: Kind, code: str) -> Response:
    """Put an item on sale again."""
    return _sell(call, kind, code, on_sale=True)


@bp.get("/v1/costs/<code>")
@Operation(scopes=SEE_COSTS)
def costs(call: Call, code: str) -> Response:
    """Return what an item costs the shop."""
    principal = call.principal
    with wiring().units.reading() as uow:
        found = uow.items.costs(principal.shop_id, code)
    shown = costs_shown(found, _ruler(principal))
    return unless_seen(found.version) or answer(shown, headers=tagged(found.version))


@bp.put("/v1/costs/<code>")
@Operation(scopes=ADMIN, if_match=True, body=Body("ItemCosts"))
def put_costs(call: Call, code: str) -> Response:
    """Replace what an item costs the shop."""
    principal = call.principal
    ruler = _ruler(principal)
    given = read_costs(call.body, code, ruler.unit)
    with changing(principal) as change:
        found = catalogue.put_costs(change, code, given, call.if_match.check, DOCUMENTS)
    return answer(costs_shown(found, ruler), headers=tagged(found.version))


def _sell(call: Call, kind: Kind, code: str, *, on_sale: bool) -> Response:
    principal, check = call.principal, call.if_match.check
    with changing(principal) as change:
        record = catalogue.sell(change, kind, code, check, DOCUMENTS, on_sale=on_sale)
        return keep(change.uow, _item(record, _ruler(principal)))


def _item(
    record: ItemRecord, ruler: Ruler, status: int = 200, more: Mapping[str, str] | None = None
) -> Response:
    headers = {**tagged(record.version), **(more or {})}
    return answer(item_document(record, ruler), status, headers)


def _ruler(principal: Principal) -> Ruler:
    return wiring().shelf.recent_book(principal.shop_id).shop.ruler


def _wanted(kind: Kind, principal: Principal) -> ItemFilter:
    given = request.args
    words = tuple(given.get("q", "").split())
    if len(words) > MOST_WORDS:
        raise bad_parameter("q", f"a search is for at most {MOST_WORDS} words")
    truth = one_of("discontinued", ("true", "false"))
    shop = wiring().shelf.recent_book(principal.shop_id).shop
    return ItemFilter(
        kind=kind,
        group=given.get("group"),
        discontinued=None if truth is None else truth == "true",
        words=words,
        updated_since=moment(given.get("updated_since"), "updated_since", shop),
    )


def _cursor_of(code: str) -> str:
    return urlsafe_b64encode(code.encode()).decode().rstrip("=")


def _after() -> str:
    text = request.args.get("cursor")
    if text is None:
        return ""
    try:
        code = urlsafe_b64decode((text + "=" * (-len(text) % 4)).encode("ascii")).decode()
    except ValueError:
        raise not_a_cursor() from None
    if not CODE.fullmatch(code):
        raise not_a_cursor()
    return code


def _register() -> None:
    reads, turns = Operation(scopes=READERS), Operation(scopes=ADMIN, if_match=True, once=True)
    lists = Operation(scopes=READERS, parameters=FILTERS)
    for place, kind in PLACES.items():
        sent, changed = Body(f"{kind.capitalize()}Item"), Body(f"{kind.capitalize()}ItemChange")
        views: tuple[tuple[str, str, Operation, Any], ...] = (
            ("GET", "", lists, listed),
            ("POST", "", Operation(scopes=ADMIN, body=sent, once=True), create),
            ("GET", "/<code>", reads, one),
            ("PUT", "/<code>", Operation(scopes=ADMIN, if_match=True, body=changed), change),
            ("POST", "/<code>/discontinue", turns, discontinue),
            ("POST", "/<code>/reinstate", turns, reinstate),
        )
        for method, rest, operation, view in views:
            bp.add_url_rule(
                f"/v1/{place}{rest}",
                endpoint=f"{view.__name__}_{kind}",
                view_func=operation(view),
                methods=[method],
                defaults={"kind": kind},
            )


_register()
