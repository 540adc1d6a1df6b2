"""Tuning of Python's garbage collector for this workload."""

from __future__ import annotations

import gc


def quiet_collector() -> None:
    """Exclude what a worker has loaded from garbage collection, and collect less often.

    An answer makes some thousands of short-lived objects without cycles; at Python's default
    threshold the collector would scan the newest of them several times per answer.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
