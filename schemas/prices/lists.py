"""Price lists as resources: drafts and published ones, what is amiss with one, what it would do."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import orjson

from schemas.jobs import QUOTE_REQUEST
from schemas.prices.price_lists import (
    PRICE_LIST_DOCUMENT,
    PRICE_LIST_HEAD,
    dump_price_list,
    load_price_list,
)
from schemas.quotes.answer import instant
from schemas.quotes.records import PriceListRecord, QuoteHead, Revision
from schemas.quotes.reworking import stored_basis
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from schemas.wire.figures import Json, ratio
from schemas.wire.shown import as_sent
from service.app.estimates.calculation import estimate_request
from service.app.prices.book import standing
from service.domain.errors import Fault, JobRefused
from service.domain.measure.money import Currency, minor_text
from service.domain.prices.check import Finding
from service.domain.prices.lists import PriceList

TOLD = ("state", "published_at", "version")


def price_list_document(
    record: PriceListRecord, everyone: tuple[PriceListRecord, ...], on: date, *, whole: bool = True
) -> Json:
    """A price list as it is shown, and how it stands today; for lists of them without its rules."""
    schema = PRICE_LIST_DOCUMENT if whole else PRICE_LIST_HEAD
    document: Json = schema.dump(record.price_list)
    published = record.published_at
    return {
        **document,
        "state": standing(record, everyone, on),
        "published_at": None if published is None else instant(published),
        "version": record.version,
    }


def read_price_list(document: Any, code: str = "") -> PriceList:
    """The list that a document sent for a new one, or for the draft `code`, describes.

    Raises:
        JobRefused: with every fault found; among them another code than the list's own.
    """
    plain = as_sent(document, TOLD)
    if code and isinstance(plain, Mapping):
        plain = {"code": code, **plain}
        if plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    return load_price_list(plain)


def findings_document(code: str, findings: Sequence[Finding]) -> Json:
    """What is amiss with a list."""
    rows = [{name: part for name, part in asdict(each).items() if part} for each in findings]
    errors = sum(finding.severity == "error" for finding in findings)
    return {"code": code, "errors": errors, "findings": rows}


class PriceListDocuments:
    """Writes price lists for the record of changes; see `service.app.prices.lists`."""

    def price_list(self, price_list: PriceList) -> bytes:
        """The list."""
        return orjson.dumps(dump_price_list(price_list))


def compared_document(
    quotes: Sequence[tuple[QuoteHead, Revision]], price_list: PriceList, *, more: bool
) -> Json:
    """What a list would do to quotes, one by one and together.

    Everything but the list is as each quote has it: its items, costs, times and settings.
    """
    digits = price_list.currency.digits
    rows: list[Json] = []
    before = after = 0
    for head, revision in quotes:
        row: Json = {
            "number": head.number,
            "status": head.status,
            "before": minor_text(head.total_minor, Currency(head.currency).digits),
        }
        try:
            total = total_by(revision, price_list)
        except JobRefused as refused:
            row["refused"] = [
                {"pointer": fault.pointer, "code": fault.code, "detail": fault.detail}
                for fault in refused.faults()
            ]
        else:
            before, after = before + head.total_minor, after + total
            row["after"] = minor_text(total, digits)
            row |= _change(head.total_minor, total, digits)
        rows.append(row)
    return {
        "count": len(rows),
        "more": more,
        "before": minor_text(before, digits),
        "after": minor_text(after, digits),
        **_change(before, after, digits),
        "quotes": rows,
    }


@kept_text()
def total_by(revision: Revision, price_list: PriceList) -> int:
    """What a quote comes to by another list, in minor units; all else is as the quote has it.

    Raises:
        JobRefused: the list has no price for something in it.
    """
    basis = stored_basis(revision)
    sent = json.loads(revision.request, parse_float=Decimal)
    request = read(QUOTE_REQUEST, sent, unit=basis.shop.ruler.unit)
    changed = replace(basis, price_list=price_list)
    return estimate_request(request.jobs, changed, request.conditions).totals.total.minor


def _change(before: int, after: int, digits: int) -> Json:
    percent = Fraction(100 * (after - before), before) if before else None
    shown = None if percent is None else ratio(*percent.as_integer_ratio(), 2)
    return {"difference": minor_text(after - before, digits), "percent": shown}
