"""What lists, look-ups and the change feed cost with ten thousand quotes, and with a million.

    python -m tests.bench.many_quotes [MANY] [sqlite|postgres]

fills a shop with 10,000 and with MANY quotes (a million by default), asks the service the same
things of both over HTTP's test client, and prints the times and their ratio, which is to be at
most 1.5. Quotes are seeded and invented. Their heads and events are as they would be; one in
`WHOLE_EVERY` has the documents of a real quote, the others next to none, so that a million fit.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from sqlalchemy import Connection, Engine, Table, select, text, update

from service.api.application import create_app
from service.domain.quotes.numbers import FIRST_SERIAL, quote_number
from service.persistence.events.tables import events
from service.persistence.quotes import quote_revisions, quotes
from service.persistence.reports.facts import sales
from service.persistence.shop import counters
from service.persistence.sql.engine import open_engine
from service.settings import Settings
from service.wiring import wire
from tests.bench.servers import postgres
from tests.bench.shops import documents, prepared

END = datetime(2026, 11, 25, 12, tzinfo=UTC)
A_DAY = 100
"""As many quotes a day in both shops, so that one day is as much work in both."""
FEW = 10_000
WHOLE_EVERY = 500
BATCH = 5_000
TIMES = 60
STATUSES = ("issued",) * 4 + ("done",) * 11 + ("declined",) * 3 + ("draft", "accepted")
SOLD = ("done", "accepted")
MOST_RATIO = 1.5
_INSTANT = "%Y-%m-%dT%H:%M:%S.%fZ"
_TINY = b"{}"


class Filling:
    """Rows of a shop, the same for the same seed."""

    def __init__(self, engine: Engine, many: int, seed: int = 1) -> None:
        self._engine, self._many, self._dice = engine, many, Random(seed)
        self._statuses = Random(seed).choices(STATUSES, k=1_009)
        with engine.connect() as connection:
            self._model = connection.execute(select(quotes)).one()._asdict()
            self._whole = connection.execute(select(quote_revisions)).one()._asdict()

    def fill(self, *, revisions: bool = True) -> None:
        """Store them, besides the one quote that is there as a model."""
        tables = [(quotes, self._quotes), (events, self._events), (sales, self._sales)]
        if revisions:
            tables.insert(1, (quote_revisions, self._revisions))
        for table, rows in tables:
            with self._engine.begin() as connection:
                _store(connection, table, rows())
        with self._engine.begin() as connection:
            last = FIRST_SERIAL + self._many
            mine = counters.c.shop_id == self._model["shop_id"]
            series = counters.c.series == "quote"
            connection.execute(update(counters).where(mine, series).values(last_value=last))
        with self._engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            if self._engine.dialect.name == "postgresql":
                connection.execute(text("SET statement_timeout = 0"))
                connection.execute(text("VACUUM ANALYZE"))

    def _moment(self, number: int) -> datetime:
        return moment(number, self._many)

    def _quotes(self) -> Iterator[dict[str, Any]]:
        for number in range(1, self._many + 1):
            made = self._moment(number)
            changed = made + timedelta(minutes=self._dice.randrange(20 * 24 * 60))
            yield {
                **self._model,
                "id": _id(number),
                "serial": FIRST_SERIAL + number,
                "status": self._status(number),
                "reference": f"W-{self._dice.randrange(self._many // 2)}",
                "created_at": made,
                "updated_at": min(changed, END),
                "valid_until": (made + timedelta(days=30)).date(),
                "total_minor": self._dice.randrange(2_000, 90_000),
            }

    def _status(self, number: int) -> str:
        return self._statuses[number % len(self._statuses)]

    def _sales(self) -> Iterator[dict[str, Any]]:
        for number in range(1, self._many + 1):
            if self._status(number) in SOLD:
                yield {
                    "quote_id": _id(number),
                    "shop_id": self._model["shop_id"],
                    "accepted_at": self._moment(number),
                    "withdrawn_at": None,
                    "currency": "USD",
                    "total_minor": 10_000,
                    "tax_minor": 700,
                    "cost_minor": 4_000,
                    "cost_currency": "USD",
                }

    def _revisions(self) -> Iterator[dict[str, Any]]:
        lean = {**self._whole, "request": _TINY, "result": _TINY, "costs": _TINY, "papers": ""}
        for number in range(1, self._many + 1):
            model = self._whole if number % WHOLE_EVERY == 0 else lean
            yield {**model, "quote_id": _id(number), "created_at": self._moment(number)}

    def _events(self) -> Iterator[dict[str, Any]]:
        for number in range(1, self._many + 1):
            yield {
                "id": 1_000 + number,
                "turn": 0,
                "shop_id": self._model["shop_id"],
                "key_id": self._model["created_by"],
                "at": self._moment(number),
                "kind": "quote.created",
                "subject": "quote",
                "subject_id": _id(number),
                "before": None,
                "after": _TINY,
            }


def moment(number: int, many: int) -> datetime:
    """When a quote was made: the last one at `END`."""
    return END - timedelta(days=1) * (many - number) / A_DAY


def _id(number: int) -> str:
    return f"01900000-0000-7000-8000-{number:012x}"


def _store(connection: Connection, table: Table, rows: Iterator[dict[str, Any]]) -> None:
    """Rows in bulk: by COPY in PostgreSQL, by the driver's executemany in SQLite."""
    names = [column.name for column in table.columns]
    quoted = ", ".join(f'"{name}"' for name in names)
    cursor = connection.connection.cursor()
    if connection.dialect.name == "postgresql":
        cursor.execute("SET LOCAL statement_timeout = 0")
        with cursor.copy(f"COPY {table.name} ({quoted}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row([_plain(row[name]) for name in names])
        return
    marks = ", ".join("?" * len(names))
    statement = f"INSERT INTO {table.name} ({quoted}) VALUES ({marks})"  # noqa: S608 — our names
    for batch in _batches(rows):
        cursor.executemany(statement, [[_plain(row[name]) for name in names] for row in batch])


def _batches(rows: Iterator[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    batch: list[dict[str, Any]] = []
    for row in rows:
        batch.append(row)
        if len(batch) == BATCH:
            yield batch
            batch = []
    yield batch


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.strftime(_INSTANT)
    if isinstance(value, date):
        return value.isoformat()
    return value.decode() if isinstance(value, bytes) else value


def questions(many: int) -> dict[str, str]:
    """What is asked, by name; deep pages by cursors of their own."""
    middle = many // 2 // WHOLE_EVERY * WHOLE_EVERY
    day = "2026-11-24"
    return {
        "first page": "/v1/quotes",
        "deep page": f"/v1/quotes?cursor={_cursor(many // 3)}",
        "last page": f"/v1/quotes?cursor={_cursor(20)}",
        "done, first page": "/v1/quotes?status=done",
        "done, deep page": f"/v1/quotes?status=done&cursor={_cursor(many // 3)}",
        "issued and valid, first page": "/v1/quotes?status=issued",
        "issued and valid, deep page": f"/v1/quotes?status=issued&cursor={_cursor(many - 2_000)}",
        "expired, first page": "/v1/quotes?status=expired",
        "expired, deep page": f"/v1/quotes?status=expired&cursor={_cursor(many // 3)}",
        "by reference": "/v1/quotes?reference=W-77",
        "changed since yesterday": f"/v1/quotes?updated_since={day}&limit=20",
        "one day's quotes": "/v1/quotes?created_from=2026-11-14&created_to=2026-11-15",
        "by reference, deep page": f"/v1/quotes?reference=W-77&cursor={_cursor(many // 3)}",
        "by number": f"/v1/quotes/{quote_number(FIRST_SERIAL + middle)}",
        "by id": f"/v1/quotes/{_id(middle)}",
        "one day's report": "/v1/reports/sales?from=2026-11-14&to=2026-11-14",
        "one day's margins": "/v1/reports/margins?from=2026-11-14&to=2026-11-14",
        "feed, first page": "/v1/events",
        "feed, deep page": f"/v1/events?cursor={_place(1_000 + many // 3 * 2)}",
        "feed, its end": f"/v1/events?cursor={_place(1_000 + many - 20)}",
        "feed, a kind there is none of": "/v1/events?kind=shop.tidied",
        "history of one quote": f"/v1/events?subject_id={_id(middle)}",
    }


def _cursor(number_of_many: int) -> str:
    """Set by `ask` to the quote that stands there."""
    return f"@{number_of_many}@"


def _place(event: int) -> str:
    from schemas.events.records import EventPlace  # noqa: PLC0415
    from service.api.events.feed import cursor_text  # noqa: PLC0415 — beside its use

    return cursor_text(EventPlace(0, event))


class Shop:
    """A filled shop, and the service over it."""

    def __init__(self, address: str, token: str, many: int) -> None:
        self.many = many
        self.wiring = wire(
            Settings.read({"DATABASE_URL": address, "FRAMING_QUOTES_RATE_PER_MINUTE": "0"}),
            lambda: END,
        )
        self.client = create_app(self.wiring).test_client()
        self.client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {token}"

    def path(self, question: str) -> str:
        """The question with its cursors as the service writes them."""
        from schemas.wire.page import Cursor  # noqa: PLC0415
        from service.api.http.paging import _cursor_text  # noqa: PLC0415

        before, mark, rest = question.partition("@")
        if not mark:
            return question
        number = int(rest.partition("@")[0])
        return before + _cursor_text(Cursor(moment(number, self.many), _id(number)))

    def once(self, question: str) -> float:
        """The time of one answer: of SQLite the processor's, which other programs do not lengthen.

        PostgreSQL works in processes of its own, so there it is the clock's.
        """
        path, sqlite = self.path(question), self.wiring.engine.dialect.name == "sqlite"
        clock = time.process_time if sqlite else time.perf_counter
        begun = clock()
        answer = self.client.get(path)
        spent = clock() - begun
        assert answer.status_code == 200, (path, answer.get_data(as_text=True)[:300])
        return spent


def compared(shops: list[tuple[Shop, str]], times: int) -> list[float]:
    """The time that a fifth of the answers keeps to, for each shop.

    They are asked in turn, so that whatever else the machine does falls on both alike; the quickest
    say most.
    """
    spent: list[list[float]] = [[] for _ in shops]
    for _ in range(times):
        for (shop, question), own in zip(shops, spent, strict=True):
            own.append(shop.once(question))
    return [sorted(own[1:])[times // 5] for own in spent]


def filled(folder: Path, many: int, url: str = "", *, revisions: bool = True) -> Shop:
    """A new shop with so many quotes."""
    folder.mkdir(parents=True, exist_ok=True)
    address, token = prepared(folder, "admin", url=url)
    wiring = wire(Settings.read({"DATABASE_URL": address}), lambda: END)
    client = create_app(wiring).test_client()
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    made = client.post("/v1/quotes", data=documents(1)[0], headers=headers)
    assert made.status_code == 201, made.get_data(as_text=True)
    wiring.close()
    engine = open_engine(address)
    Filling(engine, many).fill(revisions=revisions)
    engine.dispose()
    return Shop(address, token, many)


@contextmanager
def _databases(kind: str) -> Iterator[tuple[Path, str, str]]:
    """A folder, and the addresses of two empty databases."""
    with tempfile.TemporaryDirectory(prefix="fq-many-") as name:
        folder = Path(name)
        if kind == "sqlite":
            yield folder, "", ""
            return
        with postgres(folder, "few", "many") as (few, many):
            yield folder, few, many


def main(many: int, kind: str) -> int:
    """Fill, ask, print; 1 where something grows."""
    with _databases(kind) as (folder, few_url, many_url):
        begun = time.monotonic()
        few, much = filled(folder / "few", FEW, few_url), filled(folder / "many", many, many_url)
        sys.stdout.write(f"{kind}, filled in {time.monotonic() - begun:.0f} s\n")
        sys.stdout.write(f"{'':<34}{FEW:>12,}{many:>12,}   ratio\n")
        worst = 0.0
        asked = questions(many)
        for name, question in questions(FEW).items():
            one, other = compared([(few, question), (much, asked[name])], TIMES)
            worst = max(worst, other / one)
            sys.stdout.write(
                f"  {name:<32}{one * 1000:>9.2f} ms{other * 1000:>9.2f} ms{other / one:>8.2f}\n"
            )
            sys.stdout.flush()
        few.wiring.close()
        much.wiring.close()
    sys.stdout.write(f"  the worst ratio is {worst:.2f}, to be at most {MOST_RATIO}\n")
    return 1 if worst > MOST_RATIO else 0


if __name__ == "__main__":
    given = sys.argv[1:]
    raise SystemExit(
        main(int(given[0]) if given else 1_000_000, given[1] if given[1:] else "sqlite")
    )
