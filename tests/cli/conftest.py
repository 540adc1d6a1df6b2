"""The commands over a database of each kind."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from sqlalchemy import Engine

from tests.cli.shop_files import with_demo


@pytest.fixture
def url(engine: Engine) -> str:
    """A database of each kind."""
    plain = engine.url.set(drivername=engine.dialect.name)
    return plain.render_as_string(hide_password=False)


@pytest.fixture
def run(url: str, monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    """The commands, on that database with the demo shop in it."""
    return with_demo(url, monkeypatch)
