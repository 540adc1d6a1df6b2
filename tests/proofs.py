"""How much the random proofs try.

A usual run tries at most 300 examples of each and answers in minutes. With TEST_LONG=1, as in
`.ci/run`, each tries all that it asks for. Either way the examples are the same every time.
"""

from __future__ import annotations

import os

LONG = os.environ.get("TEST_LONG") == "1"
USUAL = 300


def examples(most: int) -> int:
    """Return how many examples a proof tries that asks for `most`."""
    return most if LONG else min(most, USUAL)
