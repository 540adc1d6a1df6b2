"""The answer to a sweep: totals and advisories for each choice."""

from __future__ import annotations

from collections.abc import Iterable

from schemas.estimates.answer import advisories_document
from schemas.estimates.shapes import Choice, RefusedChoice, Sweep
from schemas.wire.values import Fault
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis
from service.domain.estimates.sweep import SweepRequest, sweep_glazing, sweep_mouldings
from service.domain.jobs.advice.advisory import Advisory
from service.domain.materials.catalogue import AnyItem
from service.domain.prices.totals import Totals


def sweep_document(request: SweepRequest, basis: Basis) -> Sweep:
    """Return every possible choice with its totals, and every other with its reasons."""
    choices: list[Choice] = []
    refused: list[RefusedChoice] = []
    if request.over == "mouldings":
        for choice in sweep_mouldings(request, basis):
            if choice.totals is None:
                refused.append(_refused(choice.moulding, choice.refused))
            else:
                choices.append(_choice(choice.moulding, choice.totals, choice.advisories))
    else:
        for tried in sweep_glazing(request, basis):
            if tried.totals is None or tried.done is None:
                refused.append(_refused(tried.item, tried.refused))
            else:
                choices.append(_choice(tried.item, tried.totals, tried.done.advisories))
    return Sweep(
        currency=basis.price_list.currency.code,
        price_list=basis.price_list.code,
        over=request.over,
        choices=tuple(choices),
        refused=tuple(refused),
    )


def _choice(item: AnyItem, totals: Totals, advisories: Iterable[Advisory]) -> Choice:
    tax = totals.tax
    return Choice(
        item=item.code,
        description=item.description,
        subtotal=totals.subtotal.text(),
        discount=totals.discount.text(),
        tax=None if tax.unknown else tax.total.text(),
        total=totals.total.text(),
        advisories=advisories_document(advisories, "/job"),
    )


def _refused(item: AnyItem, refusal: JobRefused | None) -> RefusedChoice:
    faults = refusal.faults() if refusal else ()
    return RefusedChoice(
        item=item.code,
        errors=tuple([Fault("/job" + fault.pointer, fault.code, fault.detail) for fault in faults]),
    )
