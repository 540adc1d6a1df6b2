"""The fuzz of the length grammar and of the CSV reader for a moment, the same in every run."""

from __future__ import annotations

import pytest

from tests.faults.fuzz import rounds


@pytest.mark.parametrize("check", range(4))
def test_random_texts_are_read_or_refused(check: int) -> None:
    rounds(150, None)[check]()
