"""What the trigger that places events costs a stored quote on PostgreSQL.

    python -m tests.bench.event_trigger [--rounds 30]

The same quotes are stored with the trigger and, turn about, with plain defaults of the two columns
that it sets, which is the least that anything could cost. No commit waits for the disk, which would
hide the difference. Each round is short, since a machine's speed changes; the difference is the
median over all rounds.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from pathlib import Path

import psycopg
from flask.testing import FlaskClient
from sqlalchemy import Engine, text

from service.api import create_app
from service.settings import Settings
from service.wiring import wire
from tests.bench.servers import postgres
from tests.bench.shops import documents, prepared

OF_A_ROUND = 40
MOST = 0.05
"""The share of a stored quote's time that the trigger may take."""
_WITH = (
    "ALTER TABLE events ENABLE TRIGGER place_event, ALTER id DROP DEFAULT, ALTER turn DROP DEFAULT"
)
_WITHOUT = (
    "ALTER TABLE events DISABLE TRIGGER place_event, "
    "ALTER id SET DEFAULT nextval('events_id_seq'), ALTER turn SET DEFAULT {turn}"
)


def measure(rounds: int) -> int:
    """Print both times and their difference; return 1 if the trigger takes more than `MOST`."""
    with tempfile.TemporaryDirectory() as name, postgres(Path(name), "ours") as (url,):
        address, key = prepared(Path(name), "counter", url=url)
        _do(address, "ALTER DATABASE ours SET synchronous_commit = off")
        asked = {"DATABASE_URL": address, "FRAMING_QUOTES_RATE_PER_MINUTE": "0"}
        wiring = wire(Settings.read(asked))
        client = create_app(wiring).test_client()
        bodies = documents(OF_A_ROUND)
        spent: dict[str, list[float]] = {"with": [], "without": []}
        for turn in range(rounds + 1):
            for which, statement in (("with", _WITH), ("without", _WITHOUT)):
                _switch(wiring.engine, statement)
                seconds = _stored(client, key, bodies)
                if turn:  # the first round warms up
                    spent[which].append(seconds)
        wiring.close()
    pairs = zip(spent["with"], spent["without"], strict=True)
    cost = statistics.median(a - b for a, b in pairs)
    quote = statistics.median(spent["with"])
    print(
        f"a quote is stored in {quote * 1e6:.0f} µs with the trigger, in "
        f"{statistics.median(spent['without']) * 1e6:.0f} µs without; the trigger takes "
        f"{cost * 1e6:.0f} µs, {cost / quote:.1%} (at most {MOST:.0%})"
    )
    return int(cost / quote > MOST)


def _do(address: str, statement: str) -> None:
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(statement)


def _switch(engine: Engine, statement: str) -> None:
    with engine.begin() as connection:
        turn = connection.execute(text("SELECT max(turn) FROM event_eras")).scalar_one()
        connection.execute(text(statement.format(turn=turn)))


def _stored(client: FlaskClient, key: str, bodies: list[bytes]) -> float:
    """The seconds of one quote, on average."""
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    began = time.perf_counter()
    for body in bodies:
        assert client.post("/v1/quotes", data=body, headers=headers).status_code == 201
    return (time.perf_counter() - began) / len(bodies)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=30)
    raise SystemExit(measure(parser.parse_args().rounds))
