"""Waiting in tests: for what is to come true, and never for a fixed time.

A test that waits ends as soon as what it waits for is so. `PATIENCE` bounds only a failing test, so
it is far longer than a busy machine takes.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic, sleep
from typing import Any

PATIENCE = 300.0
"""Seconds."""
PAUSE = 0.02
"""Seconds between two looks."""


def wait_for(
    what: Callable[[], Any], *meanwhile: type[Exception], seconds: float = PATIENCE
) -> Any:
    """Return the first true value of `what`, which is called until there is one.

    Args:
        what: looks, and changes nothing.
        meanwhile: exceptions of `what` that mean "not yet".
        seconds: how long to try.

    Raises:
        AssertionError: there was no true value in that time.
    """
    ends = monotonic() + seconds
    while True:
        try:
            if found := what():
                return found
        except meanwhile:
            pass
        assert monotonic() < ends, f"not true within {seconds:g} s"
        sleep(PAUSE)
