"""The answer to a sweep: choices, reasons, and the order of the shop's items."""

from __future__ import annotations

from typing import Any

import pytest

from schemas.estimates.sweep import sweep_document
from schemas.quotes.request import QUOTE_REQUEST, SWEEP_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import plain
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, estimate_request
from service.domain.materials.catalogue import Glazing, Moulding

BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())


def _sweep(name: str, over: str, *items: str, **changes: Any) -> dict[str, Any]:
    asked = demo_jobs()[name]
    one = {**asked["jobs"][0], **changes}
    document = {"units": asked["units"], "job": one, "over": over, "items": list(items)}
    request = read(SWEEP_REQUEST, document, unit="in")
    shown: dict[str, Any] = plain(sweep_document(request, BASIS))
    return shown


@pytest.mark.parametrize(("over", "kind"), [("mouldings", Moulding), ("glazing", Glazing)])
def test_all_that_is_sold_is_tried_where_nothing_is_named(over: str, kind: type[Any]) -> None:
    answer = _sweep("harbour_etching", over)
    tried = {row["item"] for row in (*answer["choices"], *answer["refused"])}
    sold = {
        item.code
        for item in BASIS.catalogue.items.values()
        if isinstance(item, kind) and not item.discontinued
    }
    assert tried == sold
    assert len(answer["choices"]) + len(answer["refused"]) == len(sold)


def test_what_is_named_is_tried_in_the_order_named() -> None:
    names = ("MLD-OAK125", "MLD-ASH075", "MLD-FLT063-WAL", "MLD-OAK125")
    answer = _sweep("harbour_etching", "mouldings", *names)
    assert [row["item"] for row in answer["choices"]] == ["MLD-OAK125", "MLD-ASH075", "MLD-OAK125"]
    (refused,) = answer["refused"]
    assert refused["item"] == "MLD-FLT063-WAL"
    assert [fault["pointer"] for fault in refused["errors"]] == ["/job/frames/0/moulding"]


def test_a_choice_brings_its_own_advisories() -> None:
    answer = _sweep("harbour_etching", "mouldings", "MLD-OAK050", "MLD-OAK300")
    slender, broad = ({a["code"] for a in row["advisories"]} for row in answer["choices"])
    assert "face_narrow_for_size" in slender - broad
    paths = [a["path"] for row in answer["choices"] for a in row["advisories"]]
    assert paths
    assert all(path == "/job" or path.startswith("/job/") for path in paths)


def test_a_job_without_a_frame_can_be_tried_in_frames() -> None:
    answer = _sweep("harbour_etching", "mouldings", "MLD-OAK125", frames=[])
    framed = _sweep("harbour_etching", "mouldings", "MLD-OAK125")
    assert answer == framed


def test_only_floater_profiles_suit_a_canvas() -> None:
    answer = _sweep("canvas_in_floater", "mouldings")
    assert answer["choices"]
    items = BASIS.catalogue.items
    assert all(getattr(items[row["item"]], "floater") for row in answer["choices"])  # noqa: B009
    assert not any(getattr(items[row["item"]], "floater") for row in answer["refused"])  # noqa: B009


@pytest.mark.parametrize("over", ["mouldings", "glazing"])
def test_what_no_choice_would_mend_refuses_the_whole(over: str) -> None:
    with pytest.raises(JobRefused) as caught:
        _sweep("harbour_etching", over, overlap="9")
    assert {fault.pointer for fault in caught.value.faults()} == {"/job/overlap"}


def test_a_supply_that_was_asked_for_is_never_exchanged() -> None:
    """A sweep offers what an estimate takes, at the same price, and refuses what that refuses."""
    asked = demo_jobs()["harbour_etching"]
    one = asked["jobs"][0]
    answer = _sweep("harbour_etching", "mouldings", frames=[{**one["frames"][0], "supply": "join"}])
    offered = {row["item"]: row["total"] for row in answer["choices"]}
    assert offered
    sold = (item for item in BASIS.catalogue.of_type(Moulding) if not item.discontinued)
    mouldings = [item for item in sold if not item.floater]
    for moulding in mouldings:
        frame = {**one["frames"][0], "moulding": moulding.code, "supply": "join"}
        document = {**asked, "jobs": [{**one, "frames": [frame]}]}
        if "join" not in moulding.supplies:
            assert moulding.code not in offered
            continue
        request = read(QUOTE_REQUEST, document, unit="in")
        done = estimate_request(request.jobs, BASIS, request.conditions)
        assert offered[moulding.code] == done.totals.total.text()
    (fault,) = {
        (fault["pointer"], fault["code"])
        for row in answer["refused"]
        if not BASIS.catalogue.items[row["item"]].floater  # type: ignore[union-attr]
        for fault in row["errors"]
    }
    assert fault == ("/job/frames/0/supply", "not_supplied")
