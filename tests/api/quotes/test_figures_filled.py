"""Quotes that a release before figures stored are given theirs, while the service runs."""

from __future__ import annotations

import pytest
from sqlalchemy import update

from service.cli import migrate
from service.cli.migrate import fill_figures
from service.persistence.quotes import quote_revisions
from tests.api.world import World, job, problem_of

ANY = {"If-Match": "*"}


def _stored(world: World, many: int) -> list[str]:
    """Quotes as the release before leaves them."""
    found = [world.post("/v1/quotes", job()).get_json()["id"] for _ in range(many)]
    with world.wiring.engine.begin() as connection:
        connection.execute(update(quote_revisions).values(figures=None))
    return found


def test_every_revision_is_filled_once_in_short_transactions(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(migrate, "AT_ONCE", 2)
    _stored(world, 4)  # the last page is empty
    assert fill_figures(world.wiring.units) == 4
    assert fill_figures(world.wiring.units) == 0


def test_one_that_cannot_be_read_stays_and_the_others_are_filled(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    one, other = _stored(world, 2)
    spoiled = update(quote_revisions).where(quote_revisions.c.quote_id == one)
    with world.wiring.engine.begin() as connection:
        connection.execute(spoiled.values(request=b'{"jobs": []}'))
    assert fill_figures(world.wiring.units) == 1
    assert f"revision 1 of quote {one} cannot be read" in caplog.text
    assert world.ask("GET", f"/v1/quotes/{one}").status_code == 200
    refused = world.post(f"/v1/quotes/{one}/accept", {}, headers=ANY)
    assert "send it anew as a revision" in problem_of(refused, 409, "conflict")["detail"]
    assert world.post(f"/v1/quotes/{other}/accept", {}, headers=ANY).status_code == 200
