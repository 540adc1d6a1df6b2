"""The wiring: everything over one database, and whether it is ready."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine, text

from service.app.keys import access
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.sql.level import head, is_migrated
from service.settings import Settings
from service.wiring import utc_now, wire


def test_a_wired_service_works_over_the_database_it_was_given(sqlite_url: str) -> None:
    wiring = wire(Settings.read({"DATABASE_URL": sqlite_url}))
    shop = Shop(
        code="corner",
        name="Corner",
        currency="USD",
        time_zone="UTC",
        ruler=Ruler("in", Length.inches("0.0625")),
    )
    with wiring.units.writing() as uow:
        shop_id = wiring.new_id()
        uow.shops.add(shop_id, shop)
        issued = access.create_key(uow, shop_id, "till", ["price"], wiring.clock())
        uow.commit()
    assert is_migrated(wiring.engine)
    assert wiring.keys.recent_principal(issued.token).shop_id == shop_id
    assert wiring.shelf.recent_book(shop_id).shop == shop
    wiring.close()


def test_a_database_that_was_never_migrated_is_not_ready(tmp_path: Path) -> None:
    wiring = wire(Settings.read({"DATABASE_URL": f"sqlite:///{tmp_path / 'new.sqlite3'}"}))
    assert not is_migrated(wiring.engine)
    assert not wiring.goes_on()
    wiring.close()


def test_a_service_goes_on_when_a_later_release_migrates_but_does_not_begin(
    engine: Engine,
) -> None:
    url = engine.url.render_as_string(hide_password=False).replace("+pysqlite", "")
    wiring = wire(Settings.read({"DATABASE_URL": url}))
    level = "UPDATE alembic_version SET version_num = :to"
    try:
        assert wiring.goes_on()
        for to, ready, goes_on in (("9999", False, True), ("0001", False, False)):
            with engine.begin() as connection:
                connection.execute(text(level), {"to": to})
            assert (is_migrated(wiring.engine), wiring.goes_on()) == (ready, goes_on)
    finally:
        with engine.begin() as connection:
            connection.execute(text(level), {"to": head()})
        wiring.close()


def test_the_clock_tells_the_time_in_utc() -> None:
    now = utc_now()
    assert now.tzinfo is UTC
    assert abs(now - datetime.now(UTC)) < timedelta(seconds=10)
