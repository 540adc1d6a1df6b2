"""The content of the owner's page: a few reports, read together, as figures, charts and lists."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from schemas.reports.sales import (
    MarginsRow,
    MarginsTotals,
    SalesRow,
    SalesTotals,
    margins_report,
    sales_report,
)
from schemas.reports.sold import ComponentRow, ItemRow, components_report, items_report
from schemas.reports.work import (
    LabourRow,
    LabourTotals,
    OverdueTotals,
    SpoiledTotals,
    labour_report,
    overdue_report,
    spoiled_report,
)
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
    parts = components_report(days, figures.parts(shop_id, days.buckets, now, items=False))
    items = items_report(days, figures.parts(shop_id, days.buckets, now, items=True))
    sales_rows = [row for row in sales.rows if row.currency == shop.currency]
    overdue = list(late.rows)
    return {
        "shop": shop.name,
        "currency": shop.currency,
        "first": days.first.isoformat(),
        "last": days.last.isoformat(),
        "figures": _figures(
            sales.totals[0], margins.totals[0], late.totals[0], lost.totals[0], labour.totals[0]
        ),
        "others": [row for row in sales.totals[1:] if row.made or row.sold],
        "quotes": _quotes(sales_rows, shop.currency),
        "earned": _earned(
            [row for row in margins.rows if row.currency == shop.currency], shop.currency
        ),
        "bench": _bench(list(labour.rows)),
        "components": _components(
            [row for row in parts.rows if row.currency == shop.currency], shop.currency
        ),
        "sales": sales_rows,
        "items": _top_items([row for row in items.rows if row.currency == shop.currency], book),
        "overdue": overdue[:LONGEST_LIST],
        "overdue_more": max(len(overdue) - LONGEST_LIST, 0),
    }


def _figures(
    sales: SalesTotals,
    margins: MarginsTotals,
    overdue: OverdueTotals,
    spoiled: SpoiledTotals,
    bench: LabourTotals,
) -> list[tuple[str, str, str]]:
    """Return name, figure and origin of each figure."""
    return [
        ("Quoted", sales.made_total, f"{sales.made} quotes"),
        ("Sold", sales.sold_total, f"{sales.sold} accepted"),
        (
            "Conversion",
            _percent(sales.conversion),
            f"{sales.accepted} of {sales.made} quoted were taken",
        ),
        (
            "Margin",
            _percent(margins.margin),
            f"{margins.earned} earned on {margins.net} without tax",
        ),
        ("Promised", _hours(bench.due), "bench hours in the next four weeks"),
        ("Overdue", str(overdue.tickets), "tickets past their promised day"),
        ("Spoiled", spoiled.cost, f"{spoiled.quantity} pieces, their material"),
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


def _day(row: SalesRow | MarginsRow | LabourRow) -> str:
    """Return a period's first day as a label: 11-25."""
    return row.first[5:]


def _quotes(rows: list[SalesRow], currency: str) -> Any:
    return columns(
        f"Quoted and sold, {currency}",
        [_day(row) for row in rows],
        [
            Series("quoted", "two", tuple(Fraction(row.made_total) for row in rows)),
            Series("sold", "one", tuple(Fraction(row.sold_total) for row in rows)),
        ],
    )


def _earned(rows: list[MarginsRow], currency: str) -> Any:
    return columns(
        f"Sold without tax, and what it cost, {currency}",
        [_day(row) for row in rows],
        [
            Series("sold without tax", "one", tuple(Fraction(row.net) for row in rows)),
            Series("cost", "over", tuple(Fraction(row.cost) for row in rows)),
        ],
    )


def _bench(rows: list[LabourRow]) -> Any:
    return columns(
        "Bench minutes promised, and what the bench has",
        [_day(row) for row in rows],
        [
            Series("capacity", "two", tuple(Fraction(row.capacity) for row in rows)),
            Series("promised", "one", tuple(Fraction(row.due) for row in rows)),
        ],
    )


def _components(parts: list[ComponentRow], currency: str) -> Any:
    sums: dict[str, Fraction] = {}
    for row in parts:
        sums[row.component] = sums.get(row.component, Fraction(0)) + Fraction(row.net)
    ranked = sorted(sums.items(), key=lambda each: (-each[1], each[0]))
    rows = [(name, net, Currency(currency).half_up(net).text()) for name, net in ranked]
    return bars(f"Sold by component, without tax, {currency}", rows) if rows else ""


def _top_items(items: list[ItemRow], book: ShopBook) -> list[Shown]:
    """Return the best-selling items, by money."""
    sums: dict[str, tuple[int, Fraction]] = {}
    for row in items:
        if row.item is not None:
            quotes, net = sums.get(row.item, (0, Fraction(0)))
            sums[row.item] = quotes + row.quotes, net + Fraction(row.net)
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
