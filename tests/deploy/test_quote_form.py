"""The quote form in a real browser: prices that follow, faults in their place, a quote on paper.

Sizes are held to the example worked in `tests/golden/test_whole_jobs.py`; accessibility is judged
by axe-core.
"""

from __future__ import annotations

import base64
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests
from pypdf import PdfReader
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.chrome.webdriver import WebDriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from service.app import customers as answering
from service.domain.jobs.artwork import ART_KINDS
from tests.deploy.browser import DESK, TELEPHONE, browser, violations
from tests.deploy.live import Served, new_key, served, set_up
from tests.waiting import PATIENCE, wait_for

CONTACT = {"name": "A. Invented", "email": "a@invented.example", "telephone": "207 555 0143"}
"""Invented; 555-0100 to 555-0199 are kept for fiction, `example` by RFC 2606."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, str]]:
    url = f"sqlite:///{tmp_path_factory.mktemp('form') / 'form.sqlite3'}"
    set_up(url)
    with served(url, FRAMING_QUOTES_FORM_KEY=new_key(url, "price")) as live:
        yield live, url


@pytest.fixture(scope="module")
def desk() -> Iterator[WebDriver]:
    with browser(*DESK) as driver:
        yield driver


@pytest.fixture
def page(shop: tuple[Served, str], desk: WebDriver) -> WebDriver:
    return _opened(desk, shop[0].base)


def _opened(driver: WebDriver, address: str) -> WebDriver:
    """The page as somebody sees it who was never there."""
    nothing_kept = {"origin": address.partition("/?")[0], "storageTypes": "local_storage"}
    driver.execute_cdp_cmd("Storage.clearDataForOrigin", nothing_kept)
    return _opened_again(driver, address)


def _opened_again(driver: WebDriver, address: str) -> WebDriver:
    driver.get(address)
    wait_for(lambda: driver.execute_script("return document.documentElement.dataset.ready"))
    driver.get_log("browser")
    return driver


def _type(driver: WebDriver, name: str, text: str) -> None:
    field = driver.find_element(By.NAME, name)
    field.clear()
    field.send_keys(text)


def _choose(driver: WebDriver, name: str, value: str) -> None:
    driver.execute_script(
        "const [name, value] = arguments;"
        "const field = document.getElementById('order').elements[name];"
        "field.value = value;"
        "const one = field instanceof RadioNodeList ? [...field].find(e => e.checked) : field;"
        "one.dispatchEvent(new Event('input', {bubbles: true}))",
        name,
        value,
    )


def _text(driver: WebDriver, found: str) -> str:
    """Return what it says; looked at again where the page writes it anew in between."""
    (text,) = wait_for(
        lambda: (driver.find_element(By.CSS_SELECTOR, found).text,), StaleElementReferenceException
    )
    return str(text)


def _settled(driver: WebDriver) -> str:
    """The price once no question is under way."""
    wait_for(
        lambda: "stale" not in driver.find_element(By.CSS_SELECTOR, ".wall").get_attribute("class")
    )
    return _text(driver, "#price")


def _worked_example(driver: WebDriver) -> None:
    """The job worked in `tests/golden/test_whole_jobs.py`, with the demo's items."""
    for name, text in (("width", "16 3/8"), ("height", "20"), ("border", "3"), ("foot", "3 1/2")):
        _type(driver, name, text)
    for name, value in (
        ("mat", "BRD-1204"),
        ("under", "BRD-1310"),
        ("moulding", "MLD-OAK125"),
        ("glazing", "GLZ-UV20"),
    ):
        _choose(driver, name, value)
    _type(driver, "reveal", "1/4")


def _document(driver: WebDriver) -> Any:
    """The document that the page asks a price for."""
    return json.loads(
        driver.execute_async_script(
            "const done = arguments[0];"
            "const form = document.querySelector('script[type=module]').src;"
            "import(form.replace('form.js', 'order.js')).then(o => done(o.document_(false)))"
        )
    )


def _first_choices(driver: WebDriver) -> Any:
    """What the form begins with, as the document of a picture of some size."""
    _type(driver, "width", "11")
    _type(driver, "height", "14")
    return _document(driver)


def _told_who(driver: WebDriver) -> None:
    for name, text in CONTACT.items():
        _type(driver, name, text)


def _look_over(driver: WebDriver) -> None:
    driver.find_element(By.ID, "ask").click()
    wait_for(lambda: driver.find_element(By.ID, "review").is_displayed())


def _numbers(shop: tuple[Served, str]) -> set[str]:
    """The numbers of the quotes that the shop has stored."""
    counter = {"Authorization": f"Bearer {new_key(shop[1], 'counter')}"}
    found = requests.get(f"{shop[0].base}/v1/quotes", headers=counter, timeout=PATIENCE).json()
    return {quote["number"] for quote in found["items"]}


def test_the_price_is_that_of_the_same_document_sent_by_hand(
    page: WebDriver, shop: tuple[Served, str]
) -> None:
    _worked_example(page)
    answer = requests.post(
        f"{shop[0].base}/v1/estimates",
        data=json.dumps(_document(page)),
        headers={
            "Authorization": f"Bearer {new_key(shop[1], 'price')}",
            "Content-Type": "application/json",
        },
        timeout=PATIENCE,
    ).json()
    assert _settled(page) == f"${answer['totals']['total']}"
    # Worked by hand: outside 24 3/4 x 28 7/8, under mat's opening 16 1/8 x 19 3/4.
    assert "24 3/4 × 28 7/8 in outside" in _text(page, "#measure")
    told = page.find_element(By.ID, "picture").get_attribute("aria-label")
    assert (
        told
        == "The framed picture to scale: 24 3/4 by 28 7/8 in outside, opening 16 1/8 by 19 3/4 in"
    )


def test_the_picture_is_to_scale(page: WebDriver) -> None:
    """Worked by hand: sight 22 1/4 x 26 3/8, under mat's opening 16 1/8 x 19 3/4."""
    _worked_example(page)
    _settled(page)
    boxes: list[dict[str, float]] = page.execute_script(
        "const of = (e) => { const r = e.getBoundingClientRect();"
        " return {w: r.width, h: r.height}; };"
        "const p = document.getElementById('picture');"
        "const rails = [...p.querySelectorAll('polygon')].map(of);"
        "const sheets = [...p.querySelectorAll('path[fill-rule]')].map(of);"
        "const most = (side) => Math.max(...rails.map(r => r[side]));"
        "return [{w: most('w'), h: most('h')}, sheets[0]]"
    )
    outside, package = boxes
    per_inch = outside["w"] / 24.75
    assert outside["h"] / per_inch == pytest.approx(28.875, abs=0.15)
    assert package["w"] / per_inch == pytest.approx(22.625, abs=0.15)
    assert package["h"] / per_inch == pytest.approx(26.75, abs=0.15)
    holes = page.execute_script(
        "return [...document.querySelectorAll('#picture path[fill-rule]')]"
        ".map(e => e.getAttribute('d'))"
    )
    inner = re.search(r"M[\d.]+ [\d.]+v([\d.]+)h([\d.]+)v-", holes[0])
    assert inner is not None
    assert [float(inner[2]), float(inner[1])] == [16.125, 19.75]


def test_the_first_question_leaves_at_once_and_is_the_only_one(page: WebDriver) -> None:
    """No pause comes before it. How long the answer takes is measured by `bench/form_price`."""
    page.execute_script(
        "const later = window.setTimeout, real = window.fetch;"
        "window.pauses = []; window.asked = [];"
        "window.setTimeout = (run, pause = 0) => { pauses.push(pause); return later(run, pause); };"
        "window.fetch = (path, more) => { asked.push(path); return real(path, more); };"
    )
    _type(page, "width", "11")
    page.find_element(By.NAME, "height").send_keys("1")
    wait_for(lambda: page.execute_script("return performance.getEntriesByName('price').length"))
    pauses, asked = page.execute_script("return [pauses, asked]")
    assert pauses
    assert {*pauses} == {0}
    assert asked == ["/v1/estimates"]


def test_only_the_last_answer_counts(page: WebDriver) -> None:
    """Answers that come late, and in the wrong order, do not overwrite the newest."""
    _type(page, "width", "11")
    # The first question is held until the test lets it go. `read` is set once the page has dealt
    # with the answer: a timer's turn comes after whatever waits for a promise.
    page.execute_script(
        "const real = window.fetch; window.asked = 0;"
        "const held = new Promise(go => { window.letGo = go; });"
        "window.fetch = async (path, {signal, ...rest}) => {"
        " if ((asked += 1) > 1) return real(path, rest);"
        " await held; const answer = await real(path, rest), json = answer.json.bind(answer);"
        " answer.json = () => json().finally(() => setTimeout(() => { window.read = true; }));"
        " return answer; };"
    )
    page.find_element(By.NAME, "height").send_keys("9")
    wait_for(lambda: page.execute_script("return asked") == 1)
    page.find_element(By.NAME, "height").send_keys("0")
    wait_for(lambda: "outside" in _text(page, "#measure"))
    newest = _text(page, "#measure")
    page.execute_script("letGo()")
    wait_for(lambda: page.execute_script("return window.read"))
    assert _text(page, "#measure") == newest
    # 11 and 90, less 1/8 overlap and plus 3 of mat a side, 1/4 allowance (acrylic over 48 in), and
    # 3/4 of face less 1/4 of lip a side: 11 - 1/4 + 6 + 1/4 + 1, and the same with 90.
    assert newest == "18 × 97 in outside"


def test_every_fault_stands_by_its_field(page: WebDriver) -> None:
    _worked_example(page)
    _type(page, "width", "sixteen")
    _type(page, "border", "3x")
    _type(page, "reveal", "-1")
    _type(page, "quantity", "0")
    page.find_element(By.NAME, "name").click()
    wait_for(lambda: len(page.find_elements(By.CSS_SELECTOR, "[aria-invalid]")) == 4)
    assert _settled(page).strip() == ""
    for name, words in (("width", "sixteen"), ("border", "unit"), ("quantity", "1")):
        assert words in _text(page, f"#{name}-note .fault")
    for field in page.find_elements(By.CSS_SELECTOR, "[aria-invalid]"):
        note = field.get_attribute("aria-describedby")
        assert page.find_element(By.ID, note).text
    assert not _text(page, "#loose")
    assert violations(page) == []


def test_a_half_typed_size_is_not_called_wrong_at_once(page: WebDriver) -> None:
    _type(page, "height", "20")
    # What the page would do after more than a moment is done when the test says so.
    page.execute_script(
        "const real = window.setTimeout; window.later = [];"
        "window.setTimeout = (run, pause) => pause > 100 ? later.push(run) && 0 : real(run, pause);"
    )
    page.find_element(By.NAME, "width").send_keys("16 3/")
    _settled(page)
    wait_for(lambda: page.execute_script("return later.length"))
    assert not page.find_elements(By.CSS_SELECTOR, "#width-note .fault")
    page.execute_script("later.at(-1)()")
    assert page.find_elements(By.CSS_SELECTOR, "#width-note .fault")


def test_what_the_shop_should_mind_stands_by_its_field(page: WebDriver) -> None:
    _type(page, "width", "16")
    _type(page, "height", "20")
    _choose(page, "presentation", "full_bleed")
    _settled(page)
    assert "glazing lies on the art" in _text(page, "#spacer-note .warning")


def test_inches_that_were_typed_stay_inches(page: WebDriver) -> None:
    _type(page, "width", "16 3/8")
    _type(page, "height", "20")
    _type(page, "border", "2 1/2")
    before = _settled(page)
    _choose(page, "units", "cm")
    assert _settled(page) == before
    # 1 in = 2.54 cm: 16.375 x 2.54 = 41.5925, 2.5 x 2.54 = 6.35, and the usual 1/4 of reveal 0.635.
    for name, shown in (
        ("width", "41.5925"),
        ("height", "50.8"),
        ("border", "6.35"),
        ("reveal", "0.635"),
    ):
        assert page.find_element(By.NAME, name).get_attribute("value") == shown
    assert "cm outside" in _text(page, "#measure")
    _type(page, "height", "50.8")
    assert _settled(page) == before  # 20 in, exactly
    _choose(page, "units", "in")
    assert _settled(page) == before
    assert page.find_element(By.NAME, "width").get_attribute("value") == "16 3/8"
    assert page.find_element(By.NAME, "height").get_attribute("value") == "20"


def test_a_unit_changes_what_is_shown_and_never_the_job(page: WebDriver) -> None:
    """41.6 cm = 41.6/2.54 = 16.37795... in: shown near, sent as it was typed."""
    _choose(page, "units", "cm")
    _type(page, "width", "41.6")
    _type(page, "height", "50")
    before = _settled(page)
    for unit, shown in (("in", "≈16.378"), ("cm", "41.6"), ("in", "≈16.378")):
        _choose(page, "units", unit)
        assert page.find_element(By.NAME, "width").get_attribute("value") == shown
        assert _settled(page) == before
        (job,) = _document(page)["jobs"]
        assert (job["artwork"]["width"], job["artwork"]["height"]) in (
            ("41.6 cm", "50 cm"),
            ("41.6", "50"),
        )


def test_nothing_that_stands_there_is_changed_by_a_unit(page: WebDriver) -> None:
    """The borders and margins that the form begins with are kept as well: 3 in is 7.62 cm."""
    _type(page, "width", "16")
    _type(page, "height", "20")
    before = _settled(page)
    _choose(page, "units", "cm")
    assert page.find_element(By.NAME, "border").get_attribute("value") == "7.62"
    assert _settled(page) == before


def test_a_canvas_on_bars_is_not_stretched_again(page: WebDriver, shop: tuple[Served, str]) -> None:
    """The price is that of the same document without a mounting, and less than with one."""
    _type(page, "width", "16")
    _type(page, "height", "20")
    _choose(page, "kind", "canvas")
    _choose(page, "presentation", "floater")
    as_it_is = _settled(page)
    assert "mounting" not in _document(page)["jobs"][0]
    _choose(page, "method", "stretched")
    stretched = _settled(page)
    assert float(as_it_is.lstrip("$")) < float(stretched.lstrip("$"))
    _choose(page, "kind", "photograph")
    _choose(page, "presentation", "overlap")
    assert _document(page)["jobs"][0]["mounting"]["method"] == "stretched"  # it was chosen


def test_choices_are_there_again_after_a_reload(page: WebDriver, shop: tuple[Served, str]) -> None:
    _worked_example(page)
    _told_who(page)
    _choose(page, "units", "cm")
    _choose(page, "method", "corners")
    price, document = _settled(page), _document(page)
    _opened_again(page, shop[0].base)
    assert _document(page) == document
    assert _settled(page) == price
    for name in CONTACT:  # who the customer is, is not kept
        assert not page.find_element(By.NAME, name).get_attribute("value")
    kept = page.execute_script("return JSON.stringify({...localStorage})")
    assert not any(text in kept for text in CONTACT.values())
    page.find_element(By.ID, "anew").click()
    assert page.find_element(By.NAME, "width").get_attribute("value") == ""
    assert page.execute_script("return localStorage.length") == 0
    fresh = _first_choices(page)
    _opened(page, shop[0].base)
    assert _first_choices(page) == fresh


def test_what_was_kept_and_cannot_be_read_does_no_harm(
    page: WebDriver, shop: tuple[Served, str]
) -> None:
    _type(page, "width", "11")
    (key,) = page.execute_script("return Object.keys(localStorage)")
    stale = '{"values": {"kind": "none", "mat": "gone"}, "touched": []'
    for text in ("{", "null", "3", stale + "}", stale + ', "finishing": []}'):
        page.execute_script("localStorage.setItem(arguments[0], arguments[1])", key, text)
        _opened_again(page, shop[0].base)
        _type(page, "width", "11")
        _type(page, "height", "14")
        assert re.fullmatch(r"\$\d+\.\d\d", _settled(page))


def test_mouldings_are_named_in_the_unit_that_is_typed_in(page: WebDriver) -> None:
    """A face of 3/4 in is 1.905 cm: exactly 25.4 mm to the inch."""
    _choose(page, "moulding", "MLD-OAK125")
    _choose(page, "units", "cm")
    chosen = (
        "const e = document.getElementById('order').elements.moulding;"
        "return e.selectedOptions[0].text"
    )
    assert page.execute_script(chosen).endswith(", ≈3.2 cm wide")
    _choose(page, "units", "in")
    assert page.execute_script(chosen).endswith(", 1 1/4 in wide")


def test_whoever_comes_back_from_a_canvas_frame_has_the_kind_chosen_before(
    page: WebDriver,
) -> None:
    kind = page.find_element(By.NAME, "kind")
    _choose(page, "kind", "photograph")
    _choose(page, "presentation", "floater")
    assert kind.get_attribute("value") == "canvas"
    _choose(page, "presentation", "float")
    assert kind.get_attribute("value") == "photograph"


def test_what_is_shown_before_and_after_is_told(page: WebDriver) -> None:
    """An example is called one, and a picture that is no longer true is faded."""
    wait_for(lambda: "for instance: 11" in _text(page, "#measure").replace("\u00a0", " "))
    _worked_example(page)
    _settled(page)
    faded = "return getComputedStyle(document.getElementById('picture')).opacity"
    assert page.execute_script(faded) == "1"
    page.find_element(By.NAME, "width").send_keys(Keys.CONTROL, "a", Keys.DELETE)
    wait_for(lambda: float(page.execute_script(faded)) < 1)
    assert not _text(page, "#measure")


def test_keys_alone_lead_from_the_first_field_to_a_printed_quote(page: WebDriver) -> None:
    """WCAG 2.2, 2.1.1 (keyboard), 2.1.2 (no trap), 2.4.7 (focus seen), 2.4.11 (not covered)."""
    page.execute_script("window.print = () => { document.documentElement.dataset.printed = 1; }")
    met = []

    def here() -> str:
        told: list[Any] = page.execute_script(
            "const e = document.activeElement; const r = e.getBoundingClientRect();"
            "const seen = e.matches('input[type=radio], input[type=checkbox]')"
            " ? e.closest('label') : e; const box = seen.getBoundingClientRect();"
            "const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);"
            "const ring = [...seen.querySelectorAll('*'), seen]"
            ".some(one => getComputedStyle(one).outlineStyle !== 'none');"
            "return [e.name || e.id || e.textContent, ring,"
            " box.top < innerHeight && (at === e || seen.contains(at) || e.contains(at))]"
        )
        name, ring, in_sight = told
        assert ring, f"nothing shows that {name} has the focus"
        assert in_sight, f"{name} has the focus and is not in sight"
        return str(name)

    def go(*keys: str) -> str:
        ActionChains(page).send_keys(*keys).perform()
        return here()

    while (name := go(Keys.TAB)) != "ask":
        met.append(name)
        if name in CONTACT:
            go(CONTACT[name])
        if name in ("width", "height"):
            go("11")
        if name == "presentation":
            go(Keys.ARROW_DOWN)
        assert len(met) < 60
    assert met[:3] == ["width", "height", "units"]
    assert {"kind", "presentation", "float_margin", "mat", "moulding", "glazing", "name"} <= {*met}
    assert re.fullmatch(r"\$\d+\.\d\d", _settled(page))
    ActionChains(page).send_keys(Keys.ENTER).perform()
    wait_for(lambda: page.find_element(By.ID, "review").is_displayed())
    assert page.execute_script("return document.activeElement.id") == "review-title"
    assert go(Keys.TAB) == "send"
    ActionChains(page).send_keys(Keys.ENTER).perform()
    wait_for(lambda: page.find_element(By.ID, "sheet").is_displayed())
    assert page.execute_script("return document.activeElement.id") == "sheet"
    assert go(Keys.TAB) == "Print it"
    ActionChains(page).send_keys(Keys.SPACE).perform()
    assert page.execute_script("return document.documentElement.dataset.printed") == "1"
    assert go(Keys.TAB) == "Another picture"
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert here() == "width"


@pytest.mark.parametrize("way", ["float", "full_bleed", "floater"])
def test_every_way_of_sitting_has_a_price_and_a_picture(page: WebDriver, way: str) -> None:
    _type(page, "width", "16")
    _type(page, "height", "20")
    _choose(page, "presentation", way)
    assert re.fullmatch(r"\$\d+\.\d\d", _settled(page))
    assert page.find_elements(By.CSS_SELECTOR, "#picture polygon")
    assert violations(page) == []


@pytest.mark.parametrize("name", ["width", "height", "border", "name", "email", "label"])
def test_enter_in_a_field_stores_nothing(
    page: WebDriver, shop: tuple[Served, str], name: str
) -> None:
    before = _numbers(shop)
    _worked_example(page)
    _told_who(page)
    price = _settled(page)
    page.find_element(By.NAME, name).send_keys(Keys.ENTER)
    assert _settled(page) == price
    assert not page.find_element(By.ID, "review").is_displayed()
    assert _numbers(shop) == before


def test_the_review_stores_nothing_until_it_is_asked_for(
    page: WebDriver, shop: tuple[Served, str]
) -> None:
    before = _numbers(shop)
    _worked_example(page)
    _told_who(page)
    price = _settled(page)
    _look_over(page)
    told = _text(page, "#reviewed")
    for words in (price, "16 3/8 in × 20 in, a work on paper", "Oak", *CONTACT.values()):
        assert words in told
    ActionChains(page).send_keys(Keys.ENTER).perform()
    page.find_element(By.ID, "back").click()
    assert not page.find_element(By.ID, "review").is_displayed()
    assert page.execute_script("return document.activeElement.id") == "ask"
    assert _numbers(shop) == before


def test_what_cannot_be_made_cannot_be_asked_for(page: WebDriver, shop: tuple[Served, str]) -> None:
    """No stock sheet is 90 in wide and 90 in high: a mat of it cannot be cut from one."""
    before = _numbers(shop)
    _told_who(page)
    _type(page, "width", "90")
    _type(page, "height", "90")
    wait_for(lambda: page.find_elements(By.CSS_SELECTOR, "#mat-note .stop"))
    assert "no stock sheet" in _text(page, "#mat-note .stop").lower()
    assert not page.find_element(By.ID, "ask").is_enabled()
    assert "cannot be asked for" in _text(page, "#asked")
    assert not _settled(page).strip()
    assert violations(page) == []
    _type(page, "width", "16")
    _type(page, "height", "20")
    wait_for(lambda: page.find_element(By.ID, "ask").is_enabled())
    assert not _text(page, "#asked")
    assert _numbers(shop) == before


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"name": ""}, "name", "name"),
        ({"email": "", "telephone": ""}, "email", "reached"),
        ({"email": "not-an-email"}, "email", "email"),
        ({"email": "a@b..example"}, "email", "email"),  # found by the service alone
        ({"telephone": "12"}, "telephone", "telephone"),
        ({"telephone": "207 555 0143 207 555 0143"}, "telephone", "telephone"),  # as above
    ],
)
def test_nobody_asks_who_cannot_be_answered(
    page: WebDriver, shop: tuple[Served, str], given: dict[str, str], field: str, words: str
) -> None:
    """Page and service say it in the same words."""
    before = _numbers(shop)
    _worked_example(page)
    for name, text in {**CONTACT, **given}.items():
        _type(page, name, text)
    _settled(page)
    page.find_element(By.ID, "ask").click()
    told = f"#{field}-note .fault"
    review = page.find_element(By.ID, "review")
    wait_for(lambda: review.is_displayed() or page.find_elements(By.CSS_SELECTOR, told))
    if review.is_displayed():
        page.find_element(By.ID, "send").click()
        wait_for(lambda: page.find_elements(By.CSS_SELECTOR, told))
        assert not review.is_displayed()
    assert _text(page, told).lower() == answering.CONTACT[words].lower()
    assert page.execute_script("return document.activeElement.name") == field
    assert violations(page) == []
    assert _numbers(shop) == before


def test_the_shop_can_be_reached_and_says_what_it_keeps(
    shop: tuple[Served, str], tmp_path: Path
) -> None:
    """The letterhead is the demo shop's; the days are those of the settings."""
    told = requests.get(shop[0].base, timeout=PATIENCE).text
    for words in ("14 Ropewalk Lane", "Tuesday to Friday 10 to 6", 'href="tel:+12075550142"'):
        assert words in told
    assert 'href="mailto:counter@lanternquay.example"' in told
    assert "kept until you ask the shop to erase it" in told
    url = f"sqlite:///{tmp_path / 'kept.sqlite3'}"
    set_up(url)
    days = {"FRAMING_QUOTES_KEEP_CUSTOMERS_DAYS": "400", "FRAMING_QUOTES_KEEP_UNSOLD_DAYS": "90"}
    with served(url, FRAMING_QUOTES_FORM_KEY=new_key(url, "price"), **days) as live:
        told = requests.get(live.base, timeout=PATIENCE).text
    assert "not changed for 400 days" in told
    assert "deleted after 90 days" in told


def test_the_form_begins_with_what_the_shop_has_for_the_kind_of_art(
    desk: WebDriver, tmp_path: Path
) -> None:
    """What the customer chose stays; a code that is not on sale is passed over."""
    url = f"sqlite:///{tmp_path / 'presets.sqlite3'}"
    set_up(url)
    key = {"Authorization": f"Bearer {new_key(url, 'admin')}", "If-Match": "*"}
    with served(url, FRAMING_QUOTES_FORM_KEY=new_key(url, "price")) as live:
        settings = requests.get(f"{live.base}/v1/shop", headers=key, timeout=PATIENCE).json()
        settings["quote_form"]["presets"] = [
            {"art": "paper", "mat": "BRD-1310", "moulding": "MLD-ASH075", "glazing": "GONE"},
            {"art": "photograph", "presentation": "float", "under": "", "finishing": ["wire"]},
            {"art": "canvas", "presentation": "floater", "finishing": []},
        ]
        changed = requests.put(f"{live.base}/v1/shop", json=settings, headers=key, timeout=PATIENCE)
        assert changed.status_code == 200, changed.text
        usual = _opened(desk, live.base)
        begun = _first_choices(usual)["jobs"][0]
        assert begun["mats"][0]["board"] == "BRD-1310"
        assert begun["frames"] == [{"moulding": "MLD-ASH075"}]
        assert begun["glazing"]["sheet"] != "GONE"
        _choose(desk, "kind", "canvas")
        canvas = _document(desk)["jobs"][0]
        assert (canvas["presentation"], canvas["finishing"]) == ("floater", [])
        _choose(desk, "kind", "paper")
        assert _document(desk)["jobs"][0] == begun
        _choose(desk, "mat", "BRD-1204")
        _choose(desk, "kind", "photograph")
        photograph = _document(desk)["jobs"][0]
        assert photograph["presentation"] == "float"
        assert photograph["finishing"] == ["wire"]
        assert photograph["mats"][0]["board"] == "BRD-1204"
        assert photograph["mounting"]["method"] == "float_hinged"


def test_a_quote_is_stored_once_and_prints(page: WebDriver, shop: tuple[Served, str]) -> None:
    counter = {"Authorization": f"Bearer {new_key(shop[1], 'counter')}"}

    before = _numbers(shop)
    _worked_example(page)
    _told_who(page)
    _type(page, "label", "Harbour etching")
    total = _settled(page).lstrip("$")
    page.execute_script(
        "let asked = 0; const real = window.fetch;"
        "window.fetch = (path, more) => path === '/v1/quotes' && (asked += 1) === 1"
        " ? real(path, more).then(() => Promise.reject(new TypeError('the line went dead')))"
        " : real(path, more);"
    )
    _look_over(page)
    assert violations(page) == []
    assert total in _text(page, "#reviewed")
    assert _numbers(shop) == before
    button = page.find_element(By.ID, "send")
    button.click()
    wait_for(lambda: "never stored twice" in _text(page, "#sent"))
    button.click()
    wait_for(lambda: page.find_element(By.ID, "sheet").is_displayed())
    number = _text(page, "#sheet h2").removeprefix("Quote ")
    address = f"{shop[0].base}/v1/quotes/{number}"
    stored = requests.get(address, headers=counter, timeout=PATIENCE).json()
    assert stored["status"] == "draft"
    assert stored["customer"]["name"] == "A. Invented"
    assert stored["totals"]["total"] == total
    assert _numbers(shop) == before | {number}
    assert violations(page) == []
    printed = page.execute_cdp_cmd("Page.printToPDF", {"printBackground": True})["data"]
    pdf = PdfReader(io.BytesIO(base64.b64decode(printed)))
    text = " ".join(sheet.extract_text() for sheet in pdf.pages)
    assert number in text
    assert total in text
    assert "Ask for this quote" not in text
    assert len(pdf.pages) == 1


@pytest.mark.parametrize(
    ("size", "telephone"), [(TELEPHONE, True), (TELEPHONE[::-1], True), (DESK, False)]
)
def test_the_page_fits_and_is_accessible(
    shop: tuple[Served, str], size: tuple[int, int], telephone: bool
) -> None:
    with browser(*size, telephone=telephone) as driver:
        _opened(driver, shop[0].base)
        assert violations(driver) == []
        _worked_example(driver)
        driver.execute_script("document.getElementById('behind').open = true")
        _settled(driver)
        assert violations(driver) == []
        wide, room = driver.execute_script(
            "return [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert wide <= room
        if telephone:  # picture and price stay in sight, and leave room to type
            driver.execute_script("scrollTo(0, 900)")
            top, high, of = driver.execute_script(
                "const wall = document.querySelector('.wall').getBoundingClientRect();"
                "return [wall.top, wall.height, innerHeight]"
            )
            assert top == 0
            assert high < of / 4
        told = [entry["message"] for entry in driver.get_log("browser")]
        assert not [line for line in told if "422" not in line]


def test_the_page_is_strict_about_where_things_come_from(shop: tuple[Served, str]) -> None:
    answer = requests.get(shop[0].base, timeout=PATIENCE)
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
    assert "unsafe" not in policy
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", answer.text)
    inside: list[Any] = re.findall(r"<script[^>]*>(.*?)</script>", answer.text, re.DOTALL)
    assert not any(part.strip() for part in inside)
    # The logo is the shop's and checked; a telephone number and a mail address load nothing.
    own = ("/form/", "data:,", "data:image/svg+xml;base64,", "tel:", "mailto:")
    assert all(place.startswith(own) for place in
               re.findall(r'(?:src|href)="([^"]+)"', answer.text))  # fmt: skip
    (release,) = set(re.findall(r"/form/([0-9a-f]+)/", answer.text))
    for name in ("../quote_form.py", "form.html", "none.js"):
        assert (
            requests.get(f"{shop[0].base}/form/{release}/{name}", timeout=PATIENCE).status_code
            == 404
        )


@pytest.mark.parametrize("scopes", [(), ("counter",), ("price", "reports"), ("admin",)])
def test_no_key_that_may_do_more_is_given_away(
    shop: tuple[Served, str], scopes: tuple[str, ...]
) -> None:
    key = new_key(shop[1], *scopes) if scopes else "fq_0123456789abcdef_wrong"
    answer = requests.get(f"{shop[0].base}/?key={key}", timeout=PATIENCE)
    assert answer.status_code == 200
    assert "This form has no key yet" in answer.text
    assert key not in answer.text
    assert "create-key" in answer.text


def test_a_key_behind_the_address_will_do_for_trying(
    shop: tuple[Served, str], desk: WebDriver
) -> None:
    _opened(desk, f"{shop[0].base}/?key={new_key(shop[1], 'price')}")
    _type(desk, "width", "11")
    _type(desk, "height", "14")
    assert re.fullmatch(r"\$\d+\.\d\d", _settled(desk))


def test_the_page_offers_kinds_that_the_service_knows(page: WebDriver) -> None:
    offered = page.execute_script(
        "return [...document.getElementById('order').elements.kind.options].map(o => o.value)"
    )
    assert len(offered) == 7
    assert set(offered) < set(ART_KINDS)
