"""Kinds of work: a worked price and ticket for each, by hand from the demo shop's invented figures.

What each kind takes, and in which order it is done, is common practice, no source. The prices and
minutes are those of the invented demo shop: glass 0.36 a united inch, at least 9.00; bench time
1.10 a minute, up to the whole minute; the minutes of each operation stand beside its kind below.

The customer's frame has a rabbet of 16 1/8 x 20 1/8 in, which holds 16 x 20 in with the shop's
1/8 in of allowance: 36 united inches.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.api.test_tickets import accepted, shown
from tests.api.world import World, faults_of, make_world

OWN = {
    "rabbet": "16 1/8 x 20 1/8",
    "rabbet_width": "1/4",
    "rabbet_depth": "1/2",
    "face_width": "1",
}
ART = {"width": "10", "height": "14"}
GLASS = {"sheet": "GLZ-PG20"}
FOAM = {"board": "BCK-FOAM316"}


@dataclass(frozen=True)
class Worked:
    """A job, its lines and minutes by hand, and the work of its ticket's steps with a sentence."""

    job: dict[str, Any]
    lines: tuple[tuple[str, str], ...]
    minutes: str
    steps: tuple[str, ...]
    says: str


TABLE: dict[str, Worked] = {
    # Glass 36 x 0.36 = 12.96. Minutes: take in 6, wrap 4, clean 2.5, two scribes 1 + 2 x 0.75,
    # carry 36 x 0.03 = 1.08: 16.08, billed as 17 x 1.10.
    "glass_only": Worked(
        {"cut_to": "16 x 20", "glazing": GLASS},
        (("glazing", "12.96"), ("labour", "18.70")),
        "16.08",
        ("take_in", "glazing", "wrap"),
        "Read the size asked for back to the customer: 16 x 20 in.",
    ),
    # Three hooks of 0.25 at 3 times: 0.75 each.
    "hardware": Worked(
        {"goods": [{"item": "HDW-HOOK14", "quantity": 3}]},
        (("hardware", "2.25"),),
        "0",
        ("hand_out",),
        "Hand out 3 of HDW-HOOK14, Wall hook, 14 kg.",
    ),
    # Two frames of 7.50 at 2.4 times: 18.00 each.
    "ready_made": Worked(
        {"goods": [{"item": "RDY-0810", "quantity": 2}]},
        (("goods", "36.00"),),
        "0",
        ("hand_out",),
        "Hand out 2 of RDY-0810, Ready-made frame, 8 x 10 in, black.",
    ),
    # Foam 140/144 sq ft, billed as 1 x 2.40: at least 5.00. Film 1 x 2.60: at least 8.00.
    # Minutes: 6 + 4, board 1 + 2, carry 24 x 0.03 = 0.72, press 15 + 5, trim 0.97 x 0.3 = 0.291.
    "mount_only": Worked(
        {"artwork": ART, "mounting": {"method": "dry_mounted", **FOAM}},
        (("mounting", "5.00"), ("mounting", "8.00"), ("labour", "38.50")),
        "34.011",
        ("take_in", "size", "mount", "wrap"),
        "Mount the art on Mount (1): Dry mounted in the press.",
    ),
    # As the glass alone, and: open 6, check and clean the frame 4, fit 8 + 36 x 0.08 = 10.88.
    "reglaze": Worked(
        {"own_frame": OWN, "glazing": GLASS},
        (("glazing", "12.96"), ("labour", "40.70")),
        "36.96",
        ("take_in", "open", "glazing", "ready_frame", "dry_fit", "package", "fit", "wrap"),
        "Lift the old glazing off the art, or its pieces one by one; never slide it.",
    ),
    # 6 + 4 + open 6 + clean 4 + fit 10.88.
    "refit": Worked(
        {"own_frame": OWN},
        (("labour", "34.10"),),
        "30.88",
        ("take_in", "open", "ready_frame", "fit", "wrap"),
        "Lay the old contents in the frame, face down.",
    ),
    # The package is 16 x 20: 36 united inches of cotton board are 24.00. The window 9 3/4 x 13 3/4
    # leaves 6 1/4 across, 3 1/8 a side, and 6 1/4 down: 1/2 for the foot, the rest halved.
    # Minutes: 30.88 as above, board 3, carry 1.08, lay 1.5, opening 1, bevels 1 + 4 x 0.5, guide
    # 1.5 for its set-up, lines 4 x 0.15 (one job, no stops): 42.56.
    "new_mat": Worked(
        {
            "own_frame": OWN,
            "artwork": ART,
            "presentation": "overlap",
            "mats": [{"board": "BRD-1204"}],
            "bottom_weight": "1/2",
        },
        (("mat", "24.00"), ("labour", "47.30")),
        "42.56",
        ("take_in", "open", "size", "window", "ready_frame", "dry_fit", "package", "fit"),
        "Draw on the back of Top mat (1): left 3 1/8 in, top 2 7/8 in, right 3 1/8 in, "
        "bottom 3 3/8 in.",
    ),
    # The rabbet becomes 10 1/8 x 14 1/8, the long points 3/4 more on each side: 11 5/8 and 15 5/8.
    # The list's charge is 24 united inches x 0.25, at least 8.00. Minutes: 6 + 4, take apart 12,
    # saw 2 + 4 x 1.25, corners 1 + 4 x 1.75, fit 8 + 24 x 0.08, and 5 feet of moulding x 0.6: the
    # perimeter 48.5 and eight faces are 56.5 in. Together 49.92.
    "own_frame": Worked(
        {"own_frame": {**OWN, "change": "cut_down"}, "artwork": ART, "presentation": "full_bleed"},
        (("work", "8.00"), ("labour", "55.00")),
        "49.92",
        ("take_in", "cut_down", "join", "fit", "wrap"),
        "Cut the rails, top and bottom: 2 to long point 11 5/8 in, mitre 45° at both ends.",
    ),
    # Two corners at 6.00. Minutes: the refit's 30.88 and 3 + 2 x 9.
    "corner_repair": Worked(
        {"own_frame": {**OWN, "corners": 2}},
        (("work", "12.00"), ("labour", "57.20")),
        "51.88",
        ("take_in", "open", "repair", "ready_frame", "fit", "wrap"),
        "Repair 2 corners: old glue out, both faces fitted dry.",
    ),
}


@pytest.fixture(scope="module")
def shop(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    file = tmp_path_factory.mktemp("kinds") / "kinds.sqlite3"
    file.write_bytes(migrated_sqlite.read_bytes())
    world = make_world(f"sqlite:///{file}")
    yield world
    world.wiring.close()


def asked(kind: str, **changes: Any) -> dict[str, Any]:
    return {"units": "in", "jobs": [{"work": kind, **TABLE[kind].job, **changes}]}


@pytest.mark.parametrize("kind", TABLE)
def test_a_kind_of_work_has_its_price_and_its_ticket(kind: str, shop: World) -> None:
    worked = TABLE[kind]
    quote = accepted(shop, asked(kind))
    (job,) = quote["jobs"]
    assert job["work"] == kind
    assert tuple((line["component"], line["amount"]) for line in job["lines"]) == worked.lines
    assert job["labour"]["minutes"] == worked.minutes
    ticket = shown(shop, quote["tickets"][0]["number"])
    assert ticket["job_work"] == kind
    assert ticket["minutes"] == worked.minutes
    works = tuple(dict.fromkeys(step["work"] for step in ticket["steps"]))
    assert works[: len(worked.steps)] == worked.steps
    assert worked.says in " ".join(step["text"] for step in ticket["steps"])


@pytest.mark.parametrize("kind", TABLE)
def test_it_is_kept_explained_shown_and_printed(kind: str, shop: World) -> None:
    quote = shop.post("/v1/quotes", asked(kind, quantity=2)).get_json()
    place = f"/v1/quotes/{quote['number']}"
    rows = shop.ask("GET", f"{place}/workings").get_json()["workings"]
    assert not [row["figure"] for row in rows if "worked_out_by" in row]
    for form in ("text/html", "application/pdf"):
        assert shop.ask("GET", place, headers={"Accept": form}).status_code == 200
    assert shop.ask("GET", f"{place}/drawing.svg").status_code == 200
    taken = shop.ask("POST", f"{place}/accept", headers={"If-Match": "*"}).get_json()
    ticket = f"/v1/cut-tickets/{taken['tickets'][0]['number']}"
    for form in ("text/html", "application/pdf"):
        assert shop.ask("GET", ticket, "bench", headers={"Accept": form}).status_code == 200
    for press in ("start", "finish"):
        answer = shop.ask("POST", f"{ticket}/{press}", "bench", headers={"If-Match": "*"})
        assert answer.status_code == 200
    assert shop.ask("GET", place).get_json()["status"] == "done"


NO_USE = "not_for_work"
THIN = {**OWN, "face_width": "1/4"}


@pytest.mark.parametrize(
    ("kind", "changes", "faults"),
    [
        ("glass_only", {"cut_to": None}, {"/cut_to": "missing"}),
        ("glass_only", {"artwork": ART}, {"/artwork": NO_USE}),
        ("hardware", {"goods": []}, {"/goods": "missing"}),
        ("hardware", {"goods": [{"item": "RDY-0810"}]}, {"/goods/0/item": "wrong_kind"}),
        ("hardware", {"goods": [{"item": "HDW-WIRE1"}]}, {"/goods/0": "not_priced"}),
        ("ready_made", {"frames": [{"moulding": "MLD-OAK125"}]}, {"/frames": NO_USE}),
        ("mount_only", {"mounting": None}, {"/mounting": "missing"}),
        ("reglaze", {"glazing": None}, {"/glazing": "missing"}),
        ("refit", {"own_frame": None}, {"/own_frame": "missing"}),
        ("refit", {"own_frame": {**OWN, "corners": 1}}, {"/own_frame/corners": NO_USE}),
        ("refit", {"own_frame": {**OWN, "rabbet": None}}, {"/own_frame/rabbet": "missing"}),
        (
            "refit",
            {"own_frame": {**OWN, "face_width": "1/4"}},
            {"/own_frame/rabbet_width": "bad_value"},
        ),
        ("new_mat", {"mats": [{"board": "BRD-1204", "border": "3"}]}, {"/mats/0/border": NO_USE}),
        ("own_frame", {"own_frame": OWN}, {"/own_frame/change": "missing"}),
        (
            "own_frame",
            {"artwork": {"width": "17", "height": "20"}},
            {"/own_frame/rabbet": "frame_too_small"},
        ),
        ("corner_repair", {"own_frame": OWN}, {"/own_frame/corners": "missing"}),
    ],
)
def test_what_a_kind_lacks_or_has_no_use_for_is_named(
    kind: str, changes: dict[str, Any], faults: dict[str, str], shop: World
) -> None:
    document = asked(kind, **changes)
    document["jobs"][0] = {k: v for k, v in document["jobs"][0].items() if v is not None}
    own = document["jobs"][0].get("own_frame")
    if own:
        document["jobs"][0]["own_frame"] = {k: v for k, v in own.items() if v is not None}
    found = faults_of(shop.post("/v1/estimates", document))
    told = {pointer.removeprefix("/jobs/0"): code for pointer, code in found.items()}
    assert faults.items() <= told.items()


@pytest.mark.parametrize("kind", ["new_framing", "new_mat", "own_frame"])
def test_art_that_is_framed_is_presented_in_some_way(kind: str, shop: World) -> None:
    document = {"jobs": [{"work": kind, "artwork": {"width": "-1", "height": "14"}}]}
    found = faults_of(shop.post("/v1/estimates", document))
    assert found["/jobs/0/presentation"] == "missing_field"
    assert "/jobs/0/artwork/width" in found


def test_rails_that_the_customer_brings_are_joined(shop: World) -> None:
    own = {**OWN, "change": "join"}
    del own["rabbet"]
    quote = accepted(shop, asked("own_frame", own_frame=own))
    ticket = shown(shop, quote["tickets"][0]["number"])
    text = " ".join(step["text"] for step in ticket["steps"])
    assert "Join the frame: 4 corners, glue and pins or wedges." in text
    assert "Take the frame apart" not in text


def test_hardware_for_contents_that_nobody_weighed_is_warned_of(shop: World) -> None:
    document = asked("refit", finishing=["wire"])
    (job,) = shop.post("/v1/estimates", document).get_json()["jobs"]
    assert "contents_not_weighed" in [each["code"] for each in job["advisories"]]


def test_mouldings_are_tried_on_new_framing_alone(shop: World) -> None:
    (job,) = asked("refit")["jobs"]
    answer = shop.post("/v1/estimates/sweep", {"job": job, "over": "mouldings"})
    assert faults_of(answer) == {"/job/work": NO_USE}
