"""A real browser without a window, for tests of pages; they are skipped where there is none."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.chrome.webdriver import WebDriver

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
    try:
        yield driver
    finally:
        driver.quit()


def wait_for(what: Callable[[], Any], seconds: float = 10) -> Any:
    """The first true answer of `what`, asked again and again."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := what():
            return found
        time.sleep(0.02)
    raise AssertionError("it did not come true in time")


def violations(driver: WebDriver) -> list[str]:
    """What axe-core finds wrong with the page as it stands, one line each."""
    driver.execute_script(AXE.read_text(encoding="utf-8"))
    found = driver.execute_async_script(
        "const done = arguments[0]; axe.run(document).then("
        "r => done(r.violations), e => done([{id: String(e), nodes: []}]))"
    )
    return [f"{each['id']}: {json.dumps([n['target'] for n in each['nodes']])}" for each in found]
