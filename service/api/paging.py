"""Lists: their filters, their opaque cursor, and the link to the next page (RFC 8288)."""

from __future__ import annotations

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from http import HTTPStatus
from urllib.parse import quote
from zoneinfo import ZoneInfo

from flask import Response, request
from werkzeug.datastructures import MultiDict
from werkzeug.urls import iri_to_uri

from schemas.figures import Json
from service.api.answers import answer
from service.api.asking import only_parameters
from service.api.problems import RequestRefused
from service.app.records import Cursor, QuoteFilter
from service.domain.quote import STATUSES
from service.domain.shop import Shop

USUAL, MOST = 50, 200
_INSTANT = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(\.\d{1,6})?([Zz]|[+-]\d{2}:\d{2})", re.ASCII
)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MOMENTS = ("updated_since", "created_from", "created_to")
_KNOWN = ("limit", "cursor", "status", "reference", *_MOMENTS)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a request wants of a list of quotes."""

    filter: QuoteFilter
    limit: int
    after: Cursor | None


def wanted_of(shop: Shop) -> Wanted:
    """What the request's parameters say; a plain date is the start of that day in the shop.

    Raises:
        RequestRefused: 400, naming the parameter that makes no sense.
    """
    only_parameters(*_KNOWN)
    given: MultiDict[str, str] = request.args
    for name in given:
        if len(given.getlist(name)) > 1:
            raise _bad(name, "this stands twice; which is meant?")
    status = given.get("status")
    if status is not None and status not in STATUSES:
        raise _bad("status", f"a status is one of {', '.join(STATUSES)}")
    reference = given.get("reference")
    if reference is not None and "\0" in reference:
        raise _bad("reference", "no reference has such a character in it")
    moments = {name: _moment(given.get(name), name, shop) for name in _MOMENTS}
    wanted = QuoteFilter(status=status, reference=reference, **moments)
    return Wanted(wanted, _limit(given.get("limit")), _cursor(given.get("cursor")))


def page_answer(rows: list[Json], after: Cursor | None) -> Response:
    """A page of a list, with the link to the next one where there is one."""
    if after is None:
        return answer({"items": rows, "next": None})
    cursor = _cursor_text(after)
    parameters = {**request.args.to_dict(), "cursor": cursor}
    query = "&".join(f"{name}={_quoted(value)}" for name, value in parameters.items())
    link = f'<{iri_to_uri(request.path)}?{query}>; rel="next"'
    return answer({"items": rows, "next": cursor}, headers={"Link": link})


def _quoted(value: str) -> str:
    return quote(value, safe="")


def _bad(name: str, detail: str) -> RequestRefused:
    return RequestRefused(HTTPStatus.BAD_REQUEST, "bad_parameter", detail, parameter=name)


def _limit(text: str | None) -> int:
    if text is None:
        return USUAL
    if not re.fullmatch(r"[0-9]{1,4}", text) or not 1 <= int(text) <= MOST:
        raise _bad("limit", f"a page holds 1 to {MOST}")
    return int(text)


def _moment(text: str | None, name: str, shop: Shop) -> datetime | None:
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
    raise _bad(name, "write an instant as 2026-11-25T18:00:00Z or a day as 2026-11-25")


def _cursor_text(after: Cursor) -> str:
    text = f"{after.created_at.isoformat()} {after.id}"
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _cursor(text: str | None) -> Cursor | None:
    if text is None:
        return None
    try:
        padded = text + "=" * (-len(text) % 4)
        moment, _, last = urlsafe_b64decode(padded.encode("ascii")).decode("ascii").partition(" ")
        at = datetime.fromisoformat(moment)
        if at.tzinfo is not None and re.fullmatch(r"[0-9a-f-]{36}", last):
            return Cursor(at.astimezone(UTC), last)
    except (ValueError, OverflowError):
        pass
    raise _bad("cursor", "this is not a cursor of this list; take it from next of the page before")
