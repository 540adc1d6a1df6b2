"""Sums for reports are found by an index: what a day's report reads goes by that day alone."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import Engine, event, text

from service.demo import demo_shop
from service.domain.reports import Bucket, span
from service.persistence.unit_of_work import UnitsOfWork
from tests.api.demo_copies import START


def _day() -> tuple[Bucket, ...]:
    day = date(2026, 11, 25)
    return span(demo_shop(), day, day, "day", START).buckets


@pytest.mark.parametrize(
    "what", ["made", "sold", "parts", "materials", "cut", "spoiled", "done_work"]
)
def test_a_day_is_found_by_an_index(engine: Engine, units: UnitsOfWork, what: str) -> None:
    seen: list[tuple[str, object]] = []

    def note(*arguments: object) -> None:
        seen.append((str(arguments[2]), arguments[3]))

    event.listen(engine, "before_cursor_execute", note)
    with units.reading() as uow:
        figures, day = uow.figures, _day()
        if what == "made":
            figures.made("shop", day, START, START.date())
        elif what in ("sold", "materials", "cut"):
            getattr(figures, what)("shop", day, START)
        elif what == "parts":
            figures.parts("shop", day, START, items=True)
        else:
            getattr(figures, what)("shop", day[0].start, day[0].end)
    event.remove(engine, "before_cursor_execute", note)
    statements = [one for one in seen if "SELECT" in one[0]]
    assert statements
    with engine.connect() as connection:
        sqlite = engine.dialect.name == "sqlite"
        if not sqlite:  # an empty table is read whole unless that is ruled out
            connection.execute(text("SET enable_seqscan = off"))
        explain = "EXPLAIN QUERY PLAN" if sqlite else "EXPLAIN"
        for statement, values in statements:
            rows = connection.exec_driver_sql(f"{explain} {statement}", values).all()
            plan = " ".join(str(cell) for row in rows for cell in row)
            for table in (
                "quotes",
                "sales",
                "spoilages",
                "cut_tickets",
                "sale_parts",
                "plan_items",
            ):
                assert f"SCAN {table}" not in plan, plan
                assert f"Seq Scan on {table}" not in plan, plan
