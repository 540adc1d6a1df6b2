"""The documents of a stored quote: what is stored, and what is shown of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from hashlib import sha256
from typing import cast

import orjson
from msgspec import Raw

from schemas.estimates.answer import advisories_document, estimate_document
from schemas.estimates.shapes import Costs, JobCosts
from schemas.labour import dump_labour_standard
from schemas.materials.catalogue import dump_cost, dump_item
from schemas.prices.lists import dump_price_list
from schemas.quotes import shapes
from schemas.quotes.figures.documents import Worked, keep
from schemas.quotes.records import Paper, QuoteHead
from schemas.shop import dump_shop_paper
from schemas.tickets.records import StoredSpoilage, TicketHead
from schemas.wire.figures import Figures, Json, instant, ratio, spliced
from schemas.wire.record import UNSET, encode, extended
from service.domain.estimates.calculation import Estimate, priced_lines
from service.domain.estimates.costs import JobCost, job_cost, margin, markup, total_cost
from service.domain.estimates.floors import under_floor
from service.domain.jobs.advice.advisory import Advisory
from service.domain.materials.catalogue import AnyItem, ItemCost
from service.domain.measure.money import Currency, Money, minor_text
from service.domain.measure.ruler import Ruler
from service.domain.payments import balance
from service.domain.prices.totals import job_nets
from service.domain.quotes.life import WITHDRAWN, Customer
from service.domain.quotes.numbers import ticket_number
from service.domain.tickets.progress import TAKEN_BACK

NO_COSTS: tuple[ItemCost, ...] = ()


class Papers:
    """A cache that writes the papers of immutable objects, once for each, by identity.

    A shop's settings, items and lists are the same objects from quote to quote for one version of
    the shop's book. Clears itself after writing `most`.
    """

    __slots__ = ("_kept", "_kind", "_most", "_write")

    def __init__(self, kind: str, write: Callable[..., object], most: int = 20_000) -> None:
        self._kind, self._write, self._most = kind, write, most
        self._kept: dict[tuple[int, ...], tuple[tuple[object, ...], Paper]] = {}

    def __call__(self, *things: object) -> Paper:
        """Return the paper written from `things`."""
        place = tuple(map(id, things))
        kept = self._kept.get(place)
        if kept is None:
            if len(self._kept) >= self._most:
                self._kept.clear()
            document = orjson.dumps(self._write(*things))
            paper = Paper(self._kind, sha256(document).hexdigest(), document)
            # Keep references to the things, so that their identities cannot be reused.
            kept = self._kept[place] = (things, paper)
        return kept[1]


def _item_and_costs(item: AnyItem, costs: tuple[ItemCost, ...]) -> Json:
    return {"item": dump_item(item), "costs": [dump_cost(cost) for cost in costs]}


class StoredQuoteDocuments:
    """Writes a stored quote; see `service.app.estimates.calculation.QuoteDocuments`."""

    def __init__(self) -> None:
        self._shop = Papers("shop", dump_shop_paper)
        self._standard = Papers("labour_standard", dump_labour_standard)
        self._prices = Papers("price_list", dump_price_list)
        self._item = Papers("item", _item_and_costs)

    def result(self, estimate: Estimate) -> bytes:
        """Return the answer as JSON, without costs."""
        return encode(estimate_document(estimate))

    def customer(self, customer: Customer) -> bytes:
        """Return the customer as JSON."""
        shown = shapes.CustomerShown(
            name=customer.name or UNSET,
            email=customer.email or UNSET,
            telephone=customer.telephone or UNSET,
            note=customer.note or UNSET,
            id=customer.id or UNSET,
        )
        return encode(shown)

    def papers(self, estimate: Estimate) -> tuple[Paper, ...]:
        """Return the papers of the items, prices, times and settings that were used."""
        basis = estimate.basis
        items = {use.item.code: use.item for job in estimate.jobs for use in job.uses}
        costs = basis.catalogue.costs
        return (
            self._shop(basis.shop),
            self._standard(basis.standard),
            self._prices(basis.price_list),
            *(self._item(item, costs.get(code, NO_COSTS)) for code, item in items.items()),
        )

    def figures(self, worked: Worked) -> bytes:
        """Return every figure exactly, as JSON."""
        return encode(keep(worked))

    def costs(self, worked: Worked) -> bytes:
        """Return costs, margins and markups as JSON."""
        return encode(costs_document(worked.estimate, worked.costs))


def costs_document(estimate: Estimate, costs: Sequence[JobCost] | None = None) -> Costs:
    """Return costs, margin and markup of every job and of the whole, for keys that may see them.

    `costs` are its jobs', if known.
    """
    basis = estimate.basis
    if costs is None:
        costs = [job_cost(job, basis) for job in estimate.jobs]
    pairs = priced_lines(estimate.jobs, estimate.totals.lines, basis)
    nets = job_nets(pairs, estimate.totals, basis.shop.taxation, estimate.conditions)
    spent, kept, times = _earned(estimate.totals.net(), total_cost(costs))
    foreign = basis.price_list.currency.code != basis.shop.currency
    floors = () if foreign else basis.shop.charging.least_margin
    told = []
    for position, (job, cost, net) in enumerate(zip(estimate.jobs, costs, nets, strict=False)):
        under = under_floor(job.lines, cost, net, floors)
        told.append(_job_costs(cost, net, under, f"/jobs/{position}"))
    return Costs(
        jobs=tuple(told),
        cost=spent,
        margin=kept,
        markup=times,
        currency=basis.shop.currency if foreign else UNSET,
    )


def _job_costs(cost: JobCost, net: Money, under: Iterable[Advisory], prefix: str) -> JobCosts:
    spent, kept, times = _earned(net, cost.total)
    return JobCosts(
        materials=cost.spent.text(),
        labour=cost.wages.text(),
        unknown=tuple([part.use.item.code for part in cost.materials if part.known is None]),
        cost=spent,
        margin=kept,
        markup=times,
        advisories=advisories_document(under, prefix) or UNSET,
    )


Earned = tuple[str | None, str | None, str | None]


def _earned(net: Money, cost: Money | None) -> Earned:
    """Return cost, margin and markup.

    Costs are in the shop's currency; with prices in another one, margin and markup are unknown.
    """
    if cost is None:
        return None, None, None
    if net.currency != cost.currency:
        return cost.text(), None, None
    kept, times = margin(net, cost), markup(net, cost)
    return (
        cost.text(),
        None if kept is None else ratio(*kept.as_integer_ratio(), 4),
        None if times is None else ratio(*times.as_integer_ratio(), 4),
    )


def head_document(head: QuoteHead, status: str = "") -> shapes.QuoteHead:
    """Return a stored quote without its jobs.

    `status` is the current one if it differs from the stored one.
    """
    return shapes.QuoteHead(
        id=head.id,
        number=head.number,
        status=status or head.status,
        revision=head.revision,
        reference=head.reference,
        customer=cast(shapes.CustomerShown, Raw(head.customer)),
        created_at=instant(head.created_at),
        updated_at=instant(head.updated_at),
        valid_until=head.valid_until.isoformat(),
        deposit_due=minor_text(head.deposit_minor, Currency(head.currency).digits),
        promised=head.promised.isoformat() if head.promised else None,
        handover=head.handover or UNSET,
        paid=minor_text(head.paid_minor, Currency(head.currency).digits),
        balance_due=balance_text(head),
        reason=head.reason or UNSET,
    )


def balance_text(head: QuoteHead) -> str:
    """Return what the customer still owes on a quote."""
    currency = Currency(head.currency)
    total, paid = Money(head.total_minor, currency), Money(head.paid_minor, currency)
    return balance(total, paid, head.status).text()


def listed_document(head: QuoteHead, status: str = "") -> shapes.QuoteRow:
    """Return a row of a list of quotes: the head, and the total."""
    total = minor_text(head.total_minor, Currency(head.currency).digits)
    shown = head_document(head, status)
    return extended(shown, shapes.QuoteRow, currency=head.currency, total=total)


def already_cut(
    given_up: Iterable[StoredSpoilage], ruler: Ruler, *, with_costs: bool
) -> tuple[shapes.AlreadyCut, ...]:
    """Return what was cut before the order changed, for display."""
    figures = Figures(ruler)
    return tuple([_already_cut(each, figures, with_costs) for each in given_up])


def _already_cut(each: StoredSpoilage, figures: Figures, with_costs: bool) -> shapes.AlreadyCut:
    one = each.spoilage
    sides = [one.width, one.height] if one.height else [one.width]
    cost = None
    if one.cost_minor is not None:
        cost = minor_text(one.cost_minor, Currency(one.currency).digits)
    return shapes.AlreadyCut(
        ticket=ticket_number(each.ticket_serial),
        part=one.part,
        item=one.item,
        quantity=one.quantity,
        size=tuple([figures.length(side) for side in sides]),
        cost=cost if with_costs else UNSET,
    )


def quote_document(
    head: QuoteHead,
    result: bytes,
    costs: bytes | None,
    status: str = "",
    tickets: Iterable[TicketHead] = (),
    choices: Sequence[shapes.RevisionRow] = (),
    already: Sequence[shapes.AlreadyCut] = (),
) -> bytes:
    """Return a stored quote for display: its head, then the unchanged bytes of its result."""
    top = extended(
        head_document(head, status),
        shapes.QuoteTop,
        tickets=tuple(
            [
                shapes.QuoteTicket(
                    id=ticket.id,
                    number=ticket.number,
                    job=ticket.job + 1,
                    status=ticket.state,
                    shelf=ticket.shelf or UNSET,
                )
                for ticket in tickets
                if ticket.status != TAKEN_BACK or head.status == WITHDRAWN
            ]
        ),
        choices=tuple(choices) or UNSET,
        already_cut=tuple(already) or UNSET,
        costs=UNSET if costs is None else Raw(costs),
    )
    return spliced(top, result)
