"""Fees: charges for a job besides material and time, each on its own line.

A fee is a rule of the component `fee`; its `item` is the code by which a job requests it (`rush`),
and its `description` the text of the line. A rule that applies `always` is added to every job
without a request, and its `above` sets the size from which it is charged (`oversize`). Measures
are those of the package. A fee independent of the quantity is a `set_up`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.job import Job
from service.domain.jobs.use import NONE, Use
from service.domain.jobs.work import WORKS
from service.domain.materials.catalogue import Consumable
from service.domain.measure.length import Size
from service.domain.prices.lines import Line, Terms, price_line
from service.domain.prices.lists import WORK, PriceRule

_NOTHING = Consumable(code="fee", description="")
"""A placeholder item: a fee is measured by a size, but has no item."""


def price_fees(asked: Sequence[str], size: Size, terms: Terms) -> list[Line]:
    """Return the lines of the fees that a job requests, and of those always applied.

    Raises:
        JobRefused: a fee that is not on the list, or one requested twice.
    """
    if not asked and not terms.price_list.always:
        return []
    faults: list[Fault] = []
    lines: list[Line] = []
    for position, code in enumerate(asked):
        pointer = f"/fees/{position}"
        rules = terms.price_list.fee_rules(code)
        if not rules:
            known = ", ".join(terms.price_list.fees()) or "none"
            detail = f"price list {terms.price_list.code} has no fee {code}; it has {known}"
            faults.append(Fault(pointer, "unknown_fee", detail))
        elif code in asked[:position]:
            faults.append(Fault(pointer, "twice", f"{code} stands here twice"))
        lines += _lines(rules, size, pointer, terms)
    if faults:
        raise JobRefused(faults)
    lines += _lines(terms.price_list.always, size, "", terms)
    return lines


def price_work(job: Job, size: Size, terms: Terms) -> list[Line]:
    """Return the lines of the charges for a job's kind of work, if the list has any.

    Corners are counted for a repair; other measures are those of the package.
    """
    many = job.own_frame.corners if job.own_frame and job.own_frame.corners else 1
    made = []
    for rule in terms.price_list.rules_for(WORK, job.work, ""):
        use = Use(WORK, _NOTHING, "", size=size, pieces=Fraction(many))
        quantity = max(use.quantity(rule.basis, terms.billing) - rule.above, NONE)
        if quantity:
            told = rule.description or WORKS[job.work].words.capitalize()
            currency = terms.price_list.currency
            at = rule, WORK, "", told, "/work", 0, rule.basis, quantity, rule.rate
            level = terms.factor(WORK), terms.ending
            made.append(price_line(*at, terms.pieces, currency, *level))
    return made


def _lines(rules: Sequence[PriceRule], size: Size, pointer: str, terms: Terms) -> Iterator[Line]:
    for rule in rules:
        use = Use("fee", _NOTHING, pointer, size=size)
        quantity = max(use.quantity(rule.basis, terms.billing) - rule.above, NONE)
        if quantity:
            yield price_line(
                rule=rule,
                component="fee",
                item=rule.item,
                description=rule.description or rule.item,
                pointer=pointer,
                layer=0,
                basis=rule.basis,
                quantity=quantity,
                rate=rule.rate,
                pieces=terms.pieces,
                currency=terms.price_list.currency,
                factor=terms.factor("fee"),
            )
