"""The owner's page: who gets in, for how long, and that its figures are those of the reports."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import timedelta
from html import unescape
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from werkzeug.test import TestResponse

from service.app.keys.page_session import LASTS, stay
from tests.api.reports.shop_weeks import ANY, FRAMED, GLASS
from tests.api.world import World, problem_of

PAGE = "/summary"


def enter(world: World, scope: str, **headers: str) -> TestResponse:
    return world.client.post(PAGE, data={"key": world.tokens[scope]}, headers=headers)


def shown(world: World, query: str = "") -> str:
    answer = world.client.get(PAGE + query)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def asks_for_a_key(world: World) -> bool:
    return 'name="key"' in shown(world)


@pytest.mark.parametrize("scope", ["reports", "admin"])
def test_a_key_opens_the_page_and_leaving_closes_it(world: World, scope: str) -> None:
    assert asks_for_a_key(world)
    answer = enter(world, scope)
    assert (answer.status_code, answer.headers["Location"]) == (303, PAGE)
    cookie = answer.headers["Set-Cookie"]
    assert {"HttpOnly", "SameSite=Strict", f"Path={PAGE}"} <= set(cookie.split("; "))
    assert f"Max-Age={int(LASTS.total_seconds())}" in cookie
    assert world.tokens[scope].rpartition("_")[2] not in cookie
    assert not asks_for_a_key(world)
    assert world.client.post(f"{PAGE}/leave").status_code == 303
    assert asks_for_a_key(world)


def test_over_tls_the_cookie_stays_there(world: World) -> None:
    answer = world.client.post(
        PAGE, data={"key": world.tokens["reports"]}, base_url="https://shop.example"
    )
    assert "Secure" in answer.headers["Set-Cookie"]


@pytest.mark.parametrize("scope", ["price", "counter", "bench", "other", "nonsense", ""])
def test_others_are_told_no_more_than_that_they_may_not(world: World, scope: str) -> None:
    world.tokens |= {"nonsense": "fq_0000000000000001_x", "": ""}
    answer = enter(world, scope)
    assert answer.status_code == 403
    assert "Set-Cookie" not in answer.headers
    assert "may not read reports" in answer.get_data(as_text=True)
    assert asks_for_a_key(world)


def test_a_stay_ends_by_itself_and_with_its_key(world: World) -> None:
    enter(world, "reports")
    world.clock.move(minutes=29)
    assert not asks_for_a_key(world)
    world.clock.move(minutes=1)
    assert asks_for_a_key(world)
    enter(world, "reports")
    assert not asks_for_a_key(world)
    key = world.tokens["reports"].split("_")[1]
    assert world.ask("DELETE", f"/v1/keys/{key}", "admin").status_code == 204
    assert asks_for_a_key(world)


def test_no_word_but_a_signed_one_opens_it(world: World) -> None:
    with world.wiring.units.reading() as uow:
        record = uow.keys.by_id(world.tokens["reports"].split("_")[1])
        counter = uow.keys.by_id(world.tokens["counter"].split("_")[1])
    good = stay(record, world.clock())
    key, ends, signature = good.split(".")
    later = str(int(ends) + 1)
    tries = {
        good: True,
        f"{key}.{later}.{signature}": False,
        f"{counter.id}.{ends}.{signature}": False,
        stay(counter, world.clock()): False,
        stay(record, world.clock() - LASTS): False,
        stay(record, world.clock() - LASTS + timedelta(seconds=1)): True,
        f"{key}.{ends}.{'0' * 64}": False,
        f"ffffffffffffffff.{ends}.{signature}": False,
        "": False,
        "é" * 90: False,
        world.tokens["reports"]: False,
    }
    for word, opens in tries.items():
        world.client.set_cookie("fq_summary", word, path=PAGE)
        assert asks_for_a_key(world) != opens, word


def test_another_sites_page_cannot_press(world: World) -> None:
    for site in ("cross-site", "same-site"):
        problem_of(enter(world, "reports", **{"Sec-Fetch-Site": site}), 403, "origin_not_allowed")
        left = world.client.post(f"{PAGE}/leave", headers={"Sec-Fetch-Site": site})
        problem_of(left, 403, "origin_not_allowed")
    assert enter(world, "reports", **{"Sec-Fetch-Site": "same-origin"}).status_code == 303
    problem_of(world.client.post(PAGE, json={"key": "x"}), 415, "not_json")
    problem_of(world.client.get(f"{PAGE}?key=x"), 400, "bad_parameter")
    problem_of(world.client.get(f"{PAGE}?show=years"), 400, "bad_parameter")


def test_the_page_has_no_script_and_loads_nothing(world: World) -> None:
    enter(world, "reports")
    answer = world.client.get(PAGE)
    policy = dict(
        part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; ")
    )
    assert policy["default-src"] == policy["base-uri"] == "'none'"
    assert policy["form-action"] == "'self'"
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["Cache-Control"] == "no-store"
    html = answer.get_data(as_text=True)
    assert not re.search(r"<script|\son[a-z]+=|\sstyle=|https?://", html)


def test_the_figures_are_those_of_the_reports(world: World) -> None:
    for jobs, takes in (([FRAMED, GLASS], True), ([GLASS], True), ([FRAMED], False)):
        quote = world.post("/v1/quotes", {"jobs": jobs}, "admin").get_json()["id"]
        if takes:
            world.ask("POST", f"/v1/quotes/{quote}/accept", "admin", headers=ANY)
    enter(world, "reports")
    html = unescape(shown(world, "?show=days"))
    today = "?from=2026-10-29&to=2026-11-25"
    sales = world.ask("GET", f"/v1/reports/sales{today}", "reports").get_json()["totals"][0]
    margins = world.ask("GET", f"/v1/reports/margins{today}", "reports").get_json()["totals"][0]
    for figure in (sales["made_total"], sales["sold_total"], sales["sold_net"]):
        assert figure in html
    assert "66.7 %" in html  # two of three
    assert f"{margins['earned']} earned on {margins['net']} without tax" in html
    parts = world.ask("GET", f"/v1/reports/sales-by-component{today}", "reports").get_json()
    for row in parts["rows"]:
        assert row["component"] in html


def test_charts_are_drawings_to_scale(world: World) -> None:
    quote = world.post("/v1/quotes", {"jobs": [GLASS]}, "admin").get_json()
    enter(world, "reports")
    charts = re.findall(r"<svg.*?</svg>", shown(world, "?show=months"), re.DOTALL)
    assert len(charts) == 3  # nothing is sold yet, so there are no components
    for chart in charts:
        root = ElementTree.fromstring(chart)  # noqa: S314 — our own drawing
        assert root.findtext("title")
    root = ElementTree.fromstring(charts[0])  # noqa: S314
    assert quote["totals"]["total"].rstrip("0") in root.findtext("desc", "")
    columns = [rect for rect in root.iter("rect") if rect.get("class") == "two"][:12]
    heights = [float(rect.get("height", "")) for rect in columns]
    assert heights[:11] == [0] * 11
    assert heights[11] > 0


def test_what_people_wrote_is_shown_as_text(world: World) -> None:
    label = '<script>alert("x")</script>'
    document = {"jobs": [{**GLASS, "label": label}]}
    quote = world.post("/v1/quotes", document, "admin").get_json()["id"]
    world.ask("POST", f"/v1/quotes/{quote}/accept", "admin", headers=ANY)
    world.clock.move(days=60)
    enter(world, "reports")
    html = shown(world)
    assert "&lt;script&gt;" in html
    assert "<script" not in html


def test_the_page_takes_few_statements(world: World) -> None:
    enter(world, "reports")
    shown(world)
    with world.statements() as seen:
        shown(world)
    assert len([one for one in seen if not one.startswith("BEGIN")]) <= 10


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_page_prints_on_one_sheet(world: World, tmp_path: Path, paper: str) -> None:
    """Printed by a real browser, with charts and tables of what was sold."""
    browser = shutil.which("chromium") or pytest.skip("no browser to print with")
    for jobs in ([FRAMED, GLASS], [GLASS], [FRAMED], [FRAMED]):
        quote = world.post("/v1/quotes", {"jobs": jobs}, "admin").get_json()["id"]
        world.ask("POST", f"/v1/quotes/{quote}/accept", "admin", headers=ANY)
    enter(world, "reports")
    page, printed = tmp_path / "page.html", tmp_path / "page.pdf"
    text = shown(world).replace("@page {", f"@page {{ size: {paper};")
    page.write_text(text, encoding="utf-8")
    words = ("--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer")
    done = subprocess.run(
        [browser, *words, f"--print-to-pdf={printed}", page.as_uri()],
        capture_output=True,
        check=False,
        timeout=120,
    )
    assert printed.exists(), done.stderr[-800:]
    assert len(PdfReader(printed).pages) == 1
