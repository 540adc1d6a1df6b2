"""Two of the moves of `another_cluster`, so that the script itself is sound."""

from __future__ import annotations

import pytest

from tests.faults.another_cluster import run
from tests.faults.told import faults_of

pytestmark = pytest.mark.postgres


@pytest.mark.parametrize("way", ["dump and restore", "standby that takes over"])
def test_no_reader_misses_or_repeats_an_event_after_a_move(way: str) -> None:
    figures = run(way, 6)
    assert figures["quotes stored"] == 12
    assert faults_of(figures) == []
