"""`/v1/events`: changes, in an order that a reader with a cursor can rely on."""

from __future__ import annotations

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from urllib.parse import urlencode

from flask import Blueprint, Response, request, url_for

from schemas.events.feed import EventList, event_document
from schemas.events.records import FEED_START, EventFilter, EventPlace
from service.api.http.answers import answer
from service.api.http.context import wiring
from service.api.http.operation import Call, Operation
from service.api.http.paging import bad_parameter, not_a_cursor, whole_number

bp = Blueprint("events", __name__)
USUAL, MOST = 100, 1_000
FILTERS = ("kind", "subject_id")
_PLACE = re.compile(r"([0-9]{1,19})\.([0-9]{1,19})", re.ASCII)
_LARGEST = (1 << 63) - 1


@bp.get("/v1/events")
@Operation(scopes=("counter", "reports"), parameters=("limit", "cursor", *FILTERS))
def listed(call: Call) -> Response:
    """Return the shop's events after the cursor, oldest first.

    `next` is always present: at the end of the feed it is where to continue later.
    """
    principal = call.principal
    wanted = EventFilter(**{name: request.args.get(name) for name in FILTERS})
    limit, after = _limit(), _after()
    with wiring().units.following() as uow:
        page = uow.events.page(principal.shop_id, wanted, limit, after)
    audit = principal.may("admin")
    rows = tuple(event_document(stored, audit=audit) for stored in page.events)
    cursor = cursor_text(page.after)
    headers = {"Link": _link(cursor)} if page.more else {}
    return answer(EventList(rows, cursor, page.more), headers=headers)


def cursor_text(place: EventPlace) -> str:
    """Return a place in the feed as an opaque cursor."""
    if place == FEED_START:
        return _written("0.0")
    return _written(f"{place.turn}.{place.id}")


def read_cursor(text: str) -> EventPlace:
    """Return the place that a cursor stands for.

    Raises:
        RequestRefused: 400 if it is not a cursor of this list.
    """
    try:
        raw = urlsafe_b64decode((text + "=" * (-len(text) % 4)).encode("ascii")).decode("ascii")
    except ValueError:
        raw = ""
    found = _PLACE.fullmatch(raw)
    if found is None or max(int(found[1]), int(found[2])) > _LARGEST:
        raise not_a_cursor()
    return EventPlace(int(found[1]), int(found[2]))


def _written(text: str) -> str:
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _after() -> EventPlace:
    text = request.args.get("cursor")
    return FEED_START if text is None else read_cursor(text)


def _limit() -> int:
    text = request.args.get("limit", str(USUAL))
    limit = whole_number(text, MOST)
    if limit is None:
        raise bad_parameter("limit", f"a page holds 1 to {MOST}")
    return limit


def _link(cursor: str) -> str:
    parameters = {**request.args.to_dict(), "cursor": cursor}
    return f'<{url_for("events.listed")}?{urlencode(parameters)}>; rel="next"'
