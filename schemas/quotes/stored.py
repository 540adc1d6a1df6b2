"""Stored quotes as they were worked out: nothing of them is calculated again.

A revision keeps its figures, and the papers they rest on: items, rules, times and settings. It is
sold, planned, explained and made into tickets by those. Nothing is read from the shop's current
data, and no release refuses a quote because it would calculate it differently.

A revision that a release before figures stored, or one that runs beside this one, has none: its
figures are then read from its answer (`answered`).
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from schemas.labour import load_labour_standard
from schemas.materials.catalogue import load_cost, load_item
from schemas.prices.lists import load_price_list
from schemas.quotes.figures.answered import worked_as_answered
from schemas.quotes.figures.documents import Worked, worked_then
from schemas.quotes.figures.jobs import the_conditions
from schemas.quotes.figures.records import read_figures
from schemas.quotes.records import Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.shop import load_shop
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from service.domain.errors import Conflict, JobRefused
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.job import Conditions, JobSpec
from service.domain.materials.catalogue import Catalogue
from service.domain.quotes.life import QuoteRequest
from service.domain.quotes.promise import Wish
from service.domain.shop import Ordering, Shop


@kept_text()
def worked(revision: Revision) -> Worked:
    """Return a stored revision as it was worked out.

    Raises:
        Conflict: it keeps no figures, and this release cannot read what it was calculated from.
    """
    basis = stored_basis(revision)
    if revision.figures is not None:
        return worked_then(read_figures(revision.figures), basis)
    try:
        asked = stored_request(revision, basis)
    except JobRefused as refused:
        told = "an early release stored this quote, and its request can no longer be read"
        raise Conflict(f"{told} ({refused.message}); send it anew as a revision") from refused
    return worked_as_answered(_document(revision.result), _document(revision.costs), asked, basis)


@kept_text()
def worked_again(revision: Revision) -> Estimate | None:
    """Return a stored revision calculated again by this release, to compare the two.

    None if this release refuses what it asks for.
    """
    basis = stored_basis(revision)
    try:
        asked = stored_request(revision, basis)
        return estimate_request(asked.jobs, basis, _conditions(revision, asked))
    except JobRefused:
        return None


def _conditions(revision: Revision, asked: QuoteRequest) -> Conditions:
    """Return the conditions that held: the customer's record may have given some of them."""
    if revision.figures is None:
        return asked.conditions
    return the_conditions(read_figures(revision.figures).conditions)


@kept_text()
def stored_request(revision: Revision, basis: Basis) -> QuoteRequest:
    """Return the document that a stored revision was calculated from.

    Raises:
        JobRefused: this release cannot read it.
    """
    request: QuoteRequest = read(
        QUOTE_REQUEST, _document(revision.request), unit=basis.shop.ruler.unit
    )
    return request


@kept_text()
def stored_basis(revision: Revision) -> Basis:
    """Return the shop, items, times and prices stored with a quote."""
    kept: dict[str, Any] = {paper.kind: _document(paper.document) for paper in revision.papers}
    papers = [_document(paper.document) for paper in revision.papers if paper.kind == "item"]
    items = [(load_item(paper["item"]), paper["costs"]) for paper in papers]
    return Basis(
        load_shop(kept["shop"]),
        Catalogue(
            {item.code: item for item, _ in items},
            {item.code: tuple(map(load_cost, costs)) for item, costs in items},
        ),
        load_labour_standard(kept["labour_standard"]),
        load_price_list(kept["price_list"]),
    )


@kept_text()
def stored_shop(revision: Revision) -> Shop:
    """Return the shop's settings stored with a quote; lengths show on that day's ruler."""
    papers = (paper.document for paper in revision.papers if paper.kind == "shop")
    return load_shop(_document(next(papers)))


def jobs_that_stay(before: Revision, now: Revision) -> tuple[int | None, ...]:
    """Return for each job of a revision the position of the same one in the revision before.

    The same is asked for, apart from fees, discounts and lines, and the same is cut; each old job
    stays once at most. None for a new job.
    """
    old, new = _asked_and_cut(before), _asked_and_cut(now)
    found: list[int | None] = []
    for job in new:
        same = (at for at, each in enumerate(old) if each == job and at not in found)
        found.append(next(same, None))
    return tuple(found)


def _asked_and_cut(revision: Revision) -> list[tuple[JobSpec, tuple[Piece, ...]]]:
    estimate = worked(revision).estimate
    try:
        asked = stored_request(revision, estimate.basis)
    except JobRefused:  # an early release's, which cannot be read any more
        return []
    pairs = zip(asked.jobs, estimate.jobs, strict=True)
    return [(replace(job, fees=(), discounts=()), done.pieces) for job, done in pairs]


def wish_of(revision: Revision, estimate: Estimate, ordering: Ordering) -> Wish:
    """Return the day by which a stored revision is wanted, and if by the rush service."""
    asked = _document(revision.request).get("wanted_by")
    fees = {fee for job in estimate.jobs for fee in job.job.fees}
    rush = bool(ordering.rush_fee) and ordering.rush_fee in fees
    return Wish(date.fromisoformat(asked) if asked else None, rush)


def _document(text: bytes) -> Any:
    return json.loads(text, parse_float=Decimal)
