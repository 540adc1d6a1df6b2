"""Many documents in one request: each line is answered as it alone would be, and by its number."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from service.api.estimates.bulk import LONGEST_LINE
from service.app.estimates.repeated_jobs import MOST
from service.app.keys.access import create_key
from service.demo import demo_jobs, demo_shop
from tests.api.contract.shapes import wrong
from tests.api.http.nonsense import NONSENSE
from tests.api.world import World, job, make_world, problem_of

PATH = "/v1/estimates/bulk"


def sent(world: World, *lines: Any, scope: str = "price", path: str = PATH) -> TestResponse:
    texts = (one if isinstance(one, bytes) else json.dumps(one).encode() for one in lines)
    return world.ask(
        "POST", path, scope, data=b"\n".join(texts), content_type="application/x-ndjson"
    )


def answers(answer: TestResponse) -> list[dict[str, Any]]:
    assert answer.status_code == 200, answer.get_data(as_text=True)[:300]
    assert answer.content_type == "application/x-ndjson"
    found = [json.loads(line) for line in answer.get_data().splitlines()]
    for line in found:
        assert wrong("BulkLine", line) == []
    return found


@pytest.mark.parametrize("scope", ["price", "counter"])
def test_every_line_is_answered_as_it_alone_would_be(still_world: World, scope: str) -> None:
    bad = [job() for _ in NONSENSE]
    for document, (change, *_) in zip(bad, NONSENSE.values(), strict=True):
        change(document)
    lines = [*map(job, demo_jobs()), *bad, *map(job, demo_jobs())]
    found = answers(sent(still_world, *lines, scope=scope))
    assert [line.pop("line") for line in found] == list(range(1, len(lines) + 1))
    for told, document in zip(found, lines, strict=True):
        alone = still_world.post("/v1/estimates", document, scope)
        if alone.status_code == 200:
            assert told.pop("reference") == document.get("reference", "")
        assert told == alone.get_json()


def test_the_same_job_under_other_names_is_told_by_its_own(still_world: World) -> None:
    first, second = job(), job()
    first["jobs"] *= 2
    second["jobs"][0]["label"] = 'Kittiwake "print" ⅜'
    second["discounts"] = [{"percent": 5, "reason": "club"}]
    for told, document in zip(
        answers(sent(still_world, first, second, first, scope="admin")),
        (first, second, first),
        strict=True,
    ):
        alone = still_world.post("/v1/estimates", document, "admin").get_json()
        assert {n: told[n] for n in alone} == alone


def test_totals_alone(still_world: World) -> None:
    (told,) = answers(sent(still_world, job(), path=f"{PATH}?show=totals", scope="counter"))
    alone = still_world.post("/v1/estimates", job()).get_json()
    assert told["totals"] == alone["totals"]
    assert set(told) == {"line", "reference", "currency", "price_list", "totals"}


def test_one_bad_line_spoils_only_itself(still_world: World) -> None:
    long = b'{"reference": "' + b"x" * LONGEST_LINE + b'"}'
    lines = (b"", job(), b"{,}", b"\xff\xfe", long, b"  ", b"[]", b"null", b"NaN", job())
    found = {line["line"]: line for line in answers(sent(still_world, *lines))}
    assert {n: line.get("status", 200) for n, line in found.items()} == {
        2: 200, 3: 400, 4: 400, 5: 413, 7: 422, 8: 422, 9: 400, 10: 200,
    }  # fmt: skip
    assert found[2]["totals"] == found[10]["totals"]


def test_a_line_of_the_greatest_length_is_read(still_world: World) -> None:
    document = job()
    text = json.dumps(document).encode()
    full = text + b" " * (LONGEST_LINE - len(text))
    found = answers(sent(still_world, full, full + b" ", full))
    assert [line.get("status", 200) for line in found] == [200, 413, 200]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=st.lists(st.binary(max_size=60).filter(lambda b: b"\n" not in b), max_size=6))
def test_whatever_is_sent_every_line_has_its_answer(still_world: World, lines: list[bytes]) -> None:
    found = answers(sent(still_world, *lines))
    full = [n for n, line in enumerate(lines, start=1) if line.strip()]
    assert [line["line"] for line in found] == full
    assert all(line["status"] in (400, 422) for line in found)


def test_more_jobs_than_are_remembered(still_world: World) -> None:
    def small(step: int) -> dict[str, Any]:
        art = {"width": f"{step % 600} mm", "height": "100 mm"}
        return {"jobs": [{"artwork": art, "presentation": "full_bleed", "quantity": 1 + step % 3}]}

    steps = range(40, 40 + MOST + 60)
    found = answers(sent(still_world, *map(small, steps), path=f"{PATH}?show=whole"))
    widths = [line["jobs"][0]["sizes"]["shows"]["width"]["mm"] for line in found]
    assert widths == [str(step % 600) for step in steps]


def test_who_may_ask_and_how(still_world: World) -> None:
    problem_of(sent(still_world, job(), scope="bench"), 403, "not_allowed")
    problem_of(still_world.ask("POST", PATH, None), 401, "not_known")
    problem_of(still_world.post(PATH, job()), 415, "not_json")
    problem_of(sent(still_world, job(), path=f"{PATH}?show=all"), 400, "bad_parameter")
    assert answers(sent(still_world)) == []


def test_a_discount_beyond_the_keys_limit_is_refused_by_line(still_world: World) -> None:
    cheap = job()
    cheap["discounts"] = [{"percent": 90, "reason": "friend"}]
    found = answers(sent(still_world, cheap, job(), scope="counter"))
    assert [line.get("status", 200) for line in found] == [422, 200]
    assert found[0]["errors"][0]["code"] == "discount_limit"


def test_a_file_has_a_limit_of_its_own(sqlite_url: str) -> None:
    set_too = {"FRAMING_QUOTES_BODY_LIMIT": "1024", "FRAMING_QUOTES_BULK_LIMIT": "4096"}
    world = make_world(sqlite_url, **set_too)
    assert len(answers(sent(world, *[b"{}"] * 1000))) == 1000
    refused = problem_of(sent(world, *[b"{}"] * 2000), 413, "body_too_large")
    assert "4096" in refused["detail"]
    problem_of(world.post("/v1/estimates", json.dumps(job()) + " " * 1024), 413, "body_too_large")
    world.wiring.close()


def test_two_lines_count_as_a_request_and_a_file_as_a_minute_at_most(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_RATE_PER_MINUTE="10")
    answer = sent(world, *[b"{}"] * 9)  # five requests' worth
    assert answer.headers["RateLimit"].startswith('"key";r=5;')
    assert len(answers(answer)) == 9
    refused = sent(world, *[b"{}"] * 1000)
    problem_of(refused, 429, "too_many_requests")
    world.clock.move(seconds=int(refused.headers["Retry-After"]))
    assert len(answers(sent(world, *[b"{}"] * 1000))) == 1000
    problem_of(sent(world, b"{}"), 429, "too_many_requests")
    world.wiring.close()


def test_a_shop_without_prices_is_told_on_each_line(sqlite_url: str) -> None:
    world = make_world(sqlite_url)
    with world.wiring.units.writing() as uow:
        bare = replace(demo_shop(), code="bare")
        shop = uow.shops.add("bare-shop", bare).id
        world.tokens["bare"] = create_key(uow, shop, "bare", ["price"], world.clock()).token
        uow.commit()
    found = answers(sent(world, job(), job(), scope="bare"))
    assert [line["status"] for line in found] == [409, 409]
    world.wiring.close()
