"""What each release stored, brought to this release: on each database, a service over it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from schemas.keys import SCOPES
from service.api.application import create_app
from service.cli.migrate import fill_figures
from service.persistence.sql.engine import open_engine
from service.persistence.sql.level import migrate
from service.settings import Settings
from service.wiring import wire
from tests.api.conftest import world
from tests.api.demo_copies import SET, START
from tests.api.world import HandClock, World
from tests.databases import new_database
from tests.releases.store import RELEASES, restore, token

__all__ = ["world"]
BOTH = ("sqlite", pytest.param("postgres", marks=pytest.mark.postgres))
DAYS = {"calculation_0_level_0005": 0}
"""How many days after the beginning a release's last quotes were stored, if not 45."""


def opened(url: str, release: str, *, filled: bool = True) -> World:
    """The service over an empty database that becomes what a release stored, then this one's."""
    engine = open_engine(url)
    restore(engine, release)
    migrate(engine.url)
    engine.dispose()
    clock = HandClock(START + timedelta(days=DAYS.get(release, 45), hours=1))
    wiring = wire(Settings.read({"DATABASE_URL": url, **SET}), clock, monotonic=clock.monotonic)
    if filled:
        assert fill_figures(wiring.units) > 0
        assert fill_figures(wiring.units) == 0
    with wiring.units.reading() as uow:
        shop = uow.shops.by_code("lanternquay").id
    tokens = {scope: token(place) for place, scope in enumerate(SCOPES, 1)}
    return World(wiring, clock, create_app(wiring).test_client(), shop, "", tokens)


@contextmanager
def _empty(request: pytest.FixtureRequest, kind: str, folder: Path) -> Iterator[str]:
    """The address of an empty database."""
    if kind == "sqlite":
        yield f"sqlite:///{folder / 'kept.sqlite3'}"
    else:
        with new_database(request.getfixturevalue("postgres_server")) as url:
            yield url


@pytest.fixture(scope="module", params=BOTH)
def kind(request: pytest.FixtureRequest) -> str:
    """Each kind of database."""
    name: str = request.param
    return name


@pytest.fixture(scope="module", params=RELEASES)
def release(request: pytest.FixtureRequest) -> str:
    """Each kept release."""
    name: str = request.param
    return name


@pytest.fixture(scope="module")
def still(
    request: pytest.FixtureRequest,
    kind: str,
    release: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[World]:
    """The service over what a release stored, for tests that change nothing."""
    with _empty(request, kind, tmp_path_factory.mktemp("still")) as url:
        world = opened(url, release)
        yield world
        world.wiring.close()


@pytest.fixture(scope="module")
def on_file(release: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """The same over SQLite alone, for tests of what does not depend on the database."""
    world = opened(f"sqlite:///{tmp_path_factory.mktemp('file') / 'kept.sqlite3'}", release)
    yield world
    world.wiring.close()


@pytest.fixture
def kept(
    request: pytest.FixtureRequest, kind: str, release: str, tmp_path: Path
) -> Iterator[World]:
    """The service over what a release stored, whose quotes have been given their figures."""
    with _empty(request, kind, tmp_path) as url:
        world = opened(url, release)
        yield world
        world.wiring.close()


@pytest.fixture
def beside(
    request: pytest.FixtureRequest, kind: str, release: str, tmp_path: Path
) -> Iterator[World]:
    """The service over what a release stored, as one that runs beside this one leaves it."""
    with _empty(request, kind, tmp_path) as url:
        world = opened(url, release, filled=False)
        yield world
        world.wiring.close()
