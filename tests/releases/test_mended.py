"""A release that mends a figure, rewords an advisory or adds a field: stored quotes keep theirs.

The mends are put in place of this release's own rules; nothing here depends on which figures are
right. Every open quote of the kept releases is sold beside them, by the figures that it stored.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from schemas.quotes.records import Revision
from schemas.quotes.stored import worked
from schemas.tickets.stored import made_tickets
from schemas.wire.figures import number
from service.domain.estimates import calculation
from service.domain.jobs import sizes as job_sizes
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.frame import FrameSizes
from service.domain.measure.length import Length
from service.domain.prices import lines
from tests.api.world import World, job

ANY = {"If-Match": "*"}
TICK = Length(1600)
Mend = Callable[[pytest.MonkeyPatch], None]


def dearer(patch: pytest.MonkeyPatch) -> None:
    """Every line is rounded up by a cent more than before."""
    before = lines.half_up
    patch.setattr(lines, "half_up", lambda over, under: before(over, under) + 1)


def wider(patch: pytest.MonkeyPatch) -> None:
    """Every frame is cut a tenth of a millimetre longer."""
    before = job_sizes.frame_round

    def made(*given: Any) -> FrameSizes:
        frame = before(*given)
        return replace(frame, outside=frame.outside.grown(TICK))

    patch.setattr(job_sizes, "frame_round", made)


def heavier(patch: pytest.MonkeyPatch) -> None:
    """Every piece weighs a kilogram more, so other hardware would be chosen."""
    before = calculation.weight_mg
    patch.setattr(calculation, "weight_mg", lambda *given: before(*given) + 1_000_000)


def slower(patch: pytest.MonkeyPatch) -> None:
    """A job is driven by something that no stored time knows."""
    before = calculation.all_drivers

    def driven(*given: Any) -> dict[str, int]:
        return {name: 2 * units for name, units in before(*given).items()}

    patch.setattr(calculation, "all_drivers", driven)


def reworded(patch: pytest.MonkeyPatch) -> None:
    """Every job is told something new, in other words."""
    told = Advisory("new_words", "warning", "Near doors, ask an installer.", "/glazing")
    patch.setattr(calculation, "advise", lambda *_: (told,))


def stricter(patch: pytest.MonkeyPatch) -> None:
    """A new advisory stops everything: new quotes only."""
    told = Advisory("new_stop", "stop", "This release knows better.", "/glazing")
    patch.setattr(calculation, "advise", lambda *_: (told,))


MENDS = (dearer, wider, heavier, slower, reworded, stricter)


def _answer(world: World, number_: str, path: str = "") -> Any:
    found = world.ask("GET", f"/v1/quotes/{number_}{path}")
    assert found.status_code == 200, found.get_data(as_text=True)[:2_000]
    return json.loads(found.get_data())


@pytest.mark.parametrize("mend", MENDS, ids=lambda mend: mend.__name__)
def test_every_quote_is_made_as_it_was_sold(
    on_file: World, mend: Mend, monkeypatch: pytest.MonkeyPatch
) -> None:
    mend(monkeypatch)
    for revision in _some(on_file):
        told = json.loads(revision.result)
        sold = worked(revision)
        assert sold.sale.total.text() == told["totals"]["total"]
        said = [each["severity"] for one in told["jobs"] for each in one["advisories"]]
        if "stop" in said:
            continue
        for ticket, answered in zip(made_tickets(sold.estimate), told["jobs"], strict=True):
            document = json.loads(ticket.document)
            assert number(ticket.minutes) == answered["labour"]["minutes"]
            for piece, row in zip(document["pieces"], answered["cut_list"], strict=True):
                for side in ("width", "height", "length"):
                    assert piece.get(side) == row.get(side)


def _some(world: World) -> Iterator[Revision]:
    """Every third quote of a release."""
    page = world.ask("GET", "/v1/quotes?limit=200").get_json()["items"]
    for quote in page[::3]:
        with world.wiring.units.reading() as uow:
            yield uow.quotes.revision(world.shop_id, quote["id"], 1)


@pytest.mark.parametrize("mend", MENDS, ids=lambda mend: mend.__name__)
@pytest.mark.parametrize("keeps", [True, False], ids=["with figures", "without"])
def test_a_stored_quote_is_accepted_and_explained(
    world: World, mend: Mend, keeps: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote = world.post("/v1/quotes", job()).get_json()
    name = quote["number"]
    if not keeps:
        _forgotten(world)
    before = _answer(world, name, "/workings")
    mend(monkeypatch)
    after = _answer(world, name, "/workings")
    results = [{row["figure"]: row["result"] for row in why["workings"]} for why in (before, after)]
    if keeps:
        assert results[0] == results[1]
    totals = quote["totals"]
    assert results[1]["/totals/total"] == totals["total"]
    told = [row for row in after["workings"] if "now" in row]
    assert bool(told) == (mend not in (reworded, stricter))
    for row in told:
        assert row["now"] is None or row["now"] != {k: row[k] for k in row["now"]}
    taken = world.post(f"/v1/quotes/{name}/accept", {}, headers=ANY)
    assert taken.status_code == 200, taken.get_json()
    assert taken.get_json()["totals"] == totals
    assert taken.get_json()["jobs"] == quote["jobs"]
    sales = world.ask("GET", "/v1/reports/sales", "reports").get_json()
    assert sales["totals"][0]["sold_total"] == totals["total"]


def _forgotten(world: World) -> None:
    """Leave the quote as a release before figures stores it."""
    with world.wiring.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE quote_revisions SET figures = NULL")


def test_a_figure_of_another_release_says_which_and_what_this_one_comes_to(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote = world.post("/v1/quotes", job()).get_json()
    wider(monkeypatch)
    why = _answer(world, quote["number"], "/workings")
    by = why["worked_out_by"]
    assert by["calculation"] == calculation.CALCULATION
    rows = {row["figure"]: row for row in why["workings"]}
    outside = rows["/jobs/0/frames/0/outside/width"]
    assert outside["result"] == "24 3/4 in"
    assert outside["now"]["result"] == "628.75 mm"
    assert outside["worked_out_by"] == by
    assert "now" not in rows["/jobs/0/frames/0/rabbet/width"]


def test_a_figure_that_no_formula_of_this_release_comes_to_is_told_as_kept(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as another:
        dearer(another)
        quote = world.post("/v1/quotes", job()).get_json()
    why = _answer(world, quote["number"], "/workings")
    rows = {row["figure"]: row for row in why["workings"]}
    each = rows["/jobs/0/lines/0/each"]
    assert each["formula"] == "kept"
    assert each["inputs"] == {"kept": each["result"]}
    assert each["now"]["result"] != each["result"] == quote["jobs"][0]["lines"][0]["each"]
    amount = rows["/jobs/0/lines/0/amount"]
    assert amount["formula"] == "each * pieces + set_up"  # it still comes to the stored amount
    assert amount["now"]["result"] != amount["result"]
    assert rows["/totals/total"]["result"] == quote["totals"]["total"]
