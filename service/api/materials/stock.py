"""`/v1/stock`: the number of sheets or sticks in the shop, by item and size."""

from __future__ import annotations

from flask import Blueprint, Response

from schemas.materials.records import StockLevel
from schemas.materials.stock import STOCK, stock_document, stock_version
from schemas.materials.stock_shapes import StockList, StockShown
from schemas.wire.document import read
from schemas.wire.shown import as_sent
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import planner, wiring
from service.api.http.operation import Call, Operation
from service.app.keys.actor import Planner, noted
from service.app.materials.stock import stock_sizes
from service.domain.errors import Fault, JobRefused, NotFound
from service.domain.measure.length import Length
from service.domain.prices.book import ShopBook
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("stock", __name__)
SCOPES = ("bench", "counter")
Counts = tuple[tuple[Length, Length, int], ...]


@bp.get("/v1/stock")
@Operation(scopes=SCOPES)
def listed(call: Call) -> Response:
    """Return every item that has a counted size, ordered by code."""
    principal = call.principal
    book = wiring().shelf.recent_book(principal.shop_id)
    with wiring().units.reading() as uow:
        levels = uow.stock_levels.of_items(principal.shop_id, None)
    by_item: dict[str, list[StockLevel]] = {}
    for level in levels:
        by_item.setdefault(level.item, []).append(level)
    rows = tuple(_document(book, item, tuple(mine)) for item, mine in by_item.items())
    return answer(StockList(rows, None))


def _document(book: ShopBook, item: str, levels: tuple[StockLevel, ...]) -> StockShown:
    sizes = stock_sizes(book.catalogue.items.get(item))
    return stock_document(item, sizes, levels, book.shop)


def _cut_item(book: ShopBook, item: str) -> str:
    """Return the code of an item that is cut from sheets or sticks.

    Raises:
        NotFound: the catalogue has none.
    """
    if not stock_sizes(book.catalogue.items.get(item)):
        raise NotFound("the catalogue has no such item that is cut from sheets or sticks")
    return item


@bp.get("/v1/stock/<item>")
@Operation(scopes=SCOPES)
def one(call: Call, item: str) -> Response:
    """Return the counts of one item by size."""
    principal = call.principal
    book = wiring().shelf.recent_book(principal.shop_id)
    code = _cut_item(book, item)
    with wiring().units.reading() as uow:
        levels = uow.stock_levels.of_items(principal.shop_id, [code])
    version = stock_version(levels)
    return unless_seen(version) or answer(_document(book, code, levels), headers=tagged(version))


@bp.put("/v1/stock/<item>")
@Operation(scopes=SCOPES, if_match=True, body=Body("StockRequest"))
def change(call: Call, item: str) -> Response:
    """Set the counts of one item; omitted sizes keep theirs."""
    principal, wired = call.principal, wiring()
    book = wired.shelf.book(principal.shop_id)
    code = _cut_item(book, item)
    sent = as_sent(call.body, ("item", "version"))
    counts: Counts = read(STOCK, sent, unit=book.shop.ruler.unit)
    _known(book, code, counts)
    with wired.units.writing() as uow:
        uow.shops.take_turn(principal.shop_id)
        call.if_match.check(stock_version(uow.stock_levels.of_items(principal.shop_id, [code])))
        levels = _counted(uow, code, counts, planner(principal))
        uow.commit()
    return answer(_document(book, code, levels), headers=tagged(stock_version(levels)))


def _known(book: ShopBook, code: str, counts: Counts) -> None:
    sizes = set(stock_sizes(book.catalogue.items.get(code)))
    faults = [
        Fault(f"/sizes/{n}", "bad_value", f"the catalogue has no {code} of this size")
        for n, (width, height, _) in enumerate(counts)
        if (width, height) not in sizes
    ]
    if faults:
        raise JobRefused(faults)


def _counted(uow: UnitOfWork, code: str, counts: Counts, by: Planner) -> tuple[StockLevel, ...]:
    before = uow.stock_levels.of_items(by.shop_id, [code])
    versions = {(level.width, level.height): level.version for level in before}
    for size, quantity in {(width, height): many for width, height, many in counts}.items():
        seen = versions.get(size, 0)
        level = StockLevel(
            item=code,
            width=size[0],
            height=size[1],
            quantity=quantity,
            version=seen + 1,
            updated_at=by.now,
        )
        uow.stock_levels.put(by.shop_id, level, seen)
    after = uow.stock_levels.of_items(by.shop_id, [code])
    told = [[o.width.ticks, o.height.ticks, o.quantity] for o in after]
    noted(uow, by, "stock.counted", "stock", code, sizes=told)
    return after
