"""The job document: what is read, in which unit, what is left to the shop, and what is refused."""

from __future__ import annotations

import copy
from decimal import Decimal
from fractions import Fraction
from itertools import permutations
from typing import Any

import pytest

from schemas.jobs import JOB
from schemas.quotes.request import QUOTE_REQUEST, SWEEP_REQUEST
from schemas.wire.document import read
from service.demo import demo_jobs
from service.domain.errors import JobRefused
from service.domain.estimates.sweep import SweepRequest
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec, MountingSpec
from service.domain.jobs.mat import Grid, MatSpec, Placed, Single
from service.domain.measure.length import Length, Sides, Size
from service.domain.quotes.life import Customer, QuoteRequest

BARE: dict[str, Any] = {"presentation": "full_bleed", "artwork": {"width": "10", "height": "8"}}


def inches(text: str) -> Length:
    return Length.inches(Fraction(text))


def job(unit: str = "in", **changes: Any) -> JobSpec:
    spec: JobSpec = read(JOB, {**BARE, **changes}, unit=unit)
    return spec


def refused(**changes: Any) -> dict[str, str]:
    with pytest.raises(JobRefused) as caught:
        job(**changes)
    return {fault.pointer: fault.code for fault in caught.value.faults()}


def test_the_contracts_own_example_is_read_as_it_is_written() -> None:
    request: QuoteRequest = read(QUOTE_REQUEST, demo_jobs()["harbour_etching"], unit="mm")
    (spec,) = request.jobs
    assert request.reference == "W-1021"
    assert request.customer == Customer(name="M. Okafor", email="m.okafor@example.com")
    assert spec.artwork is not None
    assert spec.artwork.size == Size(inches("131/8"), inches("20"))
    assert spec.artwork.thickness == inches("1/64")
    assert spec.overlap == inches("1/8")
    border = Sides(inches("3"), inches("3"), inches("7/2"), inches("3"))
    assert spec.mats == (
        MatSpec("BRD-1204", border=border),
        MatSpec("BRD-1310", reveal=Sides.all(inches("1/4"))),
    )
    assert spec.glazing == GlazingSpec("GLZ-UV20")
    assert spec.mounting == MountingSpec("hinged", "BRD-1210")
    assert spec.backing == "BCK-FOAM316"
    assert spec.frames == (FrameSpec("MLD-OAK125"),)
    assert spec.finishing == ("dust_cover", "wire")


def test_what_is_not_given_is_left_to_the_shop() -> None:
    spec = job()
    assert (spec.quantity, spec.label, spec.openings) == (1, "", Single())
    left = (spec.overlap, spec.float_margin, spec.gap, spec.fit_to, spec.glazing, spec.mounting)
    assert left == (None,) * 6


@pytest.mark.parametrize(
    ("units", "unit", "written", "millimetres"),
    [
        ("in", "mm", "10", "254"),
        ("mm", "in", "10", "10"),
        ("cm", "in", "10", "100"),
        (None, "cm", "10", "100"),
        (None, "in", "10 mm", "10"),
        ("mm", "in", "10 in", "254"),
        ("mm", "in", "1 ft 4 3/8 in", "415.925"),
        ("cm", "in", "16⅜″", "415.925"),
        ("in", "mm", 16, "406.4"),
        ("in", "mm", Decimal("16.375"), "415.925"),
    ],
)
def test_a_bare_length_is_in_the_documents_unit_or_the_shops(
    units: str | None, unit: str, written: Any, millimetres: str
) -> None:
    one = {**BARE, "artwork": {"width": written, "height": "1 in"}}
    document = {"jobs": [one]} if units is None else {"units": units, "jobs": [one]}
    request: QuoteRequest = read(QUOTE_REQUEST, document, unit=unit)
    assert request.jobs[0].artwork is not None
    assert request.jobs[0].artwork.size.width == Length.millimetres(Fraction(millimetres))


def test_openings_are_a_grid_or_a_list() -> None:
    grid = {"arrangement": "grid", "rows": 2, "columns": 3, "gutter": "1/2"}
    assert job(openings=grid).openings == Grid(2, 3, inches("1/2"))
    window = {"artwork": {"width": 4, "height": 6}, "x": 3, "y": "2 1/2", "shape": "ellipse"}
    layout = job(openings=[window, window]).openings
    assert isinstance(layout, Placed)
    assert (layout.windows[1].x, layout.windows[1].y) == (inches("3"), inches("5/2"))
    assert layout.windows[0].shape == "ellipse"


def test_a_border_is_one_length_or_four() -> None:
    four = {"top": 1, "right": 2, "bottom": 3, "left": 4}
    spec = job(mats=[{"board": "B", "border": "3"}, {"board": "B", "reveal": four}])
    assert spec.mats[0].border == Sides.all(inches("3"))
    assert spec.mats[1].reveal == Sides(inches("1"), inches("2"), inches("3"), inches("4"))
    size = Size(inches("16"), inches("20"))
    for written in ("16 x 20 in", '16" × 20"', "16x20", {"width": 16, "height": "20 in"}):
        assert job(fit_to=written).fit_to == size


def test_the_order_of_names_does_not_matter() -> None:
    document = demo_jobs()["six_photographs"]
    expected = read(QUOTE_REQUEST, document, unit="in")
    (one,) = document["jobs"]
    for first in list(permutations(one, 2))[::7]:
        shuffled = {name: one[name] for name in (*first, *(n for n in one if n not in first))}
        again = {**document, "jobs": [shuffled]}
        assert read(QUOTE_REQUEST, dict(reversed(again.items())), unit="in") == expected


def test_a_document_is_not_changed_by_reading_it() -> None:
    for document in demo_jobs().values():
        before = copy.deepcopy(document)
        read(QUOTE_REQUEST, document, unit="in")
        assert document == before


def test_all_faults_come_at_once_in_the_order_of_the_document() -> None:
    found = refused(
        presentation="hung",
        artwork={"width": "-1", "height": "x", "depth": 1},
        mats=[{"border": {"top": 1}}, {"board": ""}],
        frames=[{"moulding": "M", "sides": 2, "supply": "cut"}],
    )
    assert found == {
        "/presentation": "bad_choice",
        "/artwork/width": "bad_length",
        "/artwork/height": "bad_length",
        "/artwork/depth": "unknown_field",
        "/mats/0/board": "missing_field",
        "/mats/0/border/right": "missing_field",
        "/mats/0/border/bottom": "missing_field",
        "/mats/0/border/left": "missing_field",
        "/mats/1/board": "bad_text",
        "/frames/0/sides": "bad_number",
        "/frames/0/supply": "bad_choice",
    }
    assert [pointer.split("/")[1] for pointer in found] == sorted(
        (pointer.split("/")[1] for pointer in found),
        key=["presentation", "artwork", "mats", "frames"].index,
    )


def test_a_slip_of_the_pen_is_met_with_the_name_that_was_meant() -> None:
    with pytest.raises(JobRefused) as caught:
        job(finnishing=["wire"])
    (fault,) = caught.value.faults()
    assert (fault.pointer, "did you mean finishing?" in fault.detail) == ("/finnishing", True)


def test_a_sweep_says_what_is_tried() -> None:
    request: SweepRequest = read(
        SWEEP_REQUEST, {"units": "cm", "job": BARE, "over": "glazing", "items": [" A ", "B"]}
    )
    assert (request.over, request.items) == ("glazing", ("A", "B"))
    assert request.job.artwork is not None
    assert request.job.artwork.size.width == Length.millimetres(100)
    assert read(SWEEP_REQUEST, {"job": BARE, "over": "mouldings"}).items == ()


def test_grooves_and_ruled_lines_are_distances_in_the_documents_unit() -> None:
    mats = [{"board": "A", "border": "80", "grooves": ["12.7", "1 in"], "ruled_lines": ["5"]}]
    (mat,) = job("mm", presentation="overlap", mats=mats).mats
    assert mat.grooves == (inches("1/2"), inches("1"))
    assert mat.ruled_lines == (Length.millimetres(5),)


@pytest.mark.parametrize(
    ("grooves", "pointer", "code"),
    [
        (["0"], "/mats/0/grooves/0", "bad_length"),
        (["1/2", "wide"], "/mats/0/grooves/1", "bad_length"),
        ("1/2", "/mats/0/grooves", "bad_value"),
        ([f"{n}/16" for n in range(1, 12)], "/mats/0/grooves", "bad_value"),
    ],
)
def test_a_groove_is_a_length_above_nothing_and_there_are_ten_at_most(
    grooves: Any, pointer: str, code: str
) -> None:
    found = refused(
        presentation="overlap", mats=[{"board": "A", "border": "2", "grooves": grooves}]
    )
    assert found == {pointer: code}
