"""The page of documentation: its own words, nothing from elsewhere, and that a browser shows it."""

from __future__ import annotations

import re
from threading import Thread

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webdriver import WebDriver
from werkzeug.serving import make_server

from service.api.pages.docs import ASSETS
from tests.api.world import World, problem_of
from tests.deploy.browser import DESK, browser
from tests.waiting import wait_for


def _page(world: World) -> str:
    return world.ask("GET", "/docs", None).get_data(as_text=True)


def test_the_page_is_strict_about_where_things_come_from(still_world: World) -> None:
    answer = still_world.ask("GET", "/docs", None)
    assert answer.content_type == "text/html; charset=utf-8"
    policy = dict(
        part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; ")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_the_page_has_no_script_of_its_own_and_loads_only_from_here(still_world: World) -> None:
    html = _page(still_world)
    assert "<title>Framing Quotes:" in html
    assert all(not inside.strip() for inside in re.findall(r"<script[^>]*>(.*?)</script>", html))
    assert not re.search(r"<style|\bon[a-z]+=|javascript:", html)
    places = re.findall(r'(?:src|href)="([^"]+)"', html)
    assert len(places) >= len(ASSETS)
    assert all(place.startswith(("/docs/assets/", "/openapi.json", "data:,")) for place in places)


@pytest.mark.parametrize("name", ASSETS)
def test_files_may_be_kept_for_good(still_world: World, name: str) -> None:
    (place,) = re.findall(rf'"(/docs/assets/[0-9a-f]+/{re.escape(name)})"', _page(still_world))
    answer = still_world.ask("GET", place, None)
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert answer.mimetype == ("text/css" if name.endswith("css") else "text/javascript")
    assert answer.get_data() == (ASSETS[name] / name).read_bytes()


@pytest.mark.parametrize(
    "place",
    [
        "/docs/assets/0000000000000000/docs.js",
        "/docs/assets/{release}/none.js",
        "/docs/assets/{release}/..%2fdocs.html",
        "/docs/assets/{release}/docs.html",
        "/docs/assets/{release}/%00",
    ],
)
def test_no_other_file_is_given(still_world: World, place: str) -> None:
    (release,) = set(re.findall(r"/docs/assets/([0-9a-f]+)/", _page(still_world)))
    problem_of(still_world.ask("GET", place.format(release=release), None), 404, "not_found")


def _reached(driver: WebDriver, selector: str) -> bool:
    """Whether an operation is there; a long contract is shown as far as it is scrolled."""
    if driver.find_elements(By.CSS_SELECTOR, selector):
        return True
    driver.execute_script("scrollBy(0, innerHeight)")
    return False


def test_a_browser_shows_every_operation(still_world: World) -> None:
    server = make_server("127.0.0.1", 0, still_world.client.application, threaded=True)
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        with browser(*DESK) as driver:
            driver.get(f"http://127.0.0.1:{server.port}/docs")
            for operation in (
                "create_estimate",
                "create_sweep",
                "create_quote",
                "get_quote_workings",
            ):
                shown = f"[id^=operations-][id$=-{operation}]"
                wait_for(lambda one=shown: _reached(driver, one))
            told = [entry["message"] for entry in driver.get_log("browser")]
    finally:
        server.shutdown()
        thread.join(60)
        server.server_close()
    assert not [line for line in told if "Content Security Policy" in line]
