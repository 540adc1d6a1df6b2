"""Good documents, spoiled at random: always worked out or refused with a place, never a failure."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schemas.wire.problems import TYPE
from service.demo import demo_jobs
from tests.api.contract.shapes import wrong
from tests.api.world import World, job

CODES = ("BRD-1204", "MLD-OAK125", "MLD-FLT063-WAL", "GLZ-UV20", "FIL-GLT14-ROPE", "SUP-HINGE")
JUNK: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from(
        [
            *(None, True, False, 0, -1, 1, 2, 7, 100, 1e9, -0.0, 10**30, 1.5, 0.1, 1e-9, 3e-7),
            *(
                float("nan"),
                float("inf"),
                "",
                " ",
                "0",
                "-1",
                "1/3",
                "1/0",
                "1e5",
                "16 3/8",
                "3 ft",
            ),
            *("1 mm", "2 mm", "0.01 mm", "100 ft", "200 ft", "16 x 20 in", "x", "½", "١", "\x00"),
            *("\ud800", "\u2028", "a" * 300, [], {}, [[]], [{}], {"": {}}, [None], "in", "mm"),
            *("overlap", "float", "full_bleed", "floater", "ellipse", "arch", "rectangle", "grid"),
            *({"arrangement": "grid", "rows": 9, "columns": 9}, {"width": 1, "height": 2}),
            *({"top": 1, "right": 2, "bottom": 3, "left": 4}, *CODES),
        ]
    ),
    st.integers(-(10**18), 10**18),
    st.text(max_size=12),
    st.floats(allow_nan=True),
)
NAMES = ("jobs", "mats", "border", "reveal", "fit_to", "openings", "frames", "sides", "gap", "a/b~")


def _places(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if path:
        yield path
    keys: Any = (
        part if isinstance(part, dict) else range(len(part)) if isinstance(part, list) else ()
    )
    for key in keys:
        yield from _places(part[key], (*path, key))


@st.composite
def spoiled(draw: st.DrawFn) -> Any:
    """A demo document with one to four of its parts gone, doubled, moved or turned into another."""
    document: Any = {"document": job(draw(st.sampled_from(sorted(demo_jobs()))))}
    for _ in range(draw(st.integers(1, 4))):
        places = sorted(_places(document), key=repr)
        path = draw(st.sampled_from(places))
        parent = document
        for step in path[:-1]:
            parent = parent[step]
        here = parent[path[-1]]
        what = draw(st.sampled_from(("drop", "junk", "junk", "double", "move", "text", "list")))
        if what == "drop" and len(path) > 1:
            del parent[path[-1]]
        elif what == "double" and isinstance(parent, list):
            parent.append(copy.deepcopy(here))
        elif what == "double":
            parent[draw(st.sampled_from(NAMES))] = copy.deepcopy(here)
        elif what == "move":
            other = draw(st.sampled_from(places))
            source = document
            for step in other:
                source = source[step]
            parent[path[-1]] = copy.deepcopy(source)
        elif what == "text":
            parent[path[-1]] = str(here)
        elif what == "list":
            parent[path[-1]] = [here, copy.deepcopy(here)]
        else:
            parent[path[-1]] = copy.deepcopy(draw(JUNK))
    return document.get("document")


def _stands(document: Any, pointer: str) -> bool:
    """Whether a pointer (RFC 6901) leads into the document, or to where a missing part would be."""
    if pointer == "":
        return True
    assert pointer.startswith("/"), pointer
    tokens = [each.replace("~1", "/").replace("~0", "~") for each in pointer.split("/")[1:]]
    here = document
    for position, token in enumerate(tokens):
        last = position == len(tokens) - 1
        if isinstance(here, dict):
            if token not in here:
                return last
            here = here[token]
        elif isinstance(here, list):
            if not token.isdigit() or int(token) >= len(here):
                return False
            here = here[int(token)]
        else:
            return False
    return True


def _checked(world: World, path: str, document: Any) -> int:
    answer = world.post(path, json.dumps(document))
    told = json.loads(answer.get_data())
    assert answer.status_code in (200, 201, 400, 422), (document, told)
    if answer.status_code < 300:
        shape = "Quote" if path.endswith("quotes") else "Estimate"
        assert wrong(shape, told) == [], document
        return answer.status_code
    assert wrong("Problem", told) == []
    assert told["type"] == TYPE + ("not_json" if answer.status_code == 400 else "job_refused")
    for fault in told.get("errors", ()):
        assert _stands(document, fault["pointer"]), (document, fault)
    return answer.status_code


@settings(
    max_examples=300,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(document=spoiled())
def test_a_spoiled_document_is_worked_out_or_refused(still_world: World, document: Any) -> None:
    before = still_world.rows()["quotes"]
    status = _checked(still_world, "/v1/estimates", document)
    stored = _checked(still_world, "/v1/quotes", document)
    assert (stored == 201) == (status == 200)
    assert still_world.rows()["quotes"] == before + (stored == 201)
    if stored == 201:
        number = still_world.ask("GET", "/v1/quotes?limit=1").get_json()["items"][0]["number"]
        shown = still_world.ask("GET", f"/v1/quotes/{number}/workings")
        assert shown.status_code == 200, (document, shown.get_json())
        assert wrong("Workings", shown.get_json()) == []


@settings(max_examples=100, deadline=None)
@given(body=st.one_of(st.binary(max_size=200), st.text(alphabet='[]{}",:0-9eE.\\ut', max_size=60)))
def test_any_bytes_are_refused_and_never_a_failure(still_world: World, body: bytes | str) -> None:
    for path in ("/v1/estimates", "/v1/estimates/sweep", "/v1/quotes"):
        answer = still_world.post(path, body)
        assert answer.status_code in (400, 422)
        assert wrong("Problem", json.loads(answer.get_data())) == []


@settings(max_examples=100, deadline=None)
@given(
    document=spoiled(), over=st.one_of(st.sampled_from(("mouldings", "glazing")), JUNK), items=JUNK
)
def test_a_spoiled_sweep_is_worked_out_or_refused(
    still_world: World, document: Any, over: Any, items: Any
) -> None:
    jobs = document.get("jobs") if isinstance(document, dict) else None
    one = jobs[0] if isinstance(jobs, list) and jobs else jobs
    asked = {"units": "in", "job": one, "over": over, "items": [items, "MLD-OAK125", "GLZ-UV20"]}
    if items in (None, 1):
        del asked["items"]
    answer = still_world.post("/v1/estimates/sweep", json.dumps(asked))
    told = json.loads(answer.get_data())
    assert answer.status_code in (200, 400, 422), (asked, told)
    assert wrong("Sweep" if answer.status_code == 200 else "Problem", told) == []
    faults = told.get("errors", []) + [f for r in told.get("refused", []) for f in r["errors"]]
    if answer.status_code == 422:
        assert all(_stands(asked, fault["pointer"]) for fault in faults), (asked, faults)
