"""Searches for customers against the look-up of one by its id.

    python -m tests.bench.customers [MANY] [--postgres]

MANY customers (200,000) of invented names are stored, and 400 searches are sent to the store as the
counter types them: three letters of a name, two words, digits of a telephone number, part of a
mail address. The floor is a look-up of one customer by its id on the same connection. Of each kind
of search the median and the 99th of a hundred are printed.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import islice
from pathlib import Path
from time import perf_counter

import orjson
from sqlalchemy import Engine, insert, text

from schemas.customers import CustomerRecord, dump_customer
from service.domain.customers import Customer, parts_of, sought
from service.persistence.customers import customer_parts, customers
from service.persistence.sql.engine import database_url, open_engine
from service.persistence.sql.level import migrate
from service.persistence.unit_of_work import UnitsOfWork
from tests.bench.servers import postgres
from tests.bench.shops import prepared

SYLLABLES = [a + b for a in "bdklmnprstvz" for b in "aeio"]
A_BATCH = 5_000
START = datetime(2026, 1, 1, tzinfo=UTC)


def word(chance: random.Random, least: int = 2) -> str:
    """An invented word."""
    return "".join(chance.choices(SYLLABLES, k=chance.randint(least, least + 2)))


def people(many: int) -> Iterator[CustomerRecord]:
    """Invented customers."""
    chance = random.Random(7)
    for at in range(many):
        first, last = word(chance).title(), word(chance, 3).title()
        number = f"+1202{chance.randrange(10**7):07d}"
        mail = f"{first}.{last}{at}@example.org".lower()
        customer = Customer(name=f"{first} {last}", email=mail, telephone=number)
        when = START + timedelta(seconds=at)
        yield CustomerRecord(f"{at:036d}", customer, when, when)


def searches(kind: str, chance: random.Random) -> str:
    """What a counter types."""
    if kind == "three letters":
        return word(chance)[:3]
    if kind == "two words":
        return f"{word(chance)[:4]} {word(chance)[:4]}"
    if kind == "telephone":
        return f"{chance.randrange(10**5):05d}"
    return f"{word(chance, 3)[:5]}{chance.randrange(100)}@"


def timed(act: Callable[[], object]) -> float:
    """How long it takes, in milliseconds."""
    start = perf_counter()
    act()
    return (perf_counter() - start) * 1000


def store(engine: Engine, shop: str, batch: list[CustomerRecord]) -> None:
    """Store many at once, as their store would one by one."""
    rows, parts = [], []
    for record in batch:
        document = orjson.dumps(dump_customer(record.customer))
        row = {"id": record.id, "shop_id": shop, "document": document, "version": 1}
        rows.append(row | {"created_at": record.created_at, "updated_at": record.updated_at})
        found = parts_of(record.customer.words())
        parts += [{"shop_id": shop, "part": p, "customer_id": record.id} for p in sorted(found)]
    with engine.begin() as connection:
        connection.execute(insert(customers), rows)
        connection.execute(insert(customer_parts), parts)


def measure(folder: Path, many: int, url: str) -> None:
    """Print a line for each kind of search."""
    address, _ = prepared(folder, "counter", url=url)
    engine = open_engine(database_url(address))
    units = UnitsOfWork(engine)
    with units.reading() as uow:
        shop = uow.shops.by_code("lanternquay").id
    began, records = perf_counter(), people(many)
    while batch := list(islice(records, A_BATCH)):
        store(engine, shop, batch)
    with engine.begin() as connection:
        connection.execute(text("ANALYZE"))
    print(f"{many} customers stored in {perf_counter() - began:.0f} s")
    chance = random.Random(11)
    with units.reading() as uow:
        floor = sorted(
            timed(lambda: uow.customers.by_id(shop, f"{chance.randrange(many):036d}"))
            for _ in range(100)
        )
        print(f"by id: median {floor[50]:.2f} ms, p99 {floor[98]:.2f} ms")
        for kind in ("three letters", "two words", "telephone", "mail"):
            found, times = 0, []
            for _ in range(100):
                parts = sought(searches(kind, chance))
                page = partial(uow.customers.page, shop, parts, 50)
                times.append(timed(page))
                found += len(page().records)
            times.sort()
            print(
                f"{kind}: median {times[50]:.1f} ms, p99 {times[98]:.1f} ms, "
                f"{found / 100:.1f} found on the page"
            )


def main() -> None:
    """Measure on one kind of database."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("many", nargs="?", type=int, default=200_000)
    parser.add_argument("--postgres", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        here = [f"sqlite:///{folder / 'customers.sqlite3'}"]
        with postgres(folder, "ours") if given.postgres else nullcontext(here) as (url,):
            migrate(database_url(url))
            measure(folder, given.many, url)


if __name__ == "__main__":
    main()
