"""A real browser without a window, for tests of pages; they are skipped where there is none."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.chrome.webdriver import WebDriver

from tests.waiting import PATIENCE, wait_for

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")
DRIVER = shutil.which("chromedriver")
AXE = Path(__file__).parent / "axe" / "axe.min.js"
SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-prefers-reduced-motion",  # colours are judged as they stay, not half-way to them
)
TELEPHONE, DESK = (390, 844), (1366, 900)


@contextmanager
def browser(width: int, height: int, *, telephone: bool = False) -> Iterator[WebDriver]:
    """A browser of that size; `telephone` has it behave as one, with touch and its own viewport."""
    if CHROMIUM is None or DRIVER is None:
        pytest.skip("there is no Chromium with its driver on this machine")
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for switch in (*SWITCHES, f"--window-size={width},{height}"):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    if telephone:
        metrics = {"width": width, "height": height, "pixelRatio": 2, "touch": True}
        options.add_experimental_option("mobileEmulation", {"deviceMetrics": metrics})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    driver.set_script_timeout(PATIENCE)
    try:
        yield driver
    finally:
        driver.quit()


@contextmanager
def next_page(driver: WebDriver) -> Iterator[None]:
    """Wait at the end until the page that stood at the beginning has given way to a whole new one.

    A click that sends a form returns before the browser has left the page.
    """
    driver.execute_script("window.former = true")
    yield
    loaded = "return !window.former && document.readyState === 'complete'"
    # While pages change, a script may find no page to run in.
    wait_for(lambda: driver.execute_script(loaded), WebDriverException)


def violations(driver: WebDriver) -> list[str]:
    """What axe-core finds wrong with the page as it stands, one line each."""
    driver.execute_script(AXE.read_text(encoding="utf-8"))
    found = driver.execute_async_script(
        "const done = arguments[0]; axe.run(document).then("
        "r => done(r.violations), e => done([{id: String(e), nodes: []}]))"
    )
    return [f"{each['id']}: {json.dumps([n['target'] for n in each['nodes']])}" for each in found]
