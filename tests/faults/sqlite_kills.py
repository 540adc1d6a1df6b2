"""SQLite killed in the middle of writes: what was acknowledged is there, and the file is sound.

    python -m tests.faults.sqlite_kills [KILLS] [SEED]

Two processes at a time store quotes over the whole service and write each answer into a pipe once
they have it; then both get SIGKILL at a moment by chance. The next two go on with the same file.
"""

from __future__ import annotations

import os
import select
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from random import Random
from typing import NoReturn

from service.api.application import create_app
from service.persistence.sql.engine import open_engine
from service.settings import Settings
from service.wiring import wire
from tests.bench.shops import documents, prepared
from tests.faults.told import Figures, compared, faults_of, sound, table

WRITERS = 2
LONGEST = 0.25
"""Seconds from the first answer of a writer to the end of all of them, at most."""
SOUND_EVERY = 20
END = b"\n\x1e\n"


def _write(address: str, token: str, papers: list[bytes], pipe: int) -> NoReturn:
    """Store quotes until killed, in a process of its own."""
    wiring = wire(Settings.read({"DATABASE_URL": address, "FRAMING_QUOTES_RATE_PER_MINUTE": "0"}))
    client = create_app(wiring).test_client()
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    while True:
        for paper in papers:
            answer = client.post("/v1/quotes", data=paper, headers=headers)
            if answer.status_code == 201:
                os.write(pipe, answer.get_data() + END)


def _writer(address: str, token: str, papers: list[bytes], dice: Random) -> tuple[int, int]:
    """A writer's process and the end of the pipe to read its answers from."""
    there, here = os.pipe()
    mixed = dice.sample(papers, len(papers))
    pid = os.fork()
    if pid == 0:
        os.close(there)
        try:
            _write(address, token, mixed, here)
        finally:
            os._exit(1)
    os.close(here)
    return pid, there


def _round(address: str, token: str, papers: list[bytes], dice: Random) -> list[bytes]:
    """Two writers until both are killed; the answers that were whole in their pipes."""
    writers = [_writer(address, token, papers, dice) for _ in range(WRITERS)]
    got: dict[int, bytes] = {pipe: b"" for _, pipe in writers}
    ends: float | None = None
    while ends is None or time.monotonic() < ends:
        wait = 30.0 if ends is None else max(ends - time.monotonic(), 0)
        ready, _, _ = select.select(list(got), [], [], wait)
        if not ready and ends is None:
            raise RuntimeError("no writer has stored anything")
        for pipe in ready:
            got[pipe] += os.read(pipe, 1 << 20)
        if ends is None:
            ends = time.monotonic() + dice.random() * LONGEST
    for pid, _ in writers:
        os.kill(pid, signal.SIGKILL)
    for pid, pipe in writers:
        os.waitpid(pid, 0)
        while part := os.read(pipe, 1 << 20):
            got[pipe] += part
        os.close(pipe)
    return [answer for text in got.values() for answer in text.split(END)[:-1]]


def run(kills: int, seed: int) -> Figures:
    """Kill writers so often, and compare."""
    folder = Path(tempfile.mkdtemp(prefix="fq-kills-"))
    try:
        address, token = prepared(folder, "counter")
        papers, dice = documents(16), Random(seed)
        answers: list[bytes] = []
        engine = open_engine(address)
        said = "ok"
        for turn in range(0, kills, WRITERS):
            engine.dispose()  # no connection is carried over into the writers
            answers += _round(address, token, papers, dice)
            if said == "ok" and turn % SOUND_EVERY == 0:
                said = sound(engine)
        said = sound(engine) if said == "ok" else said
        figures = {"kills": kills, **compared(engine, answers), "integrity_check": said}
        engine.dispose()
        return figures
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def wrong(figures: Figures) -> list[str]:
    """What of the figures should not be so.

    A quote that was stored when its writer was killed before it could say so is no fault: its
    caller asks again under its `Idempotency-Key`.
    """
    found = faults_of(figures, "kills", "stored and never acknowledged", "integrity_check")
    return found if figures["integrity_check"] == "ok" else [*found, figures["integrity_check"]]


def main(kills: int, seed: int) -> int:
    """Run, print, and say by the exit code whether anything is wrong."""
    begun = time.monotonic()
    figures = run(kills, seed)
    sys.stdout.write(table(f"SQLite killed {kills} times, seed {seed}", figures))
    sys.stdout.write(f"  {'seconds':<36}{time.monotonic() - begun:>12.0f}\n")
    for fault in wrong(figures):
        sys.stdout.write(f"WRONG: {fault}\n")
    return 1 if wrong(figures) else 0


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    raise SystemExit(main(*(given + [200, 1][len(given) :])))
