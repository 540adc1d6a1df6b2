"""Units of work: nothing is kept unless committed, readers hold still, writers take turns."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from threading import Barrier

import pytest
from sqlalchemy import Engine, text

from service.domain.labour.standard import LabourStandard
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.sql.engine import open_engine
from service.persistence.sql.session import StorageUnavailable
from service.persistence.unit_of_work import UnitsOfWork

CORNER = Shop(
    code="corner",
    name="Corner",
    currency="USD",
    time_zone="UTC",
    ruler=Ruler("in", Length.inches("0.0625")),
)
TIMES = LabourStandard("bench", Fraction(40), ())


@pytest.fixture
def with_shop(units: UnitsOfWork) -> UnitsOfWork:
    with units.writing() as uow:
        uow.shops.add("s1", CORNER)
        uow.commit()
    return units


def _name(units: UnitsOfWork) -> str:
    with units.reading() as uow:
        return uow.shops.by_id("s1").shop.name


def test_the_adapter_is_what_the_port_asks_for(units: UnitsOfWork) -> None:
    port: UnitsOfWork = units  # mypy checks every method of every repository here
    with port.reading() as uow:
        assert uow.keys.of_shop("s1") == ()


def test_what_is_not_committed_is_undone(with_shop: UnitsOfWork) -> None:
    with with_shop.writing() as uow:
        uow.shops.save("s1", replace(CORNER, name="Other"))
    assert _name(with_shop) == "Corner"


def test_what_fails_is_undone(with_shop: UnitsOfWork) -> None:
    def save_and_fail() -> None:
        with with_shop.writing() as uow:
            uow.shops.save("s1", replace(CORNER, name="Other"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        save_and_fail()
    assert _name(with_shop) == "Corner"


def test_a_commit_that_fails_is_undone(
    with_shop: UnitsOfWork, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("service.persistence.unit_of_work.grow_versions", fail)
    with with_shop.writing() as uow:
        uow.shops.save("s1", replace(CORNER, name="Other"))
        with pytest.raises(ZeroDivisionError):
            uow.commit()
    assert _name(with_shop) == "Corner"


def test_a_reader_cannot_commit_and_nobody_can_outside_the_block(with_shop: UnitsOfWork) -> None:
    with with_shop.reading() as uow, pytest.raises(RuntimeError):
        uow.commit()
    with with_shop.writing() as uow:
        uow.commit()
    with pytest.raises(RuntimeError):
        uow.commit()


def test_a_reader_sees_one_state_while_others_write(with_shop: UnitsOfWork) -> None:
    with with_shop.reading() as uow:
        before = uow.shops.by_id("s1")
        with with_shop.writing() as other:
            other.shops.save("s1", replace(CORNER, name="Other"))
            other.commit()
        assert uow.shops.by_id("s1") == before
        assert uow.shops.version("s1") == before.version
    assert _name(with_shop) == "Other"


def test_writers_at_once_lose_no_change(with_shop: UnitsOfWork) -> None:
    # Each reads and then writes: a writer with a stale view would lose the others' change.
    ready = Barrier(6)

    def change(n: int) -> None:
        ready.wait(timeout=60)
        for _ in range(5):
            with with_shop.writing() as uow:
                uow.shops.version("s1")
                uow.labour_standards.put("s1", replace(TIMES, code=f"t{n}"), in_use=True)
                uow.commit()

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(change, range(6)))
    with with_shop.reading() as uow:
        assert uow.shops.version("s1") == 1 + 6 * 5
        assert len(uow.labour_standards.all("s1")) == 6


def test_connections_go_back_to_the_pool(with_shop: UnitsOfWork, engine: Engine) -> None:
    for _ in range(30):  # more than the pool holds
        with pytest.raises(ZeroDivisionError), with_shop.writing():
            raise ZeroDivisionError
        _name(with_shop)
    assert engine.pool.checkedout() == 0  # type: ignore[attr-defined]


def test_a_database_that_is_not_there_is_an_outage() -> None:
    for url in ("postgresql://nobody@127.0.0.1:1/none", "sqlite:////no/such/folder/x.sqlite3"):
        engine = open_engine(url)
        with pytest.raises(StorageUnavailable), UnitsOfWork(engine).reading():
            pass
        engine.dispose()


def test_a_writer_of_sqlite_that_waits_too_long_is_an_outage(sqlite_engine: Engine) -> None:
    units = UnitsOfWork(sqlite_engine)
    with units.writing():
        impatient = open_engine(str(sqlite_engine.url))
        with impatient.connect() as connection:
            connection.execute(text("PRAGMA busy_timeout = 50"))
        with pytest.raises(StorageUnavailable), UnitsOfWork(impatient, 0.05).writing():
            pass
        with UnitsOfWork(impatient).reading() as uow:  # readers never wait
            assert uow.keys.of_shop("s1") == ()
        impatient.dispose()


@pytest.mark.postgres
def test_a_row_locked_for_too_long_is_an_outage(postgres_engine: Engine) -> None:
    units = UnitsOfWork(postgres_engine)
    with units.writing() as uow:
        uow.shops.add("s1", CORNER)
        uow.commit()
    with units.writing() as uow:
        uow.shops.save("s1", replace(CORNER, name="Other"))
        impatient = open_engine(postgres_engine.url.render_as_string(hide_password=False))
        with impatient.connect() as connection:
            connection.execute(text("SET lock_timeout = '50ms'"))
            connection.commit()
        with pytest.raises(StorageUnavailable), UnitsOfWork(impatient).writing() as other:
            other.shops.save("s1", replace(CORNER, name="Third"))
        impatient.dispose()
