"""What a worker remembers between requests has an end, and all of it together is small."""

from __future__ import annotations

import functools
import gc
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from schemas.estimates import answer
from schemas.wire import figures
from schemas.wire.figures import Figures, ratio
from service.api.application import create_app
from service.app.prices import book
from service.app.prices.book import BookShelf
from service.demo import demo_labour_standard, demo_price_list
from service.domain.labour.standard import OperationTime
from service.domain.measure.length import Length
from service.domain.measure.money import exact_number, minor_text
from service.domain.measure.parse import read_length, read_number, read_size
from service.domain.measure.rounding import excess, multiple, product
from service.domain.measure.ruler import Ruler
from service.domain.prices.book import ShopBook
from service.domain.quotes import numbers
from service.persistence import unit_of_work

SMALL = 5_000
"""Entries; one takes some hundred bytes."""
TWICE = 2 * SMALL
OURS = ("service.", "schemas.")
NO_ARGUMENTS_OF_CALLERS = {
    "levels",
    "counting",
    "figures",
    "examples",
    "row_columns",  # by the kinds of reports
}
"""Kept for ever, and asked for by the program alone: by a few values that are written in it."""


def _caches() -> Iterator[functools._lru_cache_wrapper[object]]:
    assert create_app  # everything that answers requests is loaded
    for thing in gc.get_objects():
        if isinstance(thing, functools._lru_cache_wrapper) and thing.__module__.startswith(OURS):
            yield thing


def test_every_cache_of_results_has_an_end() -> None:
    caches = list(_caches())
    assert len(caches) > 10
    for cache in caches:
        most = cache.cache_info().maxsize
        if most is None:
            wrapped = cache.__wrapped__
            takes = wrapped.__code__.co_argcount
            assert not takes or wrapped.__name__ in NO_ARGUMENTS_OF_CALLERS, wrapped
        else:
            assert most <= SMALL, cache


def test_texts_numbers_and_lengths_of_callers_are_forgotten() -> None:
    for n in range(TWICE):
        read_length(f"{n // 1000}.{n % 1000:03d} mm", "in")
        read_number(n, "mm")
        read_size(f"{n} x 5 mm", "in")
        exact_number(str(n))
        minor_text(n, 2)
        multiple(n, 1, 8)
        product(Fraction(n, 7), Fraction(3))
        excess(Fraction(n, 7), Fraction(3))
        ratio(n, 7)
        numbers.quote_number(100_000 + n)
    for cache in _caches():
        assert cache.cache_info().currsize <= SMALL, cache


def test_written_lengths_are_forgotten_for_each_ruler_and_so_are_rulers() -> None:
    for step in (16, 32, 64, 128, 8, 4, 2):
        shown = Figures(Ruler("in", Length.inches(Fraction(1, step))))
        for ticks in range(TWICE):
            shown.length(Length(ticks))
        assert len(shown._texts) <= figures.MOST_LENGTHS
    assert len(figures._TEXTS) <= figures.MOST_RULERS
    assert figures.MOST_LENGTHS * figures.MOST_RULERS <= 4 * SMALL


def test_rows_of_books_that_are_gone_are_forgotten() -> None:
    rule, operation = demo_price_list().rules[0], demo_labour_standard().operations[0]
    for n in range(TWICE):
        answer._rule(replace(rule, code=f"R{n}"))
        answer._operation(OperationTime(operation, n, 1, n, 1))
        assert max(len(answer._ROWS), len(answer._RULES)) <= answer.MOST_KNOWN <= SMALL
    assert unit_of_work.MOST_PAPERS <= TWICE


def test_books_of_many_shops_make_room_for_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book, "MOST", 3)
    shelf = BookShelf(None, 1, lambda: 0.0)  # type: ignore[arg-type]
    for number in range(5):
        kept = ShopBook(f"shop {number}", 1, None, None, (), None)  # type: ignore[arg-type]
        shelf._keep(kept, float(number))
    assert sorted(shelf._books) == ["shop 2", "shop 3", "shop 4"]
