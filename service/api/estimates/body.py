"""Reading a document of jobs so that all its faults are reported together.

Schema errors and the trade's rules are found in two stages, and a document with a schema error
never reaches the rules. So a refused document is checked a second time, job by job: readable jobs
are calculated to find their own faults, and of the others at least the codes are looked up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import flask

from schemas.jobs import JOB
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.api.http.context import admit_more
from service.app.estimates.calculation import check_rush
from service.app.keys.access import Principal
from service.app.shop import (
    MOST_PARTS_PUBLIC,
    PARTS_A_MOULDING,
    PARTS_A_REQUEST,
    parts_of,
    within_parts,
    within_tries,
)
from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import Basis, estimate_request
from service.domain.estimates.sweep import SweepRequest
from service.domain.materials.catalogue import Glazing, Moulding
from service.domain.measure.money import DIGITS
from service.domain.quotes.life import QuoteRequest

MOST_LOOKED_AT = 50
WEIGHED = "framing_quotes.weighed"
"""The environ key that marks a request whose work was counted."""


def asked_currency(document: Any) -> str:
    """Return the currency that a document requests for its prices; "" if none or an invalid one."""
    asked = document.get("currency") if isinstance(document, Mapping) else None
    return asked if isinstance(asked, str) and asked in DIGITS else ""


def read_request(document: Any, basis: Basis) -> QuoteRequest:
    """Return the document of an estimate or a quote.

    Raises:
        JobRefused: with every fault that can be found.
    """
    unit = basis.shop.ruler.unit
    try:
        request: QuoteRequest = read(QUOTE_REQUEST, document, unit=unit)
        check_rush(request, basis.shop.ordering)
        return request
    except JobRefused as refused:
        found = list(refused.faults())
        known = {fault.pointer for fault in found}
        found += [f for f in _second_look(document, basis, unit) if f.pointer not in known]
        raise JobRefused(found) from None


def weigh(asked: QuoteRequest, principal: Principal) -> None:
    """Check that a document is within its key's limit; a large one counts as several requests.

    Raises:
        JobRefused: it has more parts than the key may send in one document.
        RequestRefused: 429, the key has too few requests left.
    """
    parts = parts_of(asked.jobs)
    within_parts(parts, principal)
    _count(parts, principal)


def weigh_sweep(asked: SweepRequest, basis: Basis, principal: Principal) -> None:
    """Check that a sweep is within its key's limit; a large one counts as several requests.

    Raises:
        JobRefused: it calculates more parts than the key may request.
        RequestRefused: 429, the key has too few requests left.
    """
    parts = asked.job.parts()
    if asked.over == "mouldings":
        parts += PARTS_A_MOULDING * len(asked.items or basis.catalogue.of_type(Moulding))
    else:
        parts *= len(asked.items or basis.catalogue.of_type(Glazing))
    within_tries(parts, principal)
    _count(parts, principal)


def _count(parts: int, principal: Principal) -> None:
    more, environ = -(-parts // PARTS_A_REQUEST) - 1, flask.request.environ
    if more > 0 and WEIGHED not in environ:
        environ[WEIGHED] = True
        admit_more(principal, environ, more)


def _second_look(document: Any, basis: Basis, unit: str) -> Iterator[Fault]:
    if not isinstance(document, Mapping) or not isinstance(document.get("jobs"), list):
        return
    unit = document["units"] if document.get("units") in ("in", "mm", "cm") else unit
    parts = 0
    for position, job in enumerate(document["jobs"][:MOST_LOOKED_AT]):
        prefix = f"/jobs/{position}"
        try:
            spec = read(JOB, job, unit=unit)
        except JobRefused:
            yield from (fault.under(prefix) for fault in _unknown_codes(job, basis))
            continue
        parts += spec.parts()
        if parts > MOST_PARTS_PUBLIC:
            return  # report what was found so far; the rest needs a valid document
        try:
            estimate_request([spec], basis)
        except JobRefused as refused:
            for fault in refused.faults():
                yield Fault(prefix + fault.pointer[len("/jobs/0") :], fault.code, fault.detail)


def _unknown_codes(job: Any, basis: Basis) -> Iterator[Fault]:
    """Yield the codes of a job that the catalogue lacks, without reading the rest of the job."""
    for pointer, code in _codes(job, ""):
        if code.strip() not in basis.catalogue.items and 0 < len(code) <= 40:
            yield Fault(pointer, "unknown_item", f"the catalogue has no {code.strip()}")


def _codes(part: Any, pointer: str) -> Iterator[tuple[str, str]]:
    if not isinstance(part, Mapping):
        return
    for name in ("board", "sheet", "moulding", "fillet"):
        if isinstance(part.get(name), str):
            yield f"{pointer}/{name}", part[name]
    for name in ("glazing", "mounting", "backing"):
        if isinstance(part.get(name), Mapping):
            yield from _codes(part[name], f"{pointer}/{name}")
    for name in ("mats", "frames"):
        if isinstance(part.get(name), list):
            for position, each in enumerate(part[name][:10]):
                yield from _codes(each, f"{pointer}/{name}/{position}")
