"""A shop of 100,000 quotes: every list, look-up and feed goes by an index, in few statements.

The shop and the questions are those of `tests.bench.many_quotes`, which measures a million.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import Connection, event, text

from tests.bench.many_quotes import Shop, filled, questions
from tests.databases import new_database

MANY = 100_000
SORTED = {
    "changed since yesterday",
    "feed, a kind there is none of",
    "one day's report",
    "one day's margins",
}
"""Found by one index and then sorted: a day's changes and sales are few, and a rare kind of event
is looked for a stretch of a few thousand at a time."""
MOST_STATEMENTS = 8
ASKED = re.compile(r"\s*(SELECT|WITH).*\b(quotes|events|sales|sale_parts)\b", re.DOTALL)
Statement = tuple[str, Any]


@pytest.fixture(
    scope="module", params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]
)
def shop(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Shop]:
    folder = tmp_path_factory.mktemp("many")
    if request.param == "sqlite":
        made = filled(folder, MANY, revisions=False)
        yield made
        made.wiring.close()
        return
    with new_database(request.getfixturevalue("postgres_server")) as url:
        made = filled(folder, MANY, url, revisions=False)
        yield made
        made.wiring.close()


def _statements(shop: Shop, question: str) -> list[Statement]:
    """What an answer asks of the database, once the caches are warm."""
    seen: list[Statement] = []

    def note(*arguments: Any) -> None:
        seen.append((arguments[2], arguments[3]))

    shop.client.get(shop.path(question))
    event.listen(shop.wiring.engine, "before_cursor_execute", note)
    try:
        answer = shop.client.get(shop.path(question))
        assert answer.status_code in (
            200,
            404,
        )  # what has no documents here is looked up all the same
    finally:
        event.remove(shop.wiring.engine, "before_cursor_execute", note)
    return seen


def _plan(connection: Connection, statement: Statement) -> str:
    how = "EXPLAIN QUERY PLAN " if connection.dialect.name == "sqlite" else "EXPLAIN "
    rows = connection.exec_driver_sql(how + statement[0], statement[1]).all()
    return "\n".join(str(row[-1]) for row in rows)


def _walks(plan: str) -> list[str]:
    """The steps that look at a whole table of what grows."""
    grows = r"(?:quotes|events|sales|sale_parts)\b"
    return re.findall(rf"SCAN {grows}|Seq Scan on {grows}", plan)


@pytest.mark.parametrize("name", questions(MANY))
def test_it_goes_by_an_index(shop: Shop, name: str) -> None:
    statements = _statements(shop, questions(MANY)[name])
    asked = [each for each in statements if ASKED.match(each[0])]
    assert asked
    assert len(statements) <= MOST_STATEMENTS
    with shop.wiring.engine.connect() as connection:
        for statement in asked:
            plan = _plan(connection, statement)
            assert _walks(plan) == [], plan
            if name not in SORTED and "cut_tickets" not in statement[0]:
                assert "TEMP B-TREE" not in plan, plan
                assert "Sort" not in plan, plan


def test_in_sqlite_both_parts_of_a_place_in_the_feed_are_looked_up(shop: Shop) -> None:
    if shop.wiring.engine.dialect.name != "sqlite":
        pytest.skip("PostgreSQL looks up both in one condition")
    (page,) = (s for s in _statements(shop, questions(MANY)["feed, deep page"]) if "events" in s[0])
    with shop.wiring.engine.connect() as connection:
        assert "turn=? AND id>?" in _plan(connection, page)


def test_a_walk_would_be_seen(shop: Shop) -> None:
    with shop.wiring.engine.connect() as connection:
        plan = _plan(connection, ("SELECT count(total_minor) FROM quotes", ()))
        assert _walks(plan) or "Seq Scan on quotes" in plan
        assert connection.execute(text("SELECT count(*) FROM quotes")).scalar_one() == MANY + 1


def test_pages_follow_each_other_without_gap_or_repetition(shop: Shop) -> None:
    path, serials = "/v1/quotes?limit=200", list[str]()
    for _ in range(5):
        page = shop.client.get(path).json
        serials += [row["id"] for row in page["items"]]
        path = f"/v1/quotes?limit=200&cursor={page['next']}"
    assert len(serials) == len(set(serials)) == 1_000
    assert serials[1:] == sorted(serials[1:], reverse=True)
    path, told = f"{shop.path(questions(MANY)['feed, deep page'])}&limit=500", list[int]()
    for _ in range(3):
        page = shop.client.get(path).json
        told += [int(row["id"]) for row in page["items"]]
        path = f"/v1/events?limit=500&cursor={page['next']}"
    assert told == list(range(told[0], told[0] + 1_500))
