"""Identifiers are UUIDs of version 7 and sort by the time they were made."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor
from uuid import RFC_4122, UUID

import pytest

from service.wiring import TimeOrderedIds, _uuid7


def test_the_layout_is_that_of_the_standard(monkeypatch: pytest.MonkeyPatch) -> None:
    # RFC 9562, appendix A.6: the worked example of a UUID version 7
    monkeypatch.setattr("service.wiring.secrets.randbits", lambda _: 0x18C4DC0C0C07398F)
    assert str(_uuid7(0x017F22E279B0, 0xCC3)) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_they_are_of_version_7_and_tell_the_time() -> None:
    before = time.time_ns() // 1_000_000
    one = UUID(TimeOrderedIds()())
    assert (one.version, one.variant) == (7, RFC_4122)
    assert before <= one.int >> 80 <= time.time_ns() // 1_000_000


def test_they_rise_even_when_made_at_once() -> None:
    new_id = TimeOrderedIds()
    made = [new_id() for _ in range(10_000)]
    assert made == sorted(set(made))


def test_threads_never_get_the_same_one() -> None:
    new_id = TimeOrderedIds()
    with ThreadPoolExecutor(8) as pool:
        made = [
            one
            for some in pool.map(lambda _: [new_id() for _ in range(500)], range(8))
            for one in some
        ]
    assert len(set(made)) == len(made)


def test_a_clock_set_back_does_not_make_them_go_back(monkeypatch: pytest.MonkeyPatch) -> None:
    new_id = TimeOrderedIds()
    first = new_id()
    monkeypatch.setattr("service.wiring.time.time_ns", lambda: 0)
    assert new_id() > first
