"""The documents of a stored quote: what is kept, and what is shown of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

import orjson

from schemas.catalogue import dump_cost, dump_item
from schemas.estimates import estimate_document
from schemas.figures import Json, ratio
from schemas.labour_standards import dump_labour_standard
from schemas.price_lists import PRICE_LIST_HEAD, RuleDocument
from schemas.shop import dump_shop
from service.app.records import QuoteHead
from service.app.records_tickets import TicketHead
from service.domain.costs import JobCost, job_cost, margin, markup
from service.domain.estimate import Basis, Estimate
from service.domain.measure.rounding import exact_sum
from service.domain.money import Currency, Money, minor_text
from service.domain.price_list import PriceList, PriceRule
from service.domain.quote import Customer
from service.domain.use import Use


class Once:
    """Remembers the JSON of objects that never change, by identity; forgets all when full.

    A shop's settings, items and rules are the same objects from quote to quote, so each is written
    once for a version of the shop's book.
    """

    __slots__ = ("_kept", "_write")
    MOST = 20_000

    def __init__(self, write: Callable[[Any], object]) -> None:
        self._write = write
        self._kept: dict[int, tuple[object, orjson.Fragment]] = {}

    def __call__(self, thing: object) -> orjson.Fragment:
        """The JSON of `thing`."""
        kept = self._kept.get(id(thing))
        if kept is not None and kept[0] is thing:
            return kept[1]
        if len(self._kept) >= self.MOST:
            self._kept.clear()
        fragment = orjson.Fragment(orjson.dumps(self._write(thing)))
        self._kept[id(thing)] = (thing, fragment)
        return fragment


_RULE = RuleDocument()


class StoredQuoteDocuments:
    """Writes what a stored quote keeps; see `service.app.quoting.QuoteDocuments`."""

    def __init__(self) -> None:
        self._shop, self._standard = Once(dump_shop), Once(dump_labour_standard)
        self._item, self._cost, self._rule = Once(dump_item), Once(dump_cost), Once(_RULE.dump)

    def result(self, estimate: Estimate) -> bytes:
        """The answer, without costs."""
        return orjson.dumps(estimate_document(estimate))

    def customer(self, customer: Customer) -> bytes:
        """Who asked."""
        return orjson.dumps({name: value for name, value in asdict(customer).items() if value})

    def figures(self, estimate: Estimate) -> bytes:
        """The items, rules, times and settings that were used."""
        basis = estimate.basis
        prices = basis.price_list
        uses = [use for job in estimate.jobs for use in job.uses]
        items = {use.item.code: use.item for use in uses}
        rules = {rule.code: rule for use in uses for rule in _rules_of(use, prices)}
        rules.update({rule.code: rule for rule in prices.rules_for("labour", "", "")})
        rules.update({rule.code: rule for rule in _fee_rules(estimate)})
        costs = [cost for code in items for cost in basis.catalogue.costs.get(code, ())]
        return orjson.dumps(
            {
                "shop": self._shop(basis.shop),
                "labour_standard": self._standard(basis.standard),
                "price_list": {
                    **PRICE_LIST_HEAD.dump(prices),
                    "rules": [self._rule(rule) for rule in prices.rules if rule.code in rules],
                },
                "items": [self._item(item) for item in items.values()],
                "item_costs": [self._cost(cost) for cost in costs],
            }
        )

    def costs(self, estimate: Estimate) -> bytes:
        """Costs, margins and markups."""
        return orjson.dumps(costs_document(estimate))


def _rules_of(use: Use, prices: PriceList) -> tuple[PriceRule, ...]:
    return prices.rules_for(use.component, use.item.code, use.item.group, use.supply)


def _fee_rules(estimate: Estimate) -> Iterator[PriceRule]:
    """The rules of fees that were asked for, and of those that are always laid on."""
    prices = estimate.basis.price_list
    yield from prices.always
    for job in estimate.jobs:
        for code in job.job.fees:
            yield from prices.fee_rules(code)


def costs_document(estimate: Estimate) -> Json:
    """Costs, margin and markup of every job and of the whole, for those who may see them."""
    basis = estimate.basis
    costs = [job_cost(job, basis) for job in estimate.jobs]
    nets = [job.subtotal - job.discount for job in estimate.jobs]
    if estimate.totals.off:
        nets = [kept - off for kept, off in zip(nets, estimate.totals.off, strict=True)]
    tax = estimate.totals.tax
    net = estimate.totals.total - tax.total
    known = [cost.total for cost in costs if cost.total is not None]
    total = exact_sum(known) if len(known) == len(costs) else None
    shares = _without_tax(nets, net, basis)
    jobs = [_job_costs(cost, own, basis) for cost, own in zip(costs, shares, strict=True)]
    document: Json = {"jobs": jobs, **_earned(net, total, basis)}
    if basis.price_list.currency.code != basis.shop.currency:
        document["currency"] = basis.shop.currency
    return document


def _without_tax(nets: Sequence[Money], net: Money, basis: Basis) -> Sequence[Money]:
    """Each job's part of what the shop keeps; a tax that prices hold is shared out of them."""
    if not basis.shop.taxation.included or sum(n.minor for n in nets) <= 0:
        return nets
    return net.shared(tuple(n.minor for n in nets))


def _job_costs(cost: JobCost, net: Money, basis: Basis) -> Json:
    currency = Currency(basis.shop.currency)
    materials = exact_sum(part.amount for part in cost.materials)
    unknown = [part.use.item.code for part in cost.materials if part.known is None]
    return {
        "materials": currency.half_up(materials).text(),
        "labour": currency.half_up(cost.labour).text(),
        "unknown": unknown,
        **_earned(net, cost.total, basis),
    }


def _earned(net: Money, cost: Fraction | None, basis: Basis) -> Json:
    """Costs are in the shop's currency; prices in another one earn what nobody here can tell."""
    if cost is None:
        return {"cost": None, "margin": None, "markup": None}
    spent = Currency(basis.shop.currency).half_up(cost)
    if net.currency != spent.currency:
        return {"cost": spent.text(), "margin": None, "markup": None}
    kept, times = margin(net, spent), markup(net, spent)
    return {
        "cost": spent.text(),
        "margin": None if kept is None else ratio(*kept.as_integer_ratio(), 4),
        "markup": None if times is None else ratio(*times.as_integer_ratio(), 4),
    }


def head_document(head: QuoteHead, status: str = "") -> Json:
    """A stored quote without its jobs, as lists show it.

    `status` is that of the day, where it is not the stored one.
    """
    document: Json = {
        "id": head.id,
        "number": head.number,
        "status": status or head.status,
        "revision": head.revision,
        "reference": head.reference,
        "customer": orjson.Fragment(head.customer),
        "created_at": instant(head.created_at),
        "updated_at": instant(head.updated_at),
        "valid_until": head.valid_until.isoformat(),
        "deposit_due": minor_text(head.deposit_minor, Currency(head.currency).digits),
        "promised": head.promised.isoformat() if head.promised else None,
    }
    if head.reason:
        document["reason"] = head.reason
    return document


def listed_document(head: QuoteHead, status: str = "") -> Json:
    """A row of a list of quotes: the head, and the total."""
    total = minor_text(head.total_minor, Currency(head.currency).digits)
    return {**head_document(head, status), "currency": head.currency, "total": total}


def quote_document(
    head: QuoteHead,
    result: bytes,
    costs: bytes | None,
    status: str = "",
    tickets: Iterable[TicketHead] = (),
    choices: Sequence[Json] = (),
) -> bytes:
    """A stored quote as it is shown: its head, then the very bytes of its stored result."""
    shown = head_document(head, status)
    shown["tickets"] = [
        {"id": ticket.id, "number": ticket.number, "job": ticket.job + 1} for ticket in tickets
    ]
    if choices:
        shown["choices"] = list(choices)
    if costs is not None:
        shown["costs"] = orjson.Fragment(costs)
    return spliced(shown, result)


def spliced(head: Json, stored: bytes) -> bytes:
    """A head, then the very bytes of a stored document, as one document."""
    return orjson.dumps(head)[:-1] + b"," + stored[1:]


def instant(at: datetime) -> str:
    """An instant as RFC 3339 in UTC, to the microsecond."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
