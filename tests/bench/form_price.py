"""From a stroke in the quote form to the new price on the screen, in a real browser.

    python -m tests.bench.form_price [ROUNDS]

Each round loads the page anew and types a width and a height. The clock starts at the key event's
own time stamp and stops in the second frame after the price has changed, so that layout and
painting are in it; the page's own measure is not used. The first price of a fresh page is told
apart from the strokes that follow. The aim is 100 ms for the first.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

from selenium.webdriver.chrome.webdriver import WebDriver
from selenium.webdriver.common.by import By

from tests.deploy.browser import DESK, TELEPHONE, browser
from tests.deploy.live import new_key, served, set_up
from tests.waiting import wait_for

AIM = 100
STROKES = ("2", "0", " 1/2")
"""What is typed between two prices; the clock starts at the last key of each."""
WATCH = """
window.strokes = []; let began = 0;
addEventListener('keydown', (event) => { began = event.timeStamp; }, true);
new MutationObserver(() => {
  const since = began;
  if (!/\\d/.test(document.getElementById('price').textContent)) return;
  requestAnimationFrame(() => requestAnimationFrame(
    () => window.strokes.push(performance.now() - since)));
}).observe(document.getElementById('price'), {childList: true, characterData: true, subtree: true});
"""


def one_round(driver: WebDriver, address: str) -> list[float]:
    """The milliseconds from a stroke to its price, the first one first."""
    driver.get(address)
    wait_for(lambda: driver.execute_script("return document.documentElement.dataset.ready"))
    driver.execute_script(WATCH)
    driver.find_element(By.NAME, "width").send_keys("16 3/8")
    height = driver.find_element(By.NAME, "height")
    for count, strokes in enumerate(STROKES, start=1):
        height.send_keys(strokes)
        wait_for(lambda count=count: driver.execute_script("return strokes.length") >= count)
    times: list[float] = driver.execute_script("return strokes")
    return times


def told(name: str, times: list[float]) -> None:
    """Print one line of figures."""
    cuts = statistics.quantiles(times, n=20)
    print(
        f"{name:32} {len(times):4} times: median {statistics.median(times):5.1f} ms, "
        f"95 % within {cuts[18]:5.1f} ms, most {max(times):5.1f} ms"
    )


def main(rounds: int) -> int:
    """Measure on a desk's and on a telephone's screen; 1 where the first price is too late."""
    late = False
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'form.sqlite3'}"
        set_up(url)
        with served(url, FRAMING_QUOTES_FORM_KEY=new_key(url, "price")) as live:
            for name, size, telephone in (("desk", DESK, False), ("telephone", TELEPHONE, True)):
                with browser(*size, telephone=telephone) as driver:
                    found = [one_round(driver, live.base) for _ in range(rounds)]
                first = [times[0] for times in found]
                told(f"{name}, first price of a page", first)
                told(f"{name}, every later stroke", [ms for times in found for ms in times[1:]])
                late = late or statistics.median(first) > AIM
    return int(late)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 30))
