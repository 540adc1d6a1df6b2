"""The content of the owner's page: a few reports, read together, as figures, charts and lists."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from schemas.reports.sales import margins_report, parts_report, sales_report
from schemas.reports.table import Report
from schemas.reports.work import labour_report, overdue_report, spoiled_report
from service.domain.measure.money import Currency
from service.domain.measure.rounding import half_up
from service.domain.prices.book import ShopBook
from service.domain.quotes.life import shop_day
from service.domain.reports import Period, Span, span
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitOfWork
from service.printing.parts.charts import Series, bars, columns

LONGEST_LIST = 10
AHEAD = timedelta(days=27)
SHOWN: dict[str, tuple[Period, int, str]] = {
    "days": ("day", 28, "The last 28 days"),
    "weeks": ("week", 13, "The last 13 weeks"),
    "months": ("month", 12, "The last 12 months"),
}
"""By the word in the address: the period, the number of periods, and the label."""
Shown = dict[str, Any]


def back(shop: Shop, shown: str, now: datetime) -> Span:
    """Return the span of the latest whole periods, including the current one."""
    period, many, _ = SHOWN[shown]
    today = shop_day(shop, now)
    first = today
    for _ in range(many - 1):
        first = _begin(first, period) - timedelta(days=1)
    return span(shop, _begin(first, period), today, period, now)


def _begin(day: date, period: Period) -> date:
    if period == "day":
        return day
    return day.replace(day=1) if period == "month" else day - timedelta(days=day.weekday())


def summary(uow: UnitOfWork, book: ShopBook, shown: str, now: datetime) -> Shown:
    """Return everything on the page."""
    shop, shop_id, figures = book.shop, book.shop_id, uow.figures
    days = back(shop, shown, now)
    ahead = span(shop, days.today, days.today + AHEAD, "day", now)
    sold = figures.sold(shop_id, days.buckets, now)
    made = figures.made(shop_id, days.buckets, now, days.today)
    waiting = figures.open_work(shop_id, now)
    spoiled = figures.spoiled(shop_id, days.buckets[0].start, days.buckets[-1].end)
    sales, margins = sales_report(days, made, sold), margins_report(days, sold)
    labour = labour_report(ahead, waiting, ())
    late = overdue_report({}, days.today, waiting)
    lost = spoiled_report(days, spoiled, lambda _: "")
    parts = parts_report(days, figures.parts(shop_id, days.buckets, now, items=False), items=False)
    items = parts_report(days, figures.parts(shop_id, days.buckets, now, items=True), items=True)
    overdue = list(late.rows)
    return {
        "shop": shop.name,
        "currency": shop.currency,
        "first": days.first.isoformat(),
        "last": days.last.isoformat(),
        "figures": _figures(sales.totals[0], margins.totals[0], late, lost, labour),
        "others": [row for row in sales.totals[1:] if row["made"] or row["sold"]],
        "quotes": _quotes(sales, shop.currency),
        "earned": _earned(margins, shop.currency),
        "bench": _bench(labour),
        "components": _components(parts, shop.currency),
        "sales": [row for row in sales.rows if row["currency"] == shop.currency],
        "items": _top_items(items, book),
        "overdue": overdue[:LONGEST_LIST],
        "overdue_more": max(len(overdue) - LONGEST_LIST, 0),
    }


def _figures(
    sales: Shown, margins: Shown, late: Report, lost: Report, labour: Report
) -> list[tuple[str, str, str]]:
    """Return name, figure and origin of each figure."""
    (overdue,), spoiled, bench = late.totals, lost.totals[0], labour.totals[0]
    return [
        ("Quoted", sales["made_total"], f"{sales['made']} quotes"),
        ("Sold", sales["sold_total"], f"{sales['sold']} accepted"),
        (
            "Conversion",
            _percent(sales["conversion"]),
            f"{sales['accepted']} of {sales['made']} quoted were taken",
        ),
        (
            "Margin",
            _percent(margins["margin"]),
            f"{margins['earned']} earned on {margins['net']} without tax",
        ),
        ("Promised", _hours(bench["due"]), "bench hours in the next four weeks"),
        ("Overdue", str(overdue["tickets"]), "tickets past their promised day"),
        ("Spoiled", spoiled["cost"], f"{spoiled['quantity']} pieces, their material"),
    ]


def _percent(ratio: object) -> str:
    if ratio is None:
        return "–"
    tenths = _tenths(Fraction(str(ratio)) * 100)
    return f"{'-' if tenths < 0 else ''}{abs(tenths) // 10}.{abs(tenths) % 10} %"


def _hours(minutes: object) -> str:
    tenths = _tenths(Fraction(str(minutes)) / 60)
    return f"{tenths // 10}.{tenths % 10} h"


def _tenths(value: Fraction) -> int:
    """Return tenths as an integer, rounded half up."""
    return half_up(value.numerator * 10, value.denominator)


def _of(report: Report, currency: str) -> list[Shown]:
    return [row for row in report.rows if row.get("currency", currency) == currency]


def _values(rows: list[Shown], name: str) -> tuple[Fraction, ...]:
    return tuple(Fraction(row[name]) for row in rows)


def _day(row: Shown) -> str:
    """Return a period's first day as a label: 11-25."""
    return str(row["from"])[5:]


def _quotes(sales: Report, currency: str) -> Any:
    rows = _of(sales, currency)
    return columns(
        f"Quoted and sold, {currency}",
        [_day(row) for row in rows],
        [
            Series("quoted", "two", _values(rows, "made_total")),
            Series("sold", "one", _values(rows, "sold_total")),
        ],
    )


def _earned(margins: Report, currency: str) -> Any:
    rows = _of(margins, currency)
    return columns(
        f"Sold without tax, and what it cost, {currency}",
        [_day(row) for row in rows],
        [
            Series("sold without tax", "one", _values(rows, "net")),
            Series("cost", "over", _values(rows, "cost")),
        ],
    )


def _bench(labour: Report) -> Any:
    rows: list[Shown] = list(labour.rows)
    return columns(
        "Bench minutes promised, and what the bench has",
        [_day(row) for row in rows],
        [
            Series("capacity", "two", _values(rows, "capacity")),
            Series("promised", "one", _values(rows, "due")),
        ],
    )


def _components(parts: Report, currency: str) -> Any:
    sums: dict[str, Fraction] = {}
    for row in _of(parts, currency):
        name = str(row["component"])
        sums[name] = sums.get(name, Fraction(0)) + Fraction(row["net"])
    ranked = sorted(sums.items(), key=lambda each: (-each[1], each[0]))
    rows = [(name, net, Currency(currency).half_up(net).text()) for name, net in ranked]
    return bars(f"Sold by component, without tax, {currency}", rows) if rows else ""


def _top_items(items: Report, book: ShopBook) -> list[Shown]:
    """Return the best-selling items, by money."""
    sums: dict[str, tuple[int, Fraction]] = {}
    for row in _of(items, book.shop.currency):
        if row["item"] is not None:
            quotes, net = sums.get(str(row["item"]), (0, Fraction(0)))
            sums[str(row["item"])] = quotes + int(row["quotes"]), net + Fraction(row["net"])
    ranked = sorted(sums.items(), key=lambda each: (-each[1][1], each[0]))[:LONGEST_LIST]
    known = book.catalogue.items
    return [
        {
            "item": code,
            "description": known[code].description if code in known else "",
            "quotes": quotes,
            "net": Currency(book.shop.currency).half_up(net).text(),
        }
        for code, (quotes, net) in ranked
    ]
