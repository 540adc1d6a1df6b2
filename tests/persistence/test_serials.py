"""Serials in blocks: none twice, rising within a process, and one by one where little is stored."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import Engine

from service.domain.errors import NotFound
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.serials import BUSY_SECONDS, MOST_AT_ONCE, SerialBlocks
from service.persistence.unit_of_work import UnitsOfWork

pytestmark = pytest.mark.postgres


class Clock:
    """A clock that is moved by hand."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def own(postgres_engine: Engine) -> Iterator[Engine]:
    with UnitsOfWork(postgres_engine).writing() as uow:
        ruler = Ruler("in", Length.inches("0.0625"))
        shop = Shop(code="corner", name="Corner", currency="USD", time_zone="UTC", ruler=ruler)
        uow.shops.add("s1", shop)
        uow.commit()
    return postgres_engine


def test_a_shop_with_little_to_do_counts_one_by_one_on_every_node(own: Engine) -> None:
    clock = Clock()
    nodes = [SerialBlocks(own, clock) for _ in range(2)]
    taken = []
    for n in range(6):
        clock.now += 2 * BUSY_SECONDS
        taken.append(nodes[n % 2].take("s1"))
    assert taken == list(range(10_001, 10_007))


def test_a_busy_shop_takes_blocks_that_double(own: Engine) -> None:
    blocks, other = SerialBlocks(own, Clock()), SerialBlocks(own, Clock())
    taken, jumps = [], []
    for _ in range(3 * MOST_AT_ONCE):
        taken.append(blocks.take("s1"))
        jumps.append(other.take("s1"))
    assert taken == sorted(taken)
    assert jumps == sorted(jumps)
    assert not set(taken) & set(jumps)
    assert (
        max(taken + jumps) - 10_000 <= 8 * MOST_AT_ONCE + 2
    )  # no more is given up than a block each


def test_threads_and_nodes_never_get_one_twice(own: Engine) -> None:
    nodes = [SerialBlocks(own) for _ in range(3)]
    with ThreadPoolExecutor(9) as pool:
        taken = list(pool.map(lambda n: nodes[n % 3].take("s1"), range(600)))
    assert len(set(taken)) == 600


def test_a_shop_that_is_not_there_has_no_numbers(own: Engine) -> None:
    with pytest.raises(NotFound):
        SerialBlocks(own).take("nowhere")
