"""`python -m tests.apprentice.long 10000`: so many random tickets, followed and measured.

Prints how many were made, each kind of fault with its count, and the smallest job that shows it.
"""

from __future__ import annotations

import json
import re
import sys
import time
from collections import Counter

from hypothesis import HealthCheck, Phase, given, settings

from tests.apprentice.jobs import REFUSED, tickets
from tests.apprentice.press import Printed
from tests.apprentice.proof import wrong_with


def main(many: int) -> int:
    """Follow `many` tickets; return the number of faulty ones."""
    made, faulty = Counter[str](), 0
    shown: dict[str, tuple[int, str, str]] = {}

    @settings(
        max_examples=many,
        database=None,
        deadline=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(tickets())
    def follow(printed: Printed) -> None:
        nonlocal faulty
        made["tickets"] += 1
        wrong = wrong_with(printed.terminal(), printed.job, printed.shop, printed.catalogue)
        faulty += bool(wrong)
        for fault in wrong:
            kind = re.sub(r"[\d./≈]+", "#", fault.rpartition(" -- ")[2])
            made[kind] += 1
            job = json.dumps(printed.job)
            if kind not in shown or len(job) < shown[kind][0]:
                shown[kind] = len(job), fault, job

    begun = time.perf_counter()
    follow()
    print(f"{made['tickets']} tickets in {time.perf_counter() - begun:.0f} s, {faulty} faulty")
    print(f"{sum(REFUSED.values())} orders were refused before the bench: {dict(REFUSED)}")
    for kind, (_, fault, job) in shown.items():
        print(f"\n{made[kind]} x {fault}\n{job}")
    return faulty


if __name__ == "__main__":
    sys.exit(bool(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)))
