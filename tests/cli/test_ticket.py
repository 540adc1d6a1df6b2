"""`framing-quotes ticket`: a ticket in the terminal."""

from __future__ import annotations

import pytest
from click.testing import CliRunner, Result

from service.cli.main import main
from tests.api.quotes.test_steps import made
from tests.api.test_tickets import HOSTILE, accepted, press
from tests.api.world import World, job, make_world


@pytest.fixture
def world(sqlite_url: str) -> World:
    return make_world(sqlite_url)


def _run(world: World, *arguments: str) -> Result:
    url = world.wiring.settings.database_url
    return CliRunner().invoke(main, ["ticket", *arguments], env={"DATABASE_URL": url})


def test_a_ticket_by_its_number_and_all_of_a_quote_by_the_quotes(world: World) -> None:
    quote = accepted(world, {**job(), "jobs": job()["jobs"] * 2})
    press(world, "T100014", "pieces/1/spoil", {"reason": "slipped"})
    one = _run(world, "t 1000 14", "--shop", "lanternquay", "--width", "80")
    assert one.exit_code == 0, one.output
    assert "T100014, Quote Q100014, job 1 of 2" in " ".join(one.output.split())
    assert "STEPS" in one.output
    assert "Bench: ticket in work; pieces: 1 spoiled" in one.output
    assert max(map(len, one.output.splitlines()[:-2])) <= 80
    both = _run(world, quote["number"], "--shop", "lanternquay")
    assert [number in both.output for number in ("T100014", "T100023")] == [True, True]


def test_what_is_not_there_is_said_in_a_sentence(world: World) -> None:
    made(world)
    for arguments, words in (
        (("T100014",), "say which shop with --shop: elsewhere, lanternquay"),
        (("T100014", "--shop", "lanternquay"), "no ticket of that number"),
        (("T100041", "--shop", "lanternquay"), "was misread"),
        (("Q100014", "--shop", "lanternquay"), "has no tickets; they are made when"),
        (("T100014", "--shop", "nowhere"), "there is no shop nowhere"),
        (("x", "--shop", "lanternquay"), "is not a ticket number"),
    ):
        answer = _run(world, *arguments)
        assert answer.exit_code == 1
        assert words in answer.output
        assert "Traceback" not in answer.output


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_labels_do_not_move_the_terminal(world: World, hostile: str) -> None:
    document = job()
    document["jobs"][0]["label"] = hostile[:120]
    accepted(world, document)
    answer = _run(world, "T100014", "--shop", "lanternquay")
    assert answer.exit_code == 0, answer.output
    for moves in ("\u202e", "\u2066", "\x1b", "\x07"):
        assert moves not in answer.output
