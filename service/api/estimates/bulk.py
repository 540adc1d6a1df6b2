"""`POST /v1/estimates/bulk`: NDJSON in, one answer per line out."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from http import HTTPStatus
from tempfile import SpooledTemporaryFile
from typing import IO

from flask import Blueprint, Response, request

from schemas.estimates.answer import estimate_document, totals_document
from schemas.estimates.shapes import BulkEstimate, BulkTotals
from schemas.quotes.answer import costs_document
from schemas.wire.record import UNSET, encode
from service.api.estimates.body import asked_currency, read_request
from service.api.http.body import Body, read_json
from service.api.http.context import admit_more, per_minute_of, take_more, wiring
from service.api.http.negotiation import LINES_FORM as NDJSON
from service.api.http.operation import Call, Operation
from service.api.http.paging import one_of
from service.api.http.problems import RequestRefused, problem, refused
from service.app.estimates.calculation import basis_on, within_limits
from service.app.estimates.repeated_jobs import RepeatedJobs
from service.app.keys.access import Principal
from service.app.shop import PARTS_A_REQUEST, parts_of, within_parts
from service.domain.errors import DomainError, Fault, JobRefused
from service.domain.estimates.calculation import Basis, Estimate
from service.domain.quotes.life import QuoteRequest, shop_day

bp = Blueprint("bulk_estimates", __name__)
TYPES = (NDJSON, "application/ndjson", "application/jsonl")
IN_MEMORY = 1_048_576
AT_A_TIME = 262_144
LINES_AT_LEAST = 1_000
"""The number of lines that any key may send at once."""
LINES_A_REQUEST = 2
"""Lines per request counted: they cost about as much processor time as one request."""


@bp.post("/v1/estimates/bulk")
@Operation(
    scopes=("price", "counter"),
    parameters=("show",),
    body=Body("QuoteRequest", media=NDJSON),
    forms=(NDJSON,),
)
def bulk(call: Call) -> Response:
    """Calculate the document on each line."""
    principal = call.principal
    shown = one_of("show", SHOWN) or WHOLE
    if request.mimetype not in TYPES:
        raise RequestRefused(
            HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
            "not_json",
            f"send one document a line, with Content-Type: {NDJSON}",
            headers={"Accept": NDJSON},
        )
    wired = wiring()
    request.max_content_length = wired.settings.bulk_limit
    file, lines = _taken_in()
    try:
        _within_a_minute(principal, lines)
        admit_more(principal, request.environ, -(-lines // LINES_A_REQUEST) - 1)
        book = wired.shelf.book(principal.shop_id)
    except BaseException:
        file.close()
        raise
    day = shop_day(book.shop, wired.clock())
    work = Estimator(
        basis=partial(basis_on, book, day),
        within=partial(within_limits, principal=principal),
        shown=shown,
        costs=principal.sees_costs,
        weigh=BulkWork(principal, lines * PARTS_A_REQUEST // LINES_A_REQUEST),
    )

    def answers() -> Iterator[bytes]:
        with file:  # closed at the end of the answer, or by its close if it is aborted
            yield from together(work.answer(line) for line in lines_of(file))

    made = Response(answers(), content_type=NDJSON)
    made.call_on_close(file.close)
    return made


class BulkWork:
    """The allowance of a file's lines: what its key has paid for, and more as it goes on.

    The lines were counted as requests by their number. Lines with many windows cost more than that,
    and take further requests of the key, line by line.
    """

    def __init__(self, principal: Principal, parts: int) -> None:
        self._asks = principal
        self._left = parts
        self._wired = wiring()

    def __call__(self, asked: QuoteRequest) -> None:
        """Count the parts of a line.

        Raises:
            JobRefused: it has more parts than the key may send in one document.
            RequestRefused: 429, the key has too few requests left.
        """
        parts = parts_of(asked.jobs)
        within_parts(parts, self._asks)
        requests = -(-(parts - self._left) // PARTS_A_REQUEST)
        if requests > 0:
            take_more(self._wired, self._asks, requests)
            self._left += requests * PARTS_A_REQUEST
        self._left -= parts


def _within_a_minute(principal: Principal, lines: int) -> None:
    """Check that a key that only prices sends no more lines than its requests per minute.

    Raises:
        RequestRefused: 413 if it does; the shop's own keys may.
    """
    per_minute = per_minute_of(wiring(), principal)
    most = max(LINES_A_REQUEST * per_minute, LINES_AT_LEAST)
    if per_minute and lines > most and not principal.may("counter"):
        raise RequestRefused(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            "body_too_large",
            f"this key may send {most} lines at once; send the file in parts",
        )


def _taken_in() -> tuple[SpooledTemporaryFile[bytes], int]:
    """Return the body and its number of lines.

    Raises:
        RequestEntityTooLarge: it exceeds the limit for such a body.
    """
    file: SpooledTemporaryFile[bytes] = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115
    lines = 1
    try:
        while piece := request.stream.read(AT_A_TIME):
            file.write(piece)
            lines += piece.count(b"\n")
    except BaseException:
        file.close()
        raise
    file.seek(0)
    return file, lines


LONGEST_LINE = 1_048_576
"""The maximum bytes of a line, without its line end."""
TOGETHER = 65_536
"""Answers are sent in chunks of this many bytes."""
WHOLE, TOTALS = "whole", "totals"
SHOWN = (WHOLE, TOTALS)
_log = logging.getLogger("framing_quotes.bulk")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a file: its number and its bytes; `whole` is False if it was too long."""

    number: int
    text: bytes
    whole: bool = True


def lines_of(file: IO[bytes]) -> Iterator[Line]:
    """Yield the lines that are not empty; one that is too long is truncated."""
    number = 0
    while piece := file.readline(LONGEST_LINE + 2):
        number += 1
        text = piece.rstrip(b"\r\n")
        if len(text) > LONGEST_LINE:
            while piece and not piece.endswith(b"\n"):
                piece = file.readline(LONGEST_LINE)
            yield Line(number, text[:100], whole=False)
        elif text.strip():
            yield Line(number, text)


@dataclass(frozen=True, slots=True)
class Estimator:
    """Answers lines.

    `basis` finds the basis of prices in a currency, `within` refuses what the caller may not
    request. `weigh` refuses a document that is too large for the caller. `shown` is "whole", or
    "totals" for the totals alone.
    """

    basis: Callable[[str], Basis]
    within: Callable[[Estimate], None]
    shown: str = WHOLE
    costs: bool = False
    weigh: Callable[[QuoteRequest], None] = lambda _: None
    _known: dict[str, RepeatedJobs] = field(default_factory=dict)

    def answer(self, line: Line) -> bytes:
        """Return the line of the answer, with its line end."""
        try:
            return self._estimated(line)
        except DomainError as error:
            told = refused(error).get_data()
        except Exception as error:
            _log.exception("a line of a bulk request failed", exc_info=error)
            told = problem(
                HTTPStatus.INTERNAL_SERVER_ERROR,
                "failed",
                "something went wrong here with this line; it has been noted",
            ).get_data()
        return b'{"line":%d,' % line.number + told[1:] + b"\n"

    def _estimated(self, line: Line) -> bytes:
        if not line.whole:
            raise RequestRefused(
                HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
                "body_too_large",
                f"a line holds at most {LONGEST_LINE} bytes",
            )
        document = read_json(line.text)
        jobs = self._jobs(asked_currency(document))
        request = read_request(document, jobs.basis)
        if request.customer_id:
            told = "a file names no customers of the shop; send such a document by itself"
            raise JobRefused([Fault("/customer_id", "not_allowed", told)])
        if request.coupon:
            told = "a file takes no coupons; send such a document by itself"
            raise JobRefused([Fault("/coupon", "not_allowed", told)])
        self.weigh(request)
        done = jobs.estimate(request)
        self.within(done)
        return encode(self._document(line.number, done, jobs, request)) + b"\n"

    def _jobs(self, currency: str) -> RepeatedJobs:
        found = self._known.get(currency)
        if found is None:
            found = self._known[currency] = RepeatedJobs(self.basis(currency))
        return found

    def _document(
        self, line: int, done: Estimate, jobs: RepeatedJobs, request: QuoteRequest
    ) -> BulkEstimate | BulkTotals:
        if self.shown == TOTALS:
            prices = done.basis.price_list
            return BulkTotals(
                line=line,
                reference=request.reference,
                currency=prices.currency.code,
                price_list=prices.code,
                totals=totals_document(done.totals),
            )
        costs = costs_document(done) if self.costs else UNSET
        whole = estimate_document(done, jobs.documents(request, done), costs)
        return BulkEstimate(
            line=line,
            reference=request.reference,
            currency=whole.currency,
            price_list=whole.price_list,
            jobs=whole.jobs,
            totals=whole.totals,
            costs=whole.costs,
            lines=whole.lines,
            notes=whole.notes,
        )


def together(answers: Iterator[bytes]) -> Iterator[bytes]:
    """Yield the same bytes in larger chunks: sending a chunk costs more than making a line."""
    held: list[bytes] = []
    size = 0
    for one in answers:
        held.append(one)
        size += len(one)
        if size >= TOGETHER:
            yield b"".join(held)
            held, size = [], 0
    if held:
        yield b"".join(held)
