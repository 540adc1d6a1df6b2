"""What every answer has: limits, CORS, security headers, an id, compression; and deprecations.

Sources: IETF drafts RateLimit (version 10) and RFC 9651 for its form; the Fetch standard's CORS
protocol; RFC 9110 for gzip and entity tags; RFC 9745 and RFC 8594.
"""

from __future__ import annotations

import gzip
import json
import logging
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from flask import Response

from schemas.keys import read_origin
from service.api.application import create_app
from service.api.http.answers import answer
from service.api.http.deprecation import deprecated
from service.api.http.edge import REQUEST_ID, RequestIdInLogs
from service.app.keys.access import create_key
from service.domain.errors import BadValue
from service.wiring import wire
from tests.api.world import World, job, make_world, problem_of

PAGE, OTHER_PAGE = "https://shop.example", "https://elsewhere.example"
ESTIMATES, QUOTES = "/v1/estimates", "/v1/quotes"


def _key(world: World, name: str, *scopes: str, **more: Any) -> None:
    with world.wiring.units.writing() as uow:
        made = create_key(uow, world.shop_id, name, scopes, world.clock(), **more)
        uow.commit()
    world.tokens[name] = made.token


@pytest.fixture
def pages(world: World) -> World:
    """A world with keys for the pages of two origins, and of every origin."""
    _key(world, "form", "price", origins=frozenset((PAGE,)))
    _key(world, "other form", "price", origins=frozenset((OTHER_PAGE,)))
    return world


# Limits


def test_every_answer_to_a_key_tells_its_limits(world: World) -> None:
    _key(world, "slow", "counter", per_minute=6)
    first = world.post(ESTIMATES, job(), "slow")
    assert first.headers["RateLimit-Policy"] == '"key";q=6;w=60'
    assert first.headers["RateLimit"] == '"key";r=5;t=10'
    refused = world.ask("GET", f"{QUOTES}/Q999", "slow")
    assert refused.status_code == 404
    assert refused.headers["RateLimit"] == '"key";r=4;t=20'
    assert "RateLimit" not in world.ask("GET", "/healthz", None).headers
    assert "RateLimit" not in world.ask("GET", QUOTES, None).headers


def test_a_request_counts_once_however_often_its_key_is_looked_at(world: World) -> None:
    _key(world, "slow", "counter", per_minute=6)
    stored = world.post(QUOTES, job(), "slow", headers={"Idempotency-Key": "a"})
    assert stored.headers["RateLimit"] == '"key";r=5;t=10'


def test_beyond_the_limit_nothing_is_done_until_the_time_told(world: World) -> None:
    _key(world, "slow", "counter", per_minute=2)
    for _ in range(2):
        assert world.post(QUOTES, job(), "slow").status_code == 201
    before = world.rows()
    for path in (QUOTES, ESTIMATES):
        refused = world.post(path, job(), "slow")
        problem_of(refused, 429, "too_many_requests")
        assert refused.headers["Retry-After"] == "30"
        assert refused.headers["RateLimit"] == '"key";r=0;t=60'
    assert world.rows() == before
    assert world.post(QUOTES, job()).status_code == 201  # another key
    world.clock.move(seconds=30)
    assert world.post(QUOTES, job(), "slow").status_code == 201


def test_a_service_may_go_without_limits(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_RATE_PER_MINUTE="0")
    assert "RateLimit" not in world.post(ESTIMATES, job()).headers
    _key(world, "slow", "counter", per_minute=1)
    assert world.post(ESTIMATES, job(), "slow").status_code == 200
    assert world.post(ESTIMATES, job(), "slow").status_code == 429
    world.wiring.close()


def test_nodes_that_share_a_store_count_together(world: World) -> None:
    url = world.wiring.settings.database_url
    settings = type(world.wiring.settings).read(
        {"DATABASE_URL": url, "FRAMING_QUOTES_RATE_STORE": "database"}
    )
    _key(world, "slow", "counter", per_minute=3)
    headers = {"Authorization": f"Bearer {world.tokens['slow']}"}
    nodes = [wire(settings, world.clock, monotonic=world.clock.monotonic) for _ in range(2)]
    clients = [create_app(node).test_client() for node in nodes]
    statuses = [clients[n % 2].get(QUOTES, headers=headers).status_code for n in range(5)]
    assert statuses == [200, 200, 200, 429, 429]
    for node in nodes:
        node.close()


# Pages of other origins


def _preflight(world: World, origin: str, path: str = QUOTES) -> Any:
    headers = {"Origin": origin, "Access-Control-Request-Method": "POST"}
    return world.ask("OPTIONS", path, None, headers=headers)


def test_a_preflight_is_granted_to_an_origin_that_some_key_lists(pages: World) -> None:
    granted = _preflight(pages, PAGE)
    assert granted.status_code in (200, 204)
    assert granted.headers["Access-Control-Allow-Origin"] == PAGE
    assert "POST" in granted.headers["Access-Control-Allow-Methods"].split(", ")
    allowed = granted.headers["Access-Control-Allow-Headers"].lower().split(", ")
    assert {"authorization", "content-type", "idempotency-key", "if-match"} <= set(allowed)
    assert int(granted.headers["Access-Control-Max-Age"]) > 0
    assert "Origin" in granted.headers.get_all("Vary")
    assert "Access-Control-Allow-Credentials" not in granted.headers
    for stranger in (
        "https://nobody.example",
        "null",
        f"{PAGE}.evil.example",
        "http://shop.example",
    ):
        assert "Access-Control-Allow-Origin" not in _preflight(pages, stranger).headers


def test_a_revoked_keys_origin_is_forgotten(pages: World) -> None:
    assert "Access-Control-Allow-Origin" in _preflight(pages, PAGE).headers
    with pages.wiring.units.writing() as uow:
        uow.keys.revoke(pages.shop_id, pages.tokens["form"].split("_")[1], pages.clock())
        uow.commit()
    pages.clock.move(seconds=pages.wiring.settings.key_ttl_seconds)
    assert "Access-Control-Allow-Origin" not in _preflight(pages, PAGE).headers


def test_the_request_is_held_to_the_list_of_its_own_key(pages: World) -> None:
    ours = pages.post(QUOTES, job(), "form", headers={"Origin": PAGE})
    assert ours.status_code == 201
    assert ours.headers["Access-Control-Allow-Origin"] == PAGE
    assert "Location" in ours.headers["Access-Control-Expose-Headers"]
    before = pages.rows()
    for origin in (OTHER_PAGE, "null", "https://nobody.example"):
        refused = pages.post(QUOTES, job(), "form", headers={"Origin": origin})
        problem_of(refused, 403, "origin_not_allowed")
        assert "Access-Control-Allow-Origin" not in refused.headers
    for scope in ("price", "counter"):  # keys of servers, without a list
        problem_of(
            pages.post(QUOTES, job(), scope, headers={"Origin": PAGE}), 403, "origin_not_allowed"
        )
    assert pages.rows() == before


def test_a_key_for_everywhere_is_for_every_page(world: World) -> None:
    _key(world, "public", "price", origins=frozenset("*"))
    for origin in (PAGE, OTHER_PAGE, "null"):
        done = world.post(ESTIMATES, job(), "public", headers={"Origin": origin})
        assert done.status_code == 200
        assert done.headers["Access-Control-Allow-Origin"] == origin
        assert _preflight(world, origin).headers["Access-Control-Allow-Origin"] == origin


def test_pages_of_the_service_itself_and_servers_need_no_list(world: World) -> None:
    assert world.post(ESTIMATES, job(), "price").status_code == 200
    own = {"Origin": "http://localhost"}
    assert world.post(ESTIMATES, job(), "price", headers=own).status_code == 200
    behind_a_proxy = {"Origin": "https://quotes.example", "Sec-Fetch-Site": "same-origin"}
    assert world.post(ESTIMATES, job(), "price", headers=behind_a_proxy).status_code == 200


def test_a_page_can_read_why_it_was_refused(pages: World) -> None:
    refused = pages.ask("GET", QUOTES, None, headers={"Origin": PAGE})
    problem_of(refused, 401, "not_known")
    assert refused.headers["Access-Control-Allow-Origin"] == PAGE
    broken = pages.post(ESTIMATES, "{", "form", headers={"Origin": PAGE})
    assert broken.status_code == 400
    assert broken.headers["Access-Control-Allow-Origin"] == PAGE


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("https://Shop.Example", "https://shop.example"),
        ("http://localhost:5173", "http://localhost:5173"),
        ("https://shop.example:443", "https://shop.example"),
        ("http://[::1]:80", "http://[::1]"),
        ("*", "*"),
    ],
)
def test_origins_are_written_as_browsers_write_them(text: str, read: str) -> None:
    assert read_origin(text, "") == read


@pytest.mark.parametrize(
    "text",
    ["", "shop.example", "https://shop.example/", "https://*.example", "null", "ftp://a.b", "**"],
)
def test_what_is_no_origin(text: str) -> None:
    with pytest.raises(BadValue):
        read_origin(text, "")


# Headers of every answer


def test_every_answer_is_safe_to_show_and_not_kept(still_world: World) -> None:
    answers = [
        still_world.post(ESTIMATES, job()),
        still_world.post(ESTIMATES, {}),
        still_world.ask("GET", QUOTES, None),
        still_world.ask("GET", "/nowhere", None),
        still_world.ask("PUT", QUOTES),
        still_world.ask("GET", "/healthz", None),
        still_world.post(ESTIMATES, " " * 2_000_000),
    ]
    for each in answers:
        assert each.headers["X-Content-Type-Options"] == "nosniff"
        assert each.headers["Referrer-Policy"] == "no-referrer"
        assert each.headers["X-Frame-Options"] == "DENY"
        assert "default-src 'none'" in each.headers["Content-Security-Policy"]
        assert each.headers["Cache-Control"] == "no-store"
        names = [name for name, _ in each.headers if name != "Vary"]
        assert len(names) == len(set(names))
    page = still_world.ask("GET", "/docs", None)
    assert "script-src 'self'" in page.headers["Content-Security-Policy"]
    assert len(page.headers.get_all("Content-Security-Policy")) == 1


@pytest.mark.parametrize("sent", ["a", "W-1021.3:7_x", "0" * 64])
def test_a_callers_own_request_id_is_kept(still_world: World, sent: str) -> None:
    done = still_world.ask("GET", "/healthz", None, headers={"X-Request-Id": sent})
    assert done.headers["X-Request-Id"] == sent


@pytest.mark.parametrize("sent", ["", "a b", "a" * 65, "é", "a;b", "<script>"])
def test_else_one_is_made(still_world: World, sent: str) -> None:
    ids = {
        still_world.ask("GET", "/nowhere", None, headers={"X-Request-Id": sent}).headers[
            "X-Request-Id"
        ]
        for _ in range(3)
    }
    assert len(ids) == 3
    assert all(re.fullmatch("[0-9a-f]{16}", each) for each in ids)


def test_log_lines_name_the_request(
    still_world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("of ours")

    monkeypatch.setattr("service.api.estimates.views.estimate_request", fail)
    still_world.post(ESTIMATES, job(), headers={"X-Request-Id": "till-7"})
    failed = [r for r in caplog.records if r.exc_info]
    assert [getattr(record, "request_id", None) for record in failed] == ["till-7"]
    record = logging.makeLogRecord({})
    RequestIdInLogs().filter(record)
    assert record.__dict__["request_id"] == REQUEST_ID.get() == "-"


# Compression


@pytest.fixture(scope="module")
def zipping(migrated_sqlite: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    path = tmp_path_factory.mktemp("zip") / "zip.sqlite3"
    path.write_bytes(migrated_sqlite.read_bytes())
    made = make_world(f"sqlite:///{path}", FRAMING_QUOTES_GZIP_FROM="1000")
    yield made
    made.wiring.close()


@pytest.mark.parametrize("takes", ["gzip", "br, gzip;q=0.5", "gzip, deflate"])
def test_a_long_answer_is_compressed_for_who_takes_that(zipping: World, takes: str) -> None:
    plain = zipping.post(ESTIMATES, job())
    packed = zipping.post(ESTIMATES, job(), headers={"Accept-Encoding": takes})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.get_data()) == plain.get_data()
    assert int(packed.headers["Content-Length"]) == len(packed.get_data()) < len(plain.get_data())
    assert "Content-Encoding" not in plain.headers
    for each in (plain, packed):
        assert "Accept-Encoding" in each.headers.get_all("Vary")


@pytest.mark.parametrize("takes", ["", "br", "gzip;q=0", "identity, gzip; q=0.0", "*;q=0"])
def test_and_not_for_others(zipping: World, takes: str) -> None:
    done = zipping.post(ESTIMATES, job(), headers={"Accept-Encoding": takes})
    assert "Content-Encoding" not in done.headers
    assert done.get_json()["currency"] == "USD"


def test_short_answers_stay_as_they_are(zipping: World, still_world: World) -> None:
    headers = {"Accept-Encoding": "gzip"}
    assert "Content-Encoding" not in zipping.ask("GET", "/healthz", None, headers=headers).headers
    off = still_world.wiring.settings
    assert off.gzip_from > len(still_world.post(ESTIMATES, job(), headers=headers).get_data())


def test_a_compressed_answer_has_a_tag_of_its_own_that_is_understood(zipping: World) -> None:
    headers = {"Accept-Encoding": "gzip"}
    packed = zipping.ask("GET", "/openapi.json", None, headers=headers)
    plain = zipping.ask("GET", "/openapi.json", None)
    tag = packed.headers["ETag"]
    assert tag != plain.headers["ETag"]
    assert tag.startswith('"')
    again = zipping.ask("GET", "/openapi.json", None, headers={**headers, "If-None-Match": tag})
    assert (again.status_code, again.get_data(), again.headers["ETag"]) == (304, b"", tag)
    shop = zipping.ask("GET", "/v1/shop", "admin", headers=headers)
    assert shop.headers["Content-Encoding"] == "gzip"
    settings = json.loads(gzip.decompress(shop.get_data()))
    seen = {"If-Match": shop.headers["ETag"]}
    changed = zipping.ask("PUT", "/v1/shop", "admin", json=settings, headers=seen)
    assert changed.status_code == 200, changed.get_json()


# Deprecations, on a route of this test alone


def _deprecating(world: World, **marks: Any) -> Any:
    app = create_app(world.wiring)

    @app.get("/old")
    @deprecated(**marks)
    def old() -> Response:
        return answer({}, headers={"Link": '</new>; rel="successor-version"'})

    return app.test_client().get("/old")


def test_what_will_go_says_so(still_world: World) -> None:
    # The examples of RFC 9745 (section 2.1) and RFC 8594 (section 3).
    told = _deprecating(
        still_world,
        since=datetime(2023, 6, 30, 23, 59, 59, tzinfo=UTC),
        sunset=datetime(2024, 6, 30, 23, 59, 59, tzinfo=timezone(timedelta())),
        link="https://developer.example/deprecation",
    )
    assert told.headers["Deprecation"] == "@1688169599"
    assert told.headers["Sunset"] == "Sun, 30 Jun 2024 23:59:59 GMT"
    links = told.headers.get_all("Link")
    assert '<https://developer.example/deprecation>; rel="deprecation"; type="text/html"' in links
    assert '</new>; rel="successor-version"' in links


def test_nothing_more_is_said_than_is_known(still_world: World) -> None:
    told = _deprecating(still_world, since=datetime(2027, 1, 1, tzinfo=UTC))
    assert "Sunset" not in told.headers
    assert len(told.headers.get_all("Link")) == 1


@pytest.mark.parametrize(
    ("since", "sunset"),
    [
        (datetime(2027, 1, 1), None),  # noqa: DTZ001 — that it has none is what is refused
        (datetime(2027, 1, 1, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC)),
    ],
)
def test_a_mark_that_makes_no_sense_is_refused(since: datetime, sunset: datetime | None) -> None:
    with pytest.raises(ValueError, match=r"instants|later"):
        deprecated(since=since, sunset=sunset)
