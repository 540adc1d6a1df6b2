"""Many documents, one on each line, each answered on a line of its own.

A line that makes no sense spoils only itself: its answer is the problem document that the document
alone would have got. Every answer begins with the number of its line, from 1.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import IO

import orjson

from schemas.estimates.answer import estimate_document, totals_document
from schemas.quotes.answer import costs_document
from schemas.wire.figures import Json
from service.api.estimates.body import asked_currency, read_request
from service.api.http.body import read_json
from service.api.http.problems import RequestRefused, problem, refused
from service.app.estimates.repeated_jobs import RepeatedJobs
from service.domain.errors import DomainError
from service.domain.estimates.calculation import Basis, Estimate
from service.domain.quotes.life import QuoteRequest

LONGEST_LINE = 1_048_576
"""Bytes of a line, its end left out."""
TOGETHER = 65_536
"""Answers are handed on once they come to so many bytes."""
WHOLE, TOTALS = "whole", "totals"
SHOWN = (WHOLE, TOTALS)
_log = logging.getLogger("framing_quotes.bulk")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a file: its number, and its bytes; `whole` is false where it was too long."""

    number: int
    text: bytes
    whole: bool = True


def lines_of(file: IO[bytes]) -> Iterator[Line]:
    """The lines that are not empty; of one that is too long only the beginning is kept."""
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

    `basis` finds what prices in a currency rest on, `within` refuses what the caller may not ask.
    `weigh` refuses a document that is too much for the caller. `shown` is "whole", or "totals" for
    the totals alone.
    """

    basis: Callable[[str], Basis]
    within: Callable[[Estimate], None]
    shown: str = WHOLE
    costs: bool = False
    weigh: Callable[[QuoteRequest], None] = lambda _: None
    _known: dict[str, RepeatedJobs] = field(default_factory=dict)

    def answer(self, line: Line) -> bytes:
        """The line of the answer, with its end."""
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
        self.weigh(request)
        done = jobs.estimate(request)
        self.within(done)
        head: Json = {"line": line.number, "reference": request.reference}
        told = head | self._document(done, jobs, request)
        return orjson.dumps(told, option=orjson.OPT_APPEND_NEWLINE)

    def _jobs(self, currency: str) -> RepeatedJobs:
        found = self._known.get(currency)
        if found is None:
            found = self._known[currency] = RepeatedJobs(self.basis(currency))
        return found

    def _document(self, done: Estimate, jobs: RepeatedJobs, request: QuoteRequest) -> Json:
        if self.shown == TOTALS:
            prices = done.basis.price_list
            return {
                "currency": prices.currency.code,
                "price_list": prices.code,
                "totals": totals_document(done.totals),
            }
        document = estimate_document(done, jobs.documents(request, done))
        if self.costs:
            document["costs"] = costs_document(done)
        return document


def together(answers: Iterator[bytes]) -> Iterator[bytes]:
    """The same bytes in larger pieces: a piece on the network costs more than a line does."""
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
