"""Texts that are statements, line breaks or markup elsewhere, and are nothing but texts here."""

from __future__ import annotations

import logging
from urllib.parse import quote

import pytest

from schemas.openapi.examples import examples
from service.app.keys import access
from service.logs import JsonLines, PlainLines
from tests.api.world import World, job

STATEMENTS = (
    "' OR '1'='1",
    "'; DROP TABLE quotes; --",
    '" OR 1=1 --',
    "1); DELETE FROM quotes; --",
    "%",
    "_",
    "\\' OR 1=1 --",
    "${7*7}{{7*7}}%s%(a)s:id",
    "' UNION SELECT secret_hash FROM api_keys --",
)
LOOKED_UP = (
    "/v1/quotes?reference={}",
    "/v1/quotes?cursor={}",
    "/v1/quotes?status={}",
    "/v1/quotes?updated_since={}",
    "/v1/boards?q={}",
    "/v1/boards?group={}",
    "/v1/boards?cursor={}",
    "/v1/offcuts?item={}",
    "/v1/events?subject_id={}",
    "/v1/events?kind={}",
    "/v1/quotes/{}",
    "/v1/boards/{}",
    "/v1/cut-tickets/{}",
    "/v1/cutting-plans/{}",
    "/v1/offcuts/{}",
    "/v1/stock/{}",
    "/v1/keys/{}",
    "/v1/webhooks/{}",
    "/v1/price-lists/{}",
    "/v1/labour-standards/{}",
    "/v1/costs/{}",
)


def _listed(world: World, path: str) -> list[object]:
    found: list[object] = world.ask("GET", path, "admin").get_json()["items"]
    return found


def test_what_is_looked_up_is_never_part_of_a_statement(world: World) -> None:
    for name in ("quote_small", "offcut_added"):
        asked = examples()[name]["request"]
        assert world.post(asked["path"], asked["body"], "counter").status_code == 201
    rows = world.rows()
    for place in LOOKED_UP:
        for text in STATEMENTS:
            with world.statements() as seen:
                answer = world.ask("GET", place.format(quote(text, safe="")), "admin")
            assert answer.status_code in (200, 400, 404), (place, text, answer.get_json())
            assert not any(text in statement for statement in seen if len(text) > 1), (place, text)
            if answer.status_code == 200:
                assert answer.get_json()["items"] == [], (place, text)
    assert world.rows() == rows


def test_what_is_stored_comes_back_as_it_was(world: World) -> None:
    for text in (*STATEMENTS, "<script>alert(1)</script>", "a & b <b>", "=1+1"):
        document = job()
        document["reference"] = text
        document["jobs"][0]["label"] = text
        document["customer"] = {"name": text}
        made = world.post("/v1/quotes", document)
        assert made.status_code == 201, made.get_json()
        shown = world.ask("GET", f"/v1/quotes/{made.get_json()['id']}").get_json()
        assert shown["reference"] == shown["jobs"][0]["label"] == text
        assert shown["customer"]["name"] == text
        (only,) = _listed(world, f"/v1/quotes?reference={quote(text, safe='')}")
        assert isinstance(only, dict)
        assert only["id"] == shown["id"]
        page = world.ask("GET", f"/v1/quotes/{shown['id']}", headers={"Accept": "text/html"})
        assert "<script" not in page.get_data(as_text=True)
    assert len(_listed(world, "/v1/quotes")) == len(STATEMENTS) + 3


@pytest.mark.parametrize("maker", [JsonLines(), PlainLines()])
def test_no_request_forges_or_fills_a_log_line(
    still_world: World, caplog: pytest.LogCaptureFixture, maker: logging.Formatter
) -> None:
    forged = '2026-11-25T00:00:00Z error forged"}'
    sent = (
        "/v1/quotes/" + quote(f"x\r\n{forged}"),
        "/v1/" + quote(f"\u2028{forged}\x1b[2J"),
        "/v1/quotes?reference=" + quote(f"\n{forged}"),
    )
    with caplog.at_level(logging.DEBUG):
        for path in sent:
            for headers in (
                {"X-Request-Id": f"x {forged}"},
                {"User-Agent": forged, "Referer": forged, "X-Forwarded-For": forged},
                {"Authorization": f"Bearer fq_{forged}_x"},
                {"Accept": forged, "Idempotency-Key": forged},
            ):
                still_world.ask("GET", path, None, headers=headers)
                still_world.ask("GET", path, "counter", headers=headers)
                still_world.post("/v1/estimates", forged, headers=headers)
    lines = [maker.format(record) for record in caplog.records]
    assert len(lines) >= 36
    assert not any("forged" in line for line in lines)
    assert all(len(line.splitlines()) == 1 and len(line) < 500 for line in lines)


def test_a_secret_is_compared_in_the_same_time_whatever_it_is(
    still_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The standard library's compare_digest takes as long for the first byte as for the last; what
    # is compared are hashes of one length, and an unknown key costs a comparison too.
    seen: list[tuple[str, str]] = []
    plain = access.compare_digest

    def compare(one: str, other: str) -> bool:
        seen.append((one, other))
        return bool(plain(one, other))

    monkeypatch.setattr(access, "compare_digest", compare)
    token = still_world.tokens["counter"]
    mark, key_id, secret = token.split("_", 2)
    for sent in (
        token,
        f"{mark}_{key_id}_{'x' + secret[1:]}",
        f"{mark}_{key_id}_{secret[:-1]}x",
        f"{mark}_{'f' * 16}_{secret}",
        "fq",
        "",
    ):
        seen.clear()
        headers = {"Authorization": f"Bearer {sent}"}
        answer = still_world.ask("GET", "/v1/quotes", None, headers=headers)
        assert answer.status_code == (200 if sent == token else 401)
        assert len(seen) == (1 if sent else 0)
        assert all(len(one) == len(other) == 64 for one, other in seen)
        assert not any(secret in pair for pair in seen)
