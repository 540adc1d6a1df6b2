"""Lists: their filters, their opaque cursor, and the link to the next page (RFC 8288)."""

from __future__ import annotations

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from http import HTTPStatus
from urllib.parse import quote
from zoneinfo import ZoneInfo

from flask import Response, request
from werkzeug.urls import iri_to_uri

from schemas.quotes.records import QuoteFilter
from schemas.wire.figures import instant
from schemas.wire.page import Cursor
from schemas.wire.record import Record
from service.api.http.answers import answer
from service.api.http.problems import RequestRefused
from service.domain.errors import BadValue
from service.domain.quotes.life import STATUSES
from service.domain.quotes.search import sought_in_quotes
from service.domain.shop import Shop
from service.domain.text import hidden_in

USUAL, MOST = 50, 200
_INSTANT = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(\.\d{1,6})?([Zz]|[+-]\d{2}:\d{2})", re.ASCII
)
_ID, CODE = re.compile(r"[0-9a-f-]{36}"), re.compile(r"[^\x00-\x1f\x7f]{1,40}")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MOMENTS = ("updated_since", "created_from", "created_to")
QUOTE_FILTERS = ("limit", "cursor", "status", "reference", *_MOMENTS, "q")


@dataclass(frozen=True, slots=True)
class Wanted:
    """The filters of a request for a list of quotes."""

    filter: QuoteFilter
    limit: int
    after: Cursor | None


def wanted_of(shop: Shop) -> Wanted:
    """Return the filters in the parameters; a plain date is the start of that day in the shop.

    Raises:
        RequestRefused: 400, naming the invalid parameter.
    """
    given = request.args
    moments = {name: moment(given.get(name), name, shop) for name in _MOMENTS}
    status, reference = one_of("status", STATUSES), given.get("reference")
    parts = searched(sought_in_quotes)
    wanted = QuoteFilter(status=status, reference=reference, q=parts, **moments)
    return Wanted(wanted, limit(), cursor())


def check_parameters(known: Collection[str]) -> None:
    """Check that each query parameter is known, given once and free of invisible characters.

    Raises:
        RequestRefused: 400, naming one that is not.
    """
    if not request.environ.get("QUERY_STRING"):
        return
    for name, text in request.args.items(multi=True):
        if name not in known:
            takes = f"it takes {', '.join(known)}" if known else "it takes none"
            raise bad_parameter(name, f"{name[:40]} is not a parameter of this address; {takes}")
        hidden = hidden_in(text)
        if hidden is not None:
            raise bad_parameter(name, hidden.told)
    for name, texts in request.args.lists():
        if len(texts) > 1:
            raise bad_parameter(name, "this stands twice; which is meant?")


def one_of(name: str, words: Sequence[str]) -> str | None:
    """Return a parameter that must be one of a few words, if it is given.

    Raises:
        RequestRefused: 400, it is another word.
    """
    word = request.args.get(name)
    if word is not None and word not in words:
        raise bad_parameter(name, f"a {name} is one of {', '.join(words)}")
    return word


def searched(parts_of: Callable[[str], tuple[str, ...]]) -> tuple[str, ...]:
    """Return the parts that `q` asks for, as `parts_of` reads it; none if it is not given.

    Raises:
        RequestRefused: 400, it is too short.
    """
    text = request.args.get("q")
    if text is None:
        return ()
    try:
        return parts_of(text)
    except BadValue as wrong:
        raise bad_parameter("q", wrong.message) from wrong


def limit() -> int:
    """Return the page size.

    Raises:
        RequestRefused: 400, it is not a number in the allowed range.
    """
    text = request.args.get("limit")
    if text is None:
        return USUAL
    wanted = whole_number(text, MOST)
    if wanted is None:
        raise bad_parameter("limit", f"a page holds 1 to {MOST}")
    return wanted


def whole_number(text: str, most: int) -> int | None:
    """Return the number in a parameter, from 1 to `most`; None if it is not one."""
    if not re.fullmatch(r"[0-9]{1,9}", text) or not 1 <= int(text) <= most:
        return None
    return int(text)


def cursor(last: re.Pattern[str] = _ID) -> Cursor | None:
    """Return where the page starts, or None for the first page.

    Args:
        last: what the list orders by within an instant; ids, if nothing is given.

    Raises:
        RequestRefused: 400, it is not a cursor of such a list.
    """
    return _cursor(request.args.get("cursor"), last)


def page_answer(
    rows: Sequence[object], after: Cursor | None, kind: type[Record] | None = None, **more: object
) -> Response:
    """Return a page of a list, with a link to the next one if there is one."""
    return page(rows, None if after is None else _cursor_text(after), kind=kind, **more)


def until(last: datetime | None) -> str | None:
    """Return where a poller for later changes continues; None if nothing ever changed."""
    return None if last is None else instant(last)


def page(
    rows: Sequence[object], cursor: str | None, kind: type[Record] | None = None, **more: object
) -> Response:
    """Return a page of any list, with a link to the page at `cursor` if there is one.

    Args:
        rows: the page.
        cursor: where the next page starts, None on the last one.
        kind: the record of the whole page.
        more: further fields of the answer.
    """
    fields = {"items": tuple(rows), "next": cursor, **more}
    document = kind(**fields) if kind else fields
    if cursor is None:
        return answer(document)
    parameters = {**request.args.to_dict(), "cursor": cursor}
    query = "&".join(f"{name}={_quoted(value)}" for name, value in parameters.items())
    link = f'<{iri_to_uri(request.path)}?{query}>; rel="next"'
    return answer(document, headers={"Link": link})


def _quoted(value: str) -> str:
    return quote(value, safe="")


def bad_parameter(name: str, detail: str) -> RequestRefused:
    """Return the refusal of an invalid parameter."""
    return RequestRefused(HTTPStatus.BAD_REQUEST, "bad_parameter", detail, parameter=name)


def not_a_cursor() -> RequestRefused:
    """Return the refusal of a cursor."""
    told = "this is not a cursor of this list; take it from next of the page before"
    return bad_parameter("cursor", told)


def moment(text: str | None, name: str, shop: Shop) -> datetime | None:
    """Return an instant, or the first moment of a day in the shop.

    Raises:
        RequestRefused: 400, it is neither.
    """
    if text is None:
        return None
    try:
        if _DATE.fullmatch(text):
            zone = ZoneInfo(shop.time_zone)
            day = datetime.combine(date.fromisoformat(text), time(), tzinfo=zone)
            return day.astimezone(UTC)
        if _INSTANT.fullmatch(text.replace(" ", "+")):  # a plus sign that was sent unescaped
            return datetime.fromisoformat(text.replace(" ", "+").upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise bad_parameter(name, "write an instant as 2026-11-25T18:00:00Z or a day as 2026-11-25")


def _cursor_text(after: Cursor) -> str:
    text = f"{after.created_at.isoformat()} {after.id}"
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _cursor(text: str | None, named: re.Pattern[str]) -> Cursor | None:
    if text is None:
        return None
    try:
        padded = text + "=" * (-len(text) % 4)
        made, _, last = urlsafe_b64decode(padded.encode("ascii")).decode().partition(" ")
        at = datetime.fromisoformat(made)
        if at.tzinfo is not None and named.fullmatch(last):
            return Cursor(at.astimezone(UTC), last)
    except (ValueError, OverflowError):
        pass
    raise not_a_cursor()
