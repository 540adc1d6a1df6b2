"""Values are equal by what they hold, and nobody can change them, compiled or not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, fields, is_dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from mypy import api

from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.estimates.costs import job_cost
from service.domain.estimates.workings.prices import total_workings
from service.domain.materials.catalogue import Board
from service.domain.measure.length import Length, Size
from service.domain.measure.money import Currency, Money
from service.domain.measure.parse import read_length
from service.domain.value import dataclass, derive
from tests.domain.sample_jobs import SHOP

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


BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
UNCHANGEABLE = (str, int, Fraction, date, type(None))


def _estimates() -> Iterator[Estimate]:
    for document in demo_jobs().values():
        request = read(QUOTE_REQUEST, document, unit="in")
        yield estimate_request(request.jobs, BASIS, request.conditions)


def _reached(start: object) -> dict[int, Any]:
    """Return everything that is found from `start`, by identity."""
    found: dict[int, Any] = {}
    waiting = [start]
    while waiting:
        value: Any = waiting.pop()
        if id(value) in found:
            continue
        found[id(value)] = value
        if is_dataclass(value):
            waiting += [getattr(value, each.name) for each in fields(value)]
        elif isinstance(value, Mapping):
            waiting += [*value.keys(), *value.values()]
        elif isinstance(value, tuple | list | set | frozenset):
            waiting += value
    return found


def _refuses_every_change(value: Any) -> None:
    for each in fields(value):
        was = getattr(value, each.name)
        for change in (
            lambda name=each.name: setattr(value, name, None),
            lambda name=each.name: delattr(value, name),
            lambda name=each.name: object.__setattr__(value, name, None),
            lambda name=each.name: object.__delattr__(value, name),
        ):
            with pytest.raises((AttributeError, TypeError)):
                change()
        assert getattr(value, each.name) is was or isinstance(was, int | bool)
    with pytest.raises((AttributeError, TypeError)):
        value.something_new = 1


def test_nothing_that_an_estimate_reaches_can_be_changed() -> None:
    estimates = list(_estimates())
    costs = [job_cost(job, BASIS) for estimate in estimates for job in estimate.jobs]
    workings = [each for estimate in estimates for each in total_workings(estimate)]
    reached = _reached((*estimates, *costs, *workings, SHOP)).values()
    values = [value for value in reached if is_dataclass(value)]
    kinds = {type(value) for value in values}
    assert len(kinds) > 50, sorted(kind.__name__ for kind in kinds)
    for value in {type(value): value for value in values}.values():
        _refuses_every_change(value)
    for value in reached:
        if isinstance(value, Mapping):
            with pytest.raises(TypeError):
                value["new"] = 1  # type: ignore[index]
        elif not (is_dataclass(value) or isinstance(value, UNCHANGEABLE) or callable(value)):
            assert isinstance(value, tuple), type(value)
    for before, after in zip(estimates, _estimates(), strict=True):
        assert before.jobs == after.jobs
        assert before.totals == after.totals


def test_a_length_that_was_read_before_stays_what_it_is() -> None:
    with pytest.raises((AttributeError, TypeError)):
        object.__setattr__(read_length("3", "in"), "ticks", 1)
    assert read_length("3", "in") == Length.inches(3)


def test_a_caller_that_keeps_its_own_dictionary_cannot_change_the_catalogue() -> None:
    items = dict(BASIS.catalogue.items)
    catalogue = replace(BASIS.catalogue, items=items)
    items.clear()
    assert catalogue.items == BASIS.catalogue.items
    with pytest.raises(TypeError):
        del catalogue.items["BRD-1204"]  # type: ignore[attr-defined]


def test_values_are_copied_with_changes_and_checked_again() -> None:
    board = BASIS.catalogue.items["BRD-1204"]
    assert isinstance(board, Board)
    small = replace(board, sheets=(*board.sheets, Size(Length.inches(9), Length.inches(8))))
    assert small.by_area[0] == Size(Length.inches(9), Length.inches(8)) != board.by_area[0]
    assert replace(small, sheets=board.sheets) == board
    assert hash(replace(small, sheets=board.sheets)) == hash(board)


def test_fields_that_are_not_compared_make_no_difference() -> None:
    @dataclass(frozen=True, slots=True)
    class Sum:
        one: int
        more: tuple[int, ...] = field(default_factory=lambda: (1, 2))
        whole: int = field(init=False, repr=False, compare=False)

        def __post_init__(self) -> None:
            derive(self, "whole", self.one + sum(self.more))

    @dataclass(frozen=True, slots=True)
    class Named(Sum):
        name: str = ""

    assert Sum(1).whole == 4
    assert Sum(1) == Sum(1, (1, 2)) != Sum(1, (1, 3))
    assert hash(Sum(1)) == hash(Sum(1, (1, 2)))
    assert Named(1) != Sum(1)
    assert Named(1, (), name="n") == Named(1, (), name="n") != Named(1, (), name="m")
    assert [each.name for each in fields(Named)] == ["one", "more", "whole", "name"]
    _refuses_every_change(Named(2, name="n"))
