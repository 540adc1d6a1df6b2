"""`POST /v1/estimates/bulk`: a file of documents worked out, one answer a line (NDJSON).

The body is taken in before the first answer goes out, on disk beyond a megabyte: a caller that
sends everything before it reads anything would otherwise wait for a service that waits for it. What
is held in memory does not grow with the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from http import HTTPStatus
from tempfile import SpooledTemporaryFile

from flask import Blueprint, Response, request

from service.api.estimates.bulk_lines import SHOWN, WHOLE, Estimator, lines_of, together
from service.api.http.context import principal
from service.api.http.paging import one_of, parameters
from service.api.http.problems import RequestRefused
from service.api.http.rates import admit_more, per_minute_of, take_more
from service.api.http.wired import wiring
from service.app.estimates.calculation import basis_on, within_limits
from service.app.keys.access import Principal
from service.app.shop import PARTS_A_REQUEST, parts_of, within_parts
from service.domain.quotes.life import QuoteRequest, shop_day

part = Blueprint("bulk_estimates", __name__)
NDJSON = "application/x-ndjson"
TYPES = (NDJSON, "application/ndjson", "application/jsonl")
IN_MEMORY = 1_048_576
AT_A_TIME = 262_144
LINES_AT_LEAST = 1_000
"""Any key may send so many lines at once."""
LINES_A_REQUEST = 2
"""So many lines count as one request of the key, as they cost about as much processor time."""


@part.post("/v1/estimates/bulk")
def bulk() -> Response:
    """Work out a document on each line."""
    asks = principal("price", "counter")
    parameters("show")
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
        _within_a_minute(asks, lines)
        admit_more(asks, request.environ, -(-lines // LINES_A_REQUEST) - 1)
        book = wired.shelf.book(asks.shop_id)
    except BaseException:
        file.close()
        raise
    day = shop_day(book.shop, wired.clock())
    work = Estimator(
        basis=partial(basis_on, book, day),
        within=partial(within_limits, principal=asks),
        shown=shown,
        costs=asks.sees_costs,
        weigh=BulkWork(asks, lines * PARTS_A_REQUEST // LINES_A_REQUEST),
    )

    def answers() -> Iterator[bytes]:
        with file:  # closed at the end of the answer, and by its close where it is broken off
            yield from together(work.answer(line) for line in lines_of(file))

    made = Response(answers(), content_type=NDJSON)
    made.call_on_close(file.close)
    return made


class BulkWork:
    """What the lines of a file may take: what its key has paid for, and more as it goes on.

    The lines were counted as requests by their number. Those that have many windows are more than
    that pays for, and then take further requests of the key, line by line.
    """

    def __init__(self, asks: Principal, parts: int) -> None:
        self._asks = asks
        self._left = parts
        self._wired = wiring()

    def __call__(self, asked: QuoteRequest) -> None:
        """Count the parts of a line.

        Raises:
            JobRefused: it has more parts than the key may send in one document.
            RequestRefused: 429, where the key has not so many requests left.
        """
        parts = parts_of(asked.jobs)
        within_parts(parts, self._asks)
        requests = -(-(parts - self._left) // PARTS_A_REQUEST)
        if requests > 0:
            take_more(self._wired, self._asks, requests)
            self._left += requests * PARTS_A_REQUEST
        self._left -= parts


def _within_a_minute(asks: Principal, lines: int) -> None:
    """Go on only if a key that only prices sends no more lines than it may in a minute.

    Raises:
        RequestRefused: 413, where it does; the shop's own keys may.
    """
    per_minute = per_minute_of(wiring(), asks)
    most = max(LINES_A_REQUEST * per_minute, LINES_AT_LEAST)
    if per_minute and lines > most and not asks.may("counter"):
        raise RequestRefused(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            "body_too_large",
            f"this key may send {most} lines at once; send the file in parts",
        )


def _taken_in() -> tuple[SpooledTemporaryFile[bytes], int]:
    """The body, and how many lines it has.

    Raises:
        RequestEntityTooLarge: it is longer than such a body may be.
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
