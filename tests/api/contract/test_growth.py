"""What a caller can make grow, and where it ends."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable
from queue import SimpleQueue
from threading import Event, Lock, Thread
from time import process_time
from typing import Any

import pytest
from sqlalchemy import Engine, select

from schemas.openapi.examples import examples
from service.api.estimates.body import read_request
from service.api.http import idempotency
from service.app import shop
from service.app.estimates import repeated_jobs
from service.app.estimates.calculation import basis_on
from service.app.estimates.repeated_jobs import RepeatedJobs
from service.app.keys import issuing
from service.app.prices.book import load_book
from service.domain.estimates import sweep
from service.persistence.cutting.threads import ThreadJobs
from service.persistence.keys.idempotency import idempotent_requests
from service.persistence.limits import Growing
from tests.api.demo_copies import START
from tests.api.world import World, faults_of, job, make_world, problem_of
from tests.bench.heaviest import windows
from tests.waiting import wait_for

PATIENCE = 10.0
"""Seconds of work; each of these took minutes where the work grew with the square of the names."""


@pytest.mark.parametrize("path", ["/v1/estimates", "/v1/quotes", "/v1/cutting-plans"])
def test_a_megabyte_of_names_costs_no_more_than_reading_it(still_world: World, path: str) -> None:
    names = ",".join(f'"{n:x}":0' for n in range(90_000))
    twice = f'{{{names},"{89_999:x}":0}}'
    begun = process_time()
    problem_of(still_world.post(path, twice), 400, "not_json")
    problem_of(still_world.post(path, f"{{{names}}}"), 422, "job_refused")
    problem_of(still_world.post(path, "[" * 500_000), 400, "not_json")
    problem_of(still_world.post(path, "[" + "0," * 400_000 + "0]"), 422, "job_refused")
    assert process_time() - begun < PATIENCE


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> Callable[[World, Growing], None]:
    """Makes the room for a kind of thing as large as what a shop has already."""

    def shrink(world: World, what: Growing) -> None:
        with world.wiring.units.reading() as uow:
            there = uow.sizes.of(world.shop_id, what, 10**6)
        monkeypatch.setattr(shop, "MOST", {**shop.MOST, what: there + 1})

    return shrink


Small = Callable[[World, Growing], None]


def _twice(world: World, path: str, one: Any, other: Any, scope: str) -> None:
    """The first of two fits in; the second is refused, and stores nothing."""
    first = world.post(path, one, scope)
    assert first.status_code in (201, 202), first.get_json()
    rows = world.rows()
    problem_of(world.post(path, other, scope), 409, "conflict")
    assert world.rows() == rows


def test_a_catalogue_ends(world: World, small: Small) -> None:
    small(world, "items")
    example = examples()["create_board"]["request"]["body"]
    _twice(world, "/v1/boards", example, {**example, "code": "BRD-NEXT"}, "admin")


def test_price_lists_and_labour_standards_end(world: World, small: Small) -> None:
    for what, name, path in (
        ("price_lists", "create_price_list", "/v1/price-lists"),
        ("labour_standards", "create_labour_standard", "/v1/labour-standards"),
    ):
        small(world, what)
        example = examples()[name]["request"]["body"]
        _twice(world, path, example, {**example, "code": "next"}, "admin")


def test_a_rack_ends(world: World, small: Small) -> None:
    small(world, "offcuts")
    example = examples()["offcut_added"]["request"]["body"]
    _twice(world, "/v1/offcuts", example, example, "bench")


def test_plans_that_wait_end(world: World, small: Small, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(type(world.wiring.jobs), "put", lambda *_: None)  # nobody makes them
    small(world, "waiting_plans")
    pieces = [{"item": "BRD-1204", "width": f"{n} mm", "height": "200 mm"} for n in range(100, 170)]
    body = {"pieces": pieces, "dry_run": False}
    _twice(world, "/v1/cutting-plans", body, body, "bench")


def test_keys_end_also_by_rotation(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    there = len(world.ask("GET", "/v1/keys", "admin").get_json()["items"])
    monkeypatch.setattr(issuing, "MOST_OF_A_SHOP", there + 1)
    _twice(world, "/v1/keys", *[{"name": "one more", "scopes": ["price"]}] * 2, scope="admin")
    one = world.ask("GET", "/v1/keys", "admin").get_json()["items"][-1]["id"]
    problem_of(world.post(f"/v1/keys/{one}/rotate", {}, "admin"), 409, "conflict")


def test_public_forms_leave_so_many_drafts_a_day(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_DRAFTS_PER_DAY="2")
    for _ in range(2):
        assert world.post("/v1/quotes", job(), "price").status_code == 201
    refused = world.post("/v1/quotes", job(), "price")
    problem_of(refused, 429, "too_many_requests")
    assert refused.headers["Retry-After"] == "3600"
    assert world.post("/v1/quotes", job(), "counter").status_code == 201
    world.clock.move(days=1, seconds=1)
    assert world.post("/v1/quotes", job(), "price").status_code == 201
    world.wiring.close()


def test_the_largest_job_is_answered_and_many_of_them_are_not(still_world: World) -> None:
    """35 kB of such jobs came to an answer of 8 MB."""
    for path in ("/v1/estimates", "/v1/quotes"):
        assert still_world.post(path, windows(1), "price").status_code in (200, 201)
        for scope, jobs in (("price", 2), ("counter", 50)):
            refused = still_world.post(path, windows(jobs), scope)
            assert faults_of(refused) == {"/jobs": "too_many_parts"}
    largest = still_world.post("/v1/estimates", windows(16), "counter")
    assert largest.status_code == 200
    assert len(largest.get_data()) < 4_000_000


def test_windows_that_all_overlap_are_named_up_to_a_limit(still_world: World) -> None:
    window = {"artwork": {"width": "4", "height": "4"}, "x": "3", "y": "3", "shape": "rectangle"}
    asked = job()
    asked["jobs"][0] |= {"openings": [window] * 60, "mats": [{"board": "BRD-1204", "border": "3"}]}
    del asked["jobs"][0]["artwork"]
    answer = still_world.post("/v1/estimates", {**asked, "jobs": asked["jobs"] * 8}, "counter")
    errors = problem_of(answer, 422, "job_refused")["errors"]
    assert len(errors) == 101
    assert "more faults are left out" in errors[-1]["detail"]


def test_a_large_document_counts_as_more_requests(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_RATE_PER_MINUTE="30")
    plain = world.post("/v1/estimates", job(), "price")
    assert plain.headers["RateLimit"].startswith('"key";r=29;')
    large = world.post("/v1/quotes", windows(1), "price")  # 622 parts, 50 to a request
    assert large.headers["RateLimit"].startswith('"key";r=16;')
    world.post("/v1/estimates", windows(1), "price")
    refused = world.post("/v1/estimates", windows(1), "price")
    assert problem_of(refused, 429, "too_many_requests")["detail"].startswith("this counts as 13")
    world.wiring.close()


def test_an_item_named_again_and_again_is_tried_once(
    still_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sweep of one sheet of glazing, named 5,000 times, took five minutes."""
    tried: list[str] = []
    work = sweep._with_glazing

    def counted(job: Any, sheet: Any, basis: Any) -> Any:
        tried.append(sheet.code)
        return work(job, sheet, basis)

    monkeypatch.setattr(sweep, "_with_glazing", counted)
    asked = {"job": job()["jobs"][0], "over": "glazing", "items": ["GLZ-UV20", "GLZ-AR20"] * 800}
    answer = still_world.post("/v1/estimates/sweep", asked, "price").get_json()
    assert [row["item"] for row in answer["choices"]] == asked["items"]
    assert tried == ["GLZ-UV20", "GLZ-AR20"]


def test_a_sweep_that_would_take_minutes_is_refused(
    still_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shop, "MOST_TRIED_PUBLIC", 1_000)
    asked = {"job": windows(1)["jobs"][0], "over": "glazing"}
    refused = still_world.post("/v1/estimates/sweep", asked, "price")
    assert faults_of(refused) == {"/items": "too_many_parts"}
    assert still_world.post("/v1/estimates/sweep", asked).status_code == 200


def test_heavy_lines_of_a_file_take_more_requests_as_it_goes_on(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_RATE_PER_MINUTE="30")
    line = json.dumps(windows(1)).encode()
    sent = b"\n".join(
        [line, line, json.dumps(windows(2)).encode(), line, json.dumps(job()).encode()]
    )
    answer = world.ask(
        "POST", "/v1/estimates/bulk", "price", data=sent, content_type="application/x-ndjson"
    )
    found = [json.loads(each) for each in answer.get_data().splitlines()]
    assert [each.get("status", 200) for each in found] == [200, 200, 422, 429, 200]
    world.wiring.close()


def test_a_long_file_of_heavy_lines_is_not_kept_in_memory(still_world: World) -> None:
    with still_world.wiring.units.reading() as uow:
        basis = basis_on(load_book(uow, still_world.shop_id), START.date())
    work = RepeatedJobs(basis)
    for border in range(20, 50):
        document = windows(1)
        document["jobs"][0]["mats"][0]["border"] = f"{border} mm"
        for _ in range(2):  # the second time it is written too
            asked = read_request(document, basis)
            work.documents(asked, work.estimate(asked))
        assert sum(spec.parts() for spec in work._done) <= repeated_jobs.MOST_PARTS
        assert sum(map(len, work._written.values())) <= repeated_jobs.MOST_BYTES
    assert 0 < len(work._done) < 30


def test_public_forms_leave_so_many_bytes_of_drafts_a_day(engine: Engine) -> None:
    """Counted for each key, and earned back steadily over a day."""
    url = engine.url.render_as_string(hide_password=False).replace("+pysqlite", "")
    world = make_world(url, FRAMING_QUOTES_DRAFT_BYTES_PER_DAY="34600")  # two and a half
    for _ in range(2):
        assert world.post("/v1/quotes", job(), "price").status_code == 201
    rows = world.rows()
    refused = world.post("/v1/quotes", job(), "price")
    problem_of(refused, 429, "too_many_requests")
    assert refused.headers["Retry-After"] == "3600"
    assert world.rows() == rows
    assert world.post("/v1/quotes", job(), "counter").status_code == 201
    world.clock.move(hours=12, seconds=1)
    assert world.post("/v1/quotes", job(), "price").status_code == 201
    problem_of(world.post("/v1/quotes", job(), "price"), 429, "too_many_requests")
    world.wiring.close()


def test_answers_kept_for_a_key_end_with_the_oldest(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(idempotency, "MOST_OF_A_KEY", 3)
    monkeypatch.setattr(secrets, "token_hex", lambda size: "00" * size)  # everybody tidies up
    offcut = examples()["offcut_added"]["request"]["body"]
    for number in range(6):
        headers = {"Idempotency-Key": f"n{number}"}
        assert world.post("/v1/offcuts", offcut, "bench", headers=headers).status_code == 201
        world.clock.move(seconds=1)
    with world.wiring.engine.connect() as connection:
        names = select(idempotent_requests.c.name).order_by(idempotent_requests.c.name)
        assert list(connection.execute(names).scalars()) == ["n3", "n4", "n5"]


def test_a_plan_that_is_asked_for_often_is_queued_once() -> None:
    done: list[str] = []
    gate = Event()

    class Work:
        def __call__(self, _shop: str, plan: str) -> None:
            gate.wait(20)
            done.append(plan)

    jobs = ThreadJobs.__new__(ThreadJobs)
    jobs._work = Work()  # type: ignore[assignment]
    jobs._stopping, jobs._queued, jobs._waiting = Event(), set(), SimpleQueue()
    jobs._starting, jobs._thread, jobs._looks_every = Lock(), Thread(target=jobs._run), 0.1
    for _ in range(1_000):
        jobs.put("shop", "first")
        jobs.put("shop", "second")
    assert jobs._waiting.qsize() <= 2
    jobs.start()
    gate.set()
    wait_for(lambda: len(done) >= 2)
    jobs.close()
    assert sorted(set(done)) == ["first", "second"]
    assert len(done) <= 3  # the first may be put once more while it is made


def test_long_headers_and_parameters_are_refused_or_passed_over(still_world: World) -> None:
    long = "a" * 5_000
    for headers in (
        {"X-Request-Id": long},
        {"If-None-Match": ",".join(f'"{n}"' for n in range(1_000))},
        {"Accept": ",".join(f"text/x{n};q=0.5" for n in range(1_000))},
        {"Accept-Encoding": "gzip," * 1_000},
        {"Origin": f"https://{long}.example"},
    ):
        answer = still_world.ask("GET", "/v1/boards", "counter", headers=headers)
        assert answer.status_code in (200, 403, 406), headers
        assert len(answer.headers["X-Request-Id"]) <= 64
    wrong = {"Idempotency-Key": long}
    problem_of(still_world.post("/v1/quotes", job(), headers=wrong), 400, "bad_header")
    for name in ("cursor", "limit", "status", "reference", "updated_since"):
        answer = still_world.ask("GET", f"/v1/quotes?{name}={long}")
        assert answer.status_code in (200, 400)
    many = "&".join(f"p{n}=1" for n in range(1_000))
    answer = still_world.ask("GET", f"/v1/quotes?{many}")
    assert len(problem_of(answer, 400, "bad_parameter")["detail"]) < 500
