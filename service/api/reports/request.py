"""The parameters of a report: its days, periods, instant, and the form of the answer."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

from flask import Response, request

from schemas.reports.table import Report, RowT, TotalT, csv_lines, report_document
from schemas.wire.figures import instant
from service.api.http.answers import answer
from service.api.http.context import wiring
from service.api.http.negotiation import CSV_FORM, JSON_FORM, REPORT_FORMS, form_wanted, varies
from service.api.http.paging import bad_parameter, moment, one_of
from service.domain.errors import BadValue
from service.domain.quotes.life import shop_day
from service.domain.reports import PERIODS, Period, Span, span
from service.domain.shop import Shop

BOM = "bom"
SPAN = ("from", "to", "period", "as_of", BOM)
"""The parameters of a report on a span of days."""
FIRST_DAY, LAST_DAY = date(1, 1, 3), date(9999, 11, 30)
"""The calendar, less the margin for a zone's offset and the end of a month or week."""
WEEKS = timedelta(days=27)
"""The default horizon of reports on coming work: four weeks."""
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


def report_form() -> str:
    """Return the caller's preferred form; JSON if several are equally acceptable.

    Raises:
        RequestRefused: 406, no available form is acceptable.
    """
    return form_wanted(REPORT_FORMS)


def asked_span(shop: Shop, usual: Period, *, ahead: bool = False) -> Span:
    """Return the requested days: this month so far, or with `ahead` the next four weeks.

    Raises:
        RequestRefused: 400, naming the invalid parameter.
    """
    given = request.args
    as_of = asked_instant(shop)
    today = shop_day(shop, as_of)
    first, last = _day(given.get("from"), "from"), _day(given.get("to"), "to")
    if first is None:
        first = max(FIRST_DAY, today if ahead else (last or today).replace(day=1))
    if last is None:
        last = max(first, today)
        last += min(WEEKS, LAST_DAY - last) if ahead else timedelta(0)
    period = next((p for p in PERIODS if p == one_of("period", PERIODS)), usual)
    try:
        return span(shop, first, last, period, as_of)
    except BadValue as wrong:
        raise bad_parameter(wrong.where.lstrip("/"), wrong.message) from None


def asked_instant(shop: Shop) -> datetime:
    """Return the instant as of which the figures are requested; now by default.

    Raises:
        RequestRefused: 400, it is invalid or in the future.
    """
    now = wiring().clock()
    asked = moment(request.args.get("as_of"), "as_of", shop)
    if asked is None:
        return now
    if asked > now:
        raise bad_parameter("as_of", "nobody knows yet how things will be then")
    if asked.date() < FIRST_DAY:
        raise bad_parameter("as_of", f"reports know the days from {FIRST_DAY} on")
    return asked


def _day(text: str | None, name: str) -> date | None:
    if text is None:
        return None
    try:
        if _DATE.fullmatch(text):
            day = date.fromisoformat(text)
            if FIRST_DAY <= day <= LAST_DAY:
                return day
            raise bad_parameter(name, f"reports know the days from {FIRST_DAY} to {LAST_DAY}")
    except ValueError:
        pass
    raise bad_parameter(name, "write a day as 2026-11-25")


def instant_head(shop: Shop, as_of: datetime) -> dict[str, str]:
    """Return the heading of a report that has an instant and no days."""
    return {"time_zone": shop.time_zone, "as_of": instant(as_of)}


def report_answer(report: Report[RowT, TotalT], form: str) -> Response:
    """Return a report in the requested form; CSV is streamed."""
    bom = one_of(BOM, ("no", "yes")) == "yes"
    if form == JSON_FORM:
        return varies(answer(report_document(report)))
    days = [report.head[name] for name in ("first", "last") if name in report.head]
    name = "-".join([report.kind.name, *days])
    headers = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    lines = csv_lines(report, bom=bom)
    made = Response(lines, content_type=f"{CSV_FORM}; charset=utf-8", headers=headers)
    return varies(made)
