"""Make cutting plans: from tickets or a list of pieces, or from the offcut rack alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from schemas.cutting.records import (
    CutLot,
    CutPlan,
    Effects,
    Keep,
    LeftOut,
    Material,
    PlannedItem,
    PlanOptions,
    PlanRequest,
    Wish,
    kept,
    placed,
)
from schemas.materials.records import Take
from schemas.tickets.records import StoredTicket, TicketFilter
from service.app.cutting.materials import Supplies, gather
from service.app.cutting.workload import AT_ONCE, MOST_IN_A_ROW, crowded, work_of
from service.domain.cutting.plan import SheetPlan, StickPlan
from service.domain.cutting.planning import plan_sheets, plan_sticks
from service.domain.cutting.stock import SheetStock, StickStock
from service.domain.cutting.watch import Watch
from service.domain.errors import Conflict, Fault, JobRefused, NotFound
from service.domain.prices.book import ShopBook
from service.domain.quotes.numbers import TICKETS
from service.domain.shop import Shop
from service.domain.tickets.progress import AT_WORK, WAITING
from service.persistence.unit_of_work import UnitOfWork


def rack_basis(uow: UnitOfWork, book: ShopBook, wishes: Sequence[Wish]) -> PlanBasis:
    """Everything that planning these pieces from the rack alone needs, as it stands now.

    Raises:
        Conflict: they are too many to be planned while somebody waits.
    """
    codes = sorted({wish.item for wish in wishes})
    supplies = Supplies(book.shop, book.catalogue, uow.rack.on_rack(book.shop_id, codes))
    request = PlanRequest(options=PlanOptions(buy=False))
    basis = PlanBasis(request, tuple(wishes), (), supplies)
    if is_big(basis):
        raise Conflict("these are many pieces; make a cutting plan of their tickets")
    return basis


PER_ITEM = 100
"""Steps of progress that each item counts for."""
MOST_TICKETS = 1_000
MOST_PIECES = 20_000


class PlanDocuments(Protocol):
    """Reads and writes the documents of plans, of which the use cases know only the meaning."""

    def request(self, body: bytes, shop: Shop) -> PlanRequest:
        """What a stored request asks for."""
        ...

    def wishes(
        self, ticket: StoredTicket, cut: Mapping[tuple[str, int], int]
    ) -> tuple[tuple[Wish, ...], tuple[LeftOut, ...]]:
        """What of a ticket is still to be cut, and what of it is not cut from stock."""
        ...

    def written(self, plan: CutPlan, shop: Shop) -> tuple[bytes, bytes]:
        """The plan's document, and that of its costs."""
        ...


@dataclass(frozen=True, slots=True)
class PlanBasis:
    """All that planning needs, read in one view: the wishes and what the shop has."""

    request: PlanRequest
    wishes: tuple[Wish, ...]
    left_out: tuple[LeftOut, ...]
    supplies: Supplies
    tickets: tuple[str, ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces are wanted in all."""
        return sum(wish.quantity for wish in self.wishes)


def read_basis(
    uow: UnitOfWork, book: ShopBook, request: PlanRequest, documents: PlanDocuments
) -> PlanBasis:
    """Everything that a request needs of the shop, as it stands now.

    Raises:
        JobRefused: a ticket that is not there or not open, or more pieces than are planned at once
            or than lie in a row on a sheet.
    """
    tickets = _tickets(uow, book.shop_id, request)
    cut = uow.cutting_plans.cut_lots(ticket.head.id for ticket in tickets)
    wishes, left_out = list(request.pieces), list[LeftOut]()
    for ticket in tickets:
        wanted, others = documents.wishes(ticket, cut)
        wishes += wanted
        left_out += others
    if sum(wish.quantity for wish in wishes) > MOST_PIECES:
        told = f"a plan takes up to {MOST_PIECES} pieces; plan fewer at once"
        raise JobRefused([Fault("/pieces", "bad_value", told)])
    codes = sorted({wish.item for wish in wishes})
    supplies = Supplies(
        book.shop,
        book.catalogue,
        uow.rack.on_rack(book.shop_id, codes) if request.options.use_offcuts else (),
        uow.stock_levels.of_items(book.shop_id, codes),
    )
    numbers = tuple(ticket.head.number for ticket in tickets)
    basis = PlanBasis(request, tuple(wishes), tuple(left_out), supplies, numbers)
    _refuse_crowded(basis)
    return basis


def materials_of(basis: PlanBasis) -> tuple[Material, ...]:
    """What the plan cuts and what from, item by item."""
    request = basis.request
    return gather(basis.wishes, request.stock, request.options, basis.supplies).materials


def _refuse_crowded(basis: PlanBasis) -> None:
    places = {wish.key: at for at, wish in enumerate(basis.request.pieces)}
    faults = []
    for material in materials_of(basis):
        key = crowded(material)
        if key:
            told = (
                f"more than {MOST_IN_A_ROW} pieces of {material.item} as small as this lie in a "
                "row across a sheet: cut them from strips, or plan fewer sizes at once"
            )
            where = f"/pieces/{places[key]}" if key in places else "/tickets"
            faults.append(Fault(where, "bad_value", told))
    if faults:
        raise JobRefused(faults)


def _tickets(uow: UnitOfWork, shop_id: str, request: PlanRequest) -> list[StoredTicket]:
    found: dict[str, StoredTicket] = {}
    faults = []
    for position, text in enumerate(request.tickets):
        try:
            ticket = _ticket(uow, shop_id, text)
        except NotFound as missing:
            faults.append(Fault(f"/tickets/{position}", "not_found", missing.message))
            continue
        if ticket.head.status not in (WAITING, AT_WORK):
            told = f"{ticket.head.number} is {ticket.head.status}: nothing of it is to be cut"
            faults.append(Fault(f"/tickets/{position}", "wrong_state", told))
        found[ticket.head.id] = ticket
    if faults:
        raise JobRefused(faults)
    if request.open_tickets:
        for ticket in _open(uow, shop_id):
            found.setdefault(ticket.head.id, ticket)
    return sorted(found.values(), key=lambda ticket: ticket.head.serial)


def _ticket(uow: UnitOfWork, shop_id: str, text: str) -> StoredTicket:
    if TICKETS.means(text):
        return uow.tickets.by_serial(shop_id, TICKETS.read(text))
    return uow.tickets.by_id(shop_id, text)


def _open(uow: UnitOfWork, shop_id: str) -> Iterable[StoredTicket]:
    for status in (WAITING, AT_WORK):
        page = uow.tickets.page(shop_id, TicketFilter(status=status), MOST_TICKETS)
        if page.after is not None:
            raise Conflict(f"more than {MOST_TICKETS} tickets are open; name those to be planned")
        for head in page.heads:
            yield uow.tickets.by_id(shop_id, head.id)


def make_plan(basis: PlanBasis, watch: Watch | None = None) -> CutPlan:
    """Plan every item; each plan has passed its independent check.

    Raises:
        PlanCancelled: `watch` says to stop.
        PlanRejected: a plan failed its check (a fault of the planner).
    """
    watch, request = watch or Watch(), basis.request
    gathered = gather(basis.wishes, request.stock, request.options, basis.supplies)
    total = PER_ITEM * len(gathered.materials)
    items = []
    for position, material in enumerate(gathered.materials):
        items.append(PlannedItem(material, _planned(material, _part(watch, position, total))))
        watch.step(PER_ITEM * (position + 1), total)
    left_out = (*basis.left_out, *gathered.left_out)
    return CutPlan(
        wishes=basis.wishes,
        wish_of=dict(gathered.wish_of),
        items=tuple(items),
        left_out=left_out,
        tickets=basis.tickets,
        reference=request.reference,
    )


def _part(watch: Watch, position: int, total: int) -> Watch:
    """A watch over one item that reports its steps as a part of the whole."""

    def report(done: int, of: int) -> None:
        watch.on_progress(PER_ITEM * position + PER_ITEM * done // max(of, 1), total)

    return Watch(report, watch.cancelled)


def _planned(material: Material, watch: Watch) -> SheetPlan | StickPlan:
    sizes = material.sizes
    if material.kind == "sheet":
        sheets = [
            SheetStock(
                s.key,
                s.width.ticks,
                s.height.ticks,
                s.cost,
                s.quantity,
                s.source == "rack",
                0 if s.source == "rack" else material.edge_trim.ticks,
            )
            for s in sizes
            if s.source == "rack" or min(s.width, s.height) > material.edge_trim * 2
        ]
        return plan_sheets(sheets, material.sheet_pieces, material.sheet_rules, watch)
    sticks = [
        StickStock(s.key, s.width.ticks, s.cost, s.quantity, s.source == "rack") for s in sizes
    ]
    return plan_sticks(sticks, material.stick_pieces, material.stick_rules, watch)


def effects_of(plan: CutPlan) -> Effects:
    """What committing a plan does to the shop's stock."""
    offcuts: list[str] = []
    takes: list[Take] = []
    keeps: list[Keep] = []
    for position, item in enumerate(plan.items):
        used = Counter(use.stock for use in item.plan.uses)
        for size in item.material.sizes:
            if size.offcut is not None and used[size.key]:
                offcuts.append(size.offcut.id)
            taken = min(used[size.key], size.level or 0)
            if taken:
                takes.append(Take(item.material.item, size.width, size.height, taken))
        keeps += kept(position, item)
    return Effects(
        offcuts=tuple(sorted(offcuts)),
        takes=tuple(sorted(takes, key=lambda t: (t.item, t.width.ticks, t.height.ticks))),
        keeps=tuple(keeps),
        lots=tuple(_lots(plan)),
        unknown=tuple(i.material.item for i in plan.items if not i.material.in_catalogue),
    )


def _lots(plan: CutPlan) -> Iterable[CutLot]:
    made = placed(plan)
    for wish in plan.wishes:
        if wish.lot is not None and made[wish.key]:
            yield CutLot(wish.lot.ticket_id, wish.lot.lot, made[wish.key])


AT_ONCE_PIECES = 6_000
"""Plans of more pieces are made in the background."""


def is_big(basis: PlanBasis) -> bool:
    """Return True if a plan is made in the background: it has many pieces or is much work."""
    return basis.pieces > AT_ONCE_PIECES or work_of(materials_of(basis)) > AT_ONCE
