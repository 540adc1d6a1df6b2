"""Tuning of Python's garbage collector for this workload."""

from __future__ import annotations

import gc

NEW_OBJECTS = 2_000
"""How many more objects than before start a collection; Python's default is 700."""


def quiet_collector() -> None:
    """Exclude what a worker has loaded from garbage collection, and collect less often.

    An answer makes some thousands of short-lived objects, few of them in cycles; at Python's
    default threshold the collector would scan the newest of them several times per answer. With a
    threshold of 50,000 the cycles of hundreds of answers were kept and scattered over the heap: a
    worker took 8 MB more after 20,000 requests, and went on growing.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(NEW_OBJECTS, 10, 10)
