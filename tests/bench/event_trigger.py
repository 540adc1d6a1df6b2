"""What the trigger that places events costs a stored quote on PostgreSQL.

    python -m tests.bench.event_trigger [--rounds 30]

The same quotes are stored with the trigger and, turn about, with plain defaults of the two columns
that it sets, which is the least that anything could cost. What counts is the processor time of the
server's process and of ours: the time until an answer depends on the disk and on other programs.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

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
    """Print both times; return 1 if the trigger takes more than `MOST` of a stored quote."""
    with tempfile.TemporaryDirectory() as name, postgres(Path(name), "ours") as (url,):
        address, key = prepared(Path(name), "counter", url=url)
        asked = {"DATABASE_URL": address, "FRAMING_QUOTES_RATE_PER_MINUTE": "0"}
        wiring = wire(Settings.read(asked))
        client = create_app(wiring).test_client()
        bodies = documents(OF_A_ROUND)
        server, ours = dict.fromkeys(("with", "without"), 0.0), 0.0
        for turn in range(rounds + 1):
            for which, statement in (("with", _WITH), ("without", _WITHOUT)):
                backend = _switch(wiring.engine, statement)
                before, own = _seconds(backend), time.process_time()
                _store(client, key, bodies)
                if turn:  # the first round warms up
                    server[which] += _seconds(backend) - before
                    ours += (time.process_time() - own) / 2
        wiring.close()
    quotes = rounds * OF_A_ROUND
    took = server["with"] - server["without"]
    share = took / (server["with"] + ours)
    print(
        f"processor time of a quote: ours {ours / quotes * 1e6:.0f} µs, the server's "
        f"{server['with'] / quotes * 1e6:.0f} µs with the trigger and "
        f"{server['without'] / quotes * 1e6:.0f} µs without; the trigger takes "
        f"{took / quotes * 1e6:.0f} µs, {share:.1%} (at most {MOST:.0%})"
    )
    return int(share > MOST)


def _switch(engine: Engine, statement: str) -> int:
    """Change the table; return the process that serves the one connection."""
    with engine.begin() as connection:
        turn = connection.execute(text("SELECT max(turn) FROM event_eras")).scalar_one()
        connection.execute(text(statement.format(turn=turn)))
        found: int = connection.execute(text("SELECT pg_backend_pid()")).scalar_one()
    return found


def _seconds(pid: int) -> float:
    """The processor time of a process."""
    return int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) / 1e9


def _store(client: FlaskClient, key: str, bodies: list[bytes]) -> None:
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    for body in bodies:
        assert client.post("/v1/quotes", data=body, headers=headers).status_code == 201


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=30)
    raise SystemExit(measure(parser.parse_args().rounds))
