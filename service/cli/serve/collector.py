"""Python's collector, told what this work is like."""

from __future__ import annotations

import gc


def quiet_collector() -> None:
    """Leave what a worker has loaded out of the collector's rounds, and make these rarer.

    An answer makes some thousands of short-lived objects without cycles; at Python's default the
    collector would walk the newest of them several times an answer.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
