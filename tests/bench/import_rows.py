"""Time and memory of importing a large catalogue, new and again, in a process of its own.

    python -m tests.bench.import_rows [--rows 50000] [--database sqlite:///…]

The limit is 50,000 rows in under 30 s and 250 MB. The rows are invented: mouldings and their costs.
"""

from __future__ import annotations

import argparse
import csv
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from schemas.prices.csv import COSTS, table_of

SECONDS, MEGABYTES = 30, 250


def write(folder: Path, rows: int) -> None:
    """Half of the rows are mouldings, half are what they cost."""
    items = rows // 2
    with (folder / "mouldings.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, table_of("mouldings"))
        writer.writeheader()
        for n in range(items):
            writer.writerow(
                {
                    "code": f"MLD-{n:06}",
                    "description": f"Profile {n}, invented",
                    "group": f"group-{n % 12}",
                    "face_width": f"{1 + n % 3} {1 + n % 7}/8 in",
                    "rabbet_width": "1/4 in",
                    "rabbet_depth": "5/8 in",
                    "stick_lengths": "96 in; 120 in",
                    "weight_kg_per_m": f"0.{1 + n % 8}",
                    "supplies": "length; chop",
                    "colour": "natural",
                }
            )
    with (folder / f"{COSTS}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, table_of(COSTS))
        writer.writeheader()
        for n in range(rows - items):
            cost = f"{1 + n % 9}.{n % 10}"
            writer.writerow({"item": f"MLD-{n:06}", "basis": "linear_foot", "cost": cost})


def command(*arguments: str, database: str) -> tuple[float, float]:
    """Run a command of the service; the seconds it took, and those of the processor in it."""
    begun, spent = time.monotonic(), _processor()
    environment = {**os.environ, "DATABASE_URL": database}
    line = [sys.executable, "-m", "service", *arguments]
    subprocess.run(
        line, env=environment, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    return time.monotonic() - begun, _processor() - spent


def _processor() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def measure(rows: int, database: str) -> bool:
    """Print the figures; whether they keep to the limits."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        database = database or f"sqlite:///{folder / 'bench.sqlite3'}"
        command("migrate", database=database)
        command("load-demo", database=database)
        write(folder, rows)
        files = [str(folder / "mouldings.csv"), str(folder / f"{COSTS}.csv")]
        first = command("import", "--shop", "lanternquay", *files, database=database)
        again = command("import", "--shop", "lanternquay", *files, database=database)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    for said, (wall, processor) in (("new", first), ("the same again", again)):
        print(f"{rows:,} rows {said}: {wall:.1f} s, of which {processor:.1f} s at work")
    print(f"peak {peak:.0f} MB")
    well = max(first[0], again[0]) < SECONDS and peak < MEGABYTES
    print(f"limits {SECONDS} s and {MEGABYTES} MB: {'kept' if well else 'BROKEN'}")
    return well


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=50_000)
    parser.add_argument("--database", default="")
    given = parser.parse_args()
    sys.exit(0 if measure(given.rows, given.database) else 1)
