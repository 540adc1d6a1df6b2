"""A SQLite file on a disk that is full: refused plainly, nothing half-stored, and then it goes on.

    python -m tests.faults.disk_full [TIMES]

needs a user who may mount a small tmpfs.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from service.api.application import create_app
from service.persistence.sql.engine import open_engine
from service.settings import Settings
from service.wiring import wire
from tests.bench.shops import documents, prepared
from tests.faults.postgres import fill, mounted, unmounted
from tests.faults.told import Figures, compared, faults_of, sound, table

MEGABYTES = 64
WITH_ROOM, WITHOUT = 20, 12


def run(times: int) -> Figures:
    """Fill the disk so often, and compare."""
    place = Path(tempfile.mkdtemp(prefix="fq-full-"))
    disk = place / "disk"
    if not mounted(disk, MEGABYTES):
        raise SystemExit("this user may not mount a small disk; nothing was tried")
    try:
        address, token = prepared(disk, "counter")
        wiring = wire(Settings.read({"DATABASE_URL": address}))
        client = create_app(wiring).test_client()
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        papers, answers = documents(WITH_ROOM), list[bytes]()
        statuses: Counter[int] = Counter()
        for _ in range(times):
            for full in (False, True):
                ballast = fill(disk) if full else None
                for paper in papers[: WITHOUT if full else WITH_ROOM]:
                    answer = client.post("/v1/quotes", data=paper, headers=headers)
                    statuses[answer.status_code] += 1
                    answers += [answer.get_data()] if answer.status_code == 201 else []
                if ballast is not None:
                    ballast.unlink()
        wiring.close()
        engine = open_engine(address)
        figures = {**compared(engine, answers), "integrity_check": sound(engine)}
        engine.dispose()
        told = {f"({status})": count for status, count in sorted(statuses.items())}
        return {"times full": times, **figures, **told}
    finally:
        unmounted(disk)
        shutil.rmtree(place, ignore_errors=True)


def wrong(figures: Figures) -> list[str]:
    """What of the figures should not be so."""
    said = {"(201)", "(503)", "times full", "integrity_check"}
    found = faults_of(figures, *said)
    if not figures.get("(503)"):
        found.append("the disk was never full")
    return found if figures["integrity_check"] == "ok" else [*found, figures["integrity_check"]]


if __name__ == "__main__":
    figures = run(int(sys.argv[1]) if sys.argv[1:] else 5)
    sys.stdout.write(table("SQLite on a disk that is full", figures))
    for fault in wrong(figures):
        sys.stdout.write(f"WRONG: {fault}\n")
    raise SystemExit(1 if wrong(figures) else 0)
