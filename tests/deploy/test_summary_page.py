"""The owner's page in a real browser, over a live service: a key, figures, paper, and out again.

Accessibility is judged by axe-core.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator
from typing import Any

import pytest
import requests
from pypdf import PdfReader
from selenium.webdriver.chrome.webdriver import WebDriver
from selenium.webdriver.common.by import By

from tests.deploy.browser import DESK, TELEPHONE, browser, next_page, violations
from tests.deploy.live import Served, new_key, served, set_up
from tests.waiting import PATIENCE

GLASS = {
    "artwork": {"width": "8", "height": "10"},
    "presentation": "full_bleed",
    "glazing": {"sheet": "GLZ-PG20"},
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, str, dict[str, Any]]]:
    """A live service, a key for its page, and the one quote that was sold there."""
    url = f"sqlite:///{tmp_path_factory.mktemp('summary') / 'summary.sqlite3'}"
    set_up(url)
    key, counter = new_key(url, "reports"), new_key(url, "counter")
    with served(url) as live:
        quotes = f"{live.base}/v1/quotes"
        headers = {"Authorization": f"Bearer {counter}", "If-Match": "*"}
        quote = requests.post(
            quotes, json={"jobs": [GLASS]}, headers=headers, timeout=PATIENCE
        ).json()
        taken = requests.post(f"{quotes}/{quote['id']}/accept", headers=headers, timeout=PATIENCE)
        assert taken.ok, taken.text
        yield live, key, quote


def entered(driver: WebDriver, shop: tuple[Served, str, dict[str, Any]]) -> None:
    driver.get(f"{shop[0].base}/summary")
    driver.find_element(By.ID, "key").send_keys(shop[1])
    with next_page(driver):
        driver.find_element(By.CSS_SELECTOR, "form button").click()


def test_a_key_opens_it_and_it_prints(shop: tuple[Served, str, dict[str, Any]]) -> None:
    with browser(*DESK) as desk:
        desk.get(f"{shop[0].base}/summary")
        assert violations(desk) == []
        entered(desk, shop)
        assert desk.current_url == f"{shop[0].base}/summary"
        text = desk.find_element(By.TAG_NAME, "main").text
        assert shop[2]["totals"]["total"] in text
        assert len(desk.find_elements(By.CSS_SELECTOR, "svg[role=img]")) == 4
        assert violations(desk) == []
        assert desk.get_log("browser") == []  # nothing was kept out by the page's own policy
        assert desk.execute_script("return document.cookie") == ""
        printed = desk.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        pages = PdfReader(io.BytesIO(base64.b64decode(printed["data"]))).pages
        assert len(pages) <= 2
        words = pages[0].extract_text()
        assert shop[2]["totals"]["total"] in words
        assert "Leave" not in words
        with next_page(desk):
            desk.find_element(By.CSS_SELECTOR, "header button").click()
        assert desk.find_element(By.ID, "key").is_displayed()
        desk.get(f"{shop[0].base}/summary?show=days")
        assert desk.find_element(By.ID, "key").is_displayed()


def test_a_wrong_key_is_said_beside_the_field(shop: tuple[Served, str, dict[str, Any]]) -> None:
    with browser(*DESK) as desk:
        entered(desk, (shop[0], "fq_wrong", shop[2]))
        field = desk.find_element(By.ID, "key")
        said = desk.find_element(By.ID, field.get_attribute("aria-describedby") or "")
        assert "not known" in said.text
        assert field.get_attribute("value") == ""
        assert violations(desk) == []


def test_it_fits_a_telephone(shop: tuple[Served, str, dict[str, Any]]) -> None:
    with browser(*TELEPHONE, telephone=True) as telephone:
        entered(telephone, shop)
        wide = telephone.execute_script("return document.documentElement.scrollWidth")
        assert wide <= TELEPHONE[0]
        assert violations(telephone) == []
