"""The answer to a sweep: totals and advisories for each choice."""

from __future__ import annotations

from schemas.estimates.answer import advisory_document
from schemas.wire.figures import Json
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis
from service.domain.estimates.sweep import SweepRequest, sweep_glazing, sweep_mouldings
from service.domain.materials.catalogue import AnyItem
from service.domain.prices.totals import Totals


def sweep_document(request: SweepRequest, basis: Basis) -> Json:
    """Return every possible choice with its totals, and every other with its reasons."""
    choices: list[Json] = []
    refused: list[Json] = []
    if request.over == "mouldings":
        for choice in sweep_mouldings(request, basis):
            if choice.totals is None:
                refused.append(_refused(choice.moulding, choice.refused))
            else:
                row = _choice(choice.moulding, choice.totals)
                row["advisories"] = [advisory_document(a, "/job") for a in choice.advisories]
                choices.append(row)
    else:
        for tried in sweep_glazing(request, basis):
            if tried.totals is None or tried.done is None:
                refused.append(_refused(tried.item, tried.refused))
            else:
                row = _choice(tried.item, tried.totals)
                said = tried.done.advisories
                row["advisories"] = [advisory_document(advisory, "/job") for advisory in said]
                choices.append(row)
    return {
        "currency": basis.price_list.currency.code,
        "price_list": basis.price_list.code,
        "over": request.over,
        "choices": choices,
        "refused": refused,
    }


def _choice(item: AnyItem, totals: Totals) -> Json:
    tax = totals.tax
    return {
        "item": item.code,
        "description": item.description,
        "subtotal": totals.subtotal.text(),
        "discount": totals.discount.text(),
        "tax": None if tax.unknown else tax.total.text(),
        "total": totals.total.text(),
    }


def _refused(item: AnyItem, refusal: JobRefused | None) -> Json:
    faults = refusal.faults() if refusal else ()
    return {
        "item": item.code,
        "errors": [
            {"pointer": "/job" + fault.pointer, "code": fault.code, "detail": fault.detail}
            for fault in faults
        ],
    }
