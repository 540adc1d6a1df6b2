"""Values are equal by what they hold, and the type checker keeps them from being changed."""

from pathlib import Path

import pytest
from mypy import api

from service.domain.measure.length import Length, Size
from service.domain.measure.money import Currency, Money
from service.domain.value import dataclass

TOP = Path(__file__).parents[2]
CHANGES = """
from service.domain.jobs.job import GlazingSpec
from service.domain.measure.length import Length, Size
from service.domain.measure.money import Currency, Money

def change(size: Size, length: Length, money: Money, spec: GlazingSpec) -> None:
    size.width = length
    length.ticks = 1
    money.minor = 1
    spec.sheet = "CLEAR"
"""


def test_the_type_checker_refuses_every_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = tmp_path / "changes.py"
    script.write_text(CHANGES)
    monkeypatch.setenv("MYPYPATH", str(TOP))
    told, _, status = api.run(
        ["--config-file", "", "--ignore-missing-imports", "--cache-dir", str(tmp_path), str(script)]
    )
    assert status == 1
    refused = [line for line in told.splitlines() if ": error: " in line]
    assert len(refused) == 4, told
    assert all("read-only" in line or "final" in line for line in refused), told


def test_values_are_known_by_what_they_hold() -> None:
    one, same, other = (Size(Length(w), Length(3)) for w in (2, 2, 4))
    assert one == same != other
    assert {one, same, other} == {one, other}
    usd = Currency("USD")
    assert Money(5, usd) == Money(5, Currency("USD")) != Money(5, Currency("EUR"))
    assert len({Money(5, usd), Money(5, Currency("USD"))}) == 1
    assert Money(5, usd) != 5
    assert Length(5) != 5


def test_a_class_that_asks_for_no_equality_is_known_by_identity() -> None:
    @dataclass(frozen=True, slots=True, eq=False)
    class Part:
        number: int

    part = Part(1)
    assert part == part  # noqa: PLR0124
    assert part != Part(1)
    assert len({part, Part(1)}) == 2
