"""The example clients against a live service: the counter's till and the night's run."""

from __future__ import annotations

import csv
import fcntl
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import requests

from service.demo import demo_document
from tests.deploy.live import free_port, new_key, served, set_up

TOP = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    url = f"sqlite:///{tmp_path_factory.mktemp('clients') / 'clients.sqlite3'}"
    set_up(url)
    with served(url) as live:
        yield live.base, url


def _run(
    client: str, *arguments: str | Path, base: str, key: str, till_folder: Path = Path("var/till")
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, f"deploy/clients/{client}.py", *map(str, arguments)],
        cwd=TOP,
        env={**os.environ, "QUOTES_URL": base, "QUOTES_KEY": key, "TILL_FOLDER": str(till_folder)},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


class Counter:
    """A till, and where its files lie."""

    def __init__(self, base: str, key: str, folder: Path) -> None:
        self.base, self.key, self.folder = base, key, folder

    def __call__(self, *arguments: str | Path, ends: int = 0) -> str:
        kept = self.folder / "till"
        done = _run("point_of_sale", *arguments, base=self.base, key=self.key, till_folder=kept)
        assert done.returncode == ends, done.stderr
        return done.stdout if ends == 0 else done.stderr

    def job(self, name: str = "harbour_etching", **changes: object) -> Path:
        path = self.folder / f"{name}.json"
        document = json.loads(json.dumps(demo_document(f"jobs/{name}"), default=str))
        path.write_text(json.dumps({**document, **changes}), encoding="utf-8")
        return path

    def quote(self, number: str) -> dict[str, object]:
        headers = {"Authorization": f"Bearer {self.key}"}
        answer = requests.get(f"{self.base}/v1/quotes/{number}", headers=headers, timeout=60)
        return dict(answer.json())


@pytest.fixture
def till(shop: tuple[str, str], tmp_path: Path) -> Counter:
    return Counter(shop[0], new_key(shop[1], "counter"), tmp_path)


def test_a_till_prices_keeps_accepts_and_prints(till: Counter) -> None:
    priced = till("price", till.job())
    assert "total 330.44 USD" in priced  # the total that the README's console example shows
    kept = till("keep", till.job())
    number = kept.split()[0]
    assert number in till("show", number)
    accepted = till("accept", number)
    assert "accepted" in accepted
    assert "ready on 20" in accepted
    assert "ticket " in accepted
    (file,) = till("print", number, "--to", till.folder / "tickets").splitlines()
    assert Path(file).read_bytes().startswith(b"%PDF-")


def test_a_till_may_press_accept_twice(till: Counter) -> None:
    number = till("keep", till.job()).split()[0]
    first = till("accept", number)
    assert till("accept", number) == first


def test_a_till_that_lost_its_power_keeps_one_quote_of_a_sale(till: Counter) -> None:
    """The answer never came; the key that lies on disk is sent again."""
    job = till.job(reference="power")
    sha = hashlib.sha256(job.read_bytes()).hexdigest()
    (till.folder / "till").mkdir()
    place = till.folder / "till" / f"{sha}.key"
    place.write_text("5c9f6a52-till", encoding="utf-8")
    first = till("keep", job).split()[0]
    assert not place.exists()
    place.write_text("5c9f6a52-till", encoding="utf-8")  # as if it had stopped before the answer
    assert till("keep", job).split()[0] == first
    assert till("keep", job).split()[0] != first  # answered: the next one is another sale


def test_a_till_leaves_the_key_on_disk_where_no_answer_comes(till: Counter) -> None:
    till.base = f"http://127.0.0.1:{free_port()}"
    till("keep", till.job(), ends=75)
    (kept,) = (till.folder / "till").glob("*.key")
    key = kept.read_text(encoding="utf-8")
    till("keep", till.job(), ends=75)
    assert kept.read_text(encoding="utf-8") == key


def test_a_till_reports_payments_and_says_what_cannot_be_made(till: Counter) -> None:
    number = till("keep", till.job()).split()[0]
    till("accept", number)
    paid = ("pay", number, "--amount", "30.44", "--by", "card", "--reference", "R-1")
    assert "paid 30.44, balance due 300.00" in till(*paid)
    assert "paid 30.44, balance due 300.00" in till(*paid)
    assert "wait" in till("collect", number, ends=1)  # nothing is done yet
    wide = json.loads(till.job().read_text(encoding="utf-8"))["jobs"]
    wide[0]["artwork"]["width"] = "500"
    told = till("keep", till.job(jobs=wide))
    assert "draft" in told
    assert "CANNOT BE MADE" in told


def test_a_till_takes_a_draft_that_the_quote_form_left(
    till: Counter, shop: tuple[str, str]
) -> None:
    headers = {
        "Authorization": f"Bearer {new_key(shop[1], 'price')}",
        "Content-Type": "application/json",
    }
    sent = till.job().read_bytes()
    left = requests.post(f"{till.base}/v1/quotes", data=sent, headers=headers, timeout=60).json()
    assert left["status"] == "draft"
    assert "accepted" in till("accept", left["number"])


def test_a_till_says_what_is_wrong_in_the_services_words(till: Counter) -> None:
    told = till("price", till.job(jobs=[{"presentation": "overlap"}]), ends=1)
    assert "/jobs/0/artwork" in told
    assert "misread" in till("show", "Q100011", ends=1) or "no such" in till("show", "Q1", ends=1)
    till.key = "fq_0123456789abcdef_wrong"
    assert "not known" in till("show", "Q100014", ends=1)
    till.base = f"http://127.0.0.1:{free_port()}"
    assert "cannot be reached" in till("show", "Q100014", ends=75)


NIGHTLY = (
    *("sales", "sales-by-component", "sales-by-item", "margins", "materials", "purchases"),
    *("labour", "overdue", "spoiled", "price-list-drift", "payments", "balances", "uncollected"),
)
"""The reports that the README promises to the night."""


class Night:
    """A night's run with a folder and a cursor of its own."""

    def __init__(self, base: str, key: str, folder: Path) -> None:
        self.base, self.key, self.folder = base, key, folder
        self.state = folder / "state.json"

    def __call__(self, ends: int = 0) -> list[dict[str, str]] | str:
        done = _run(
            "nightly", "--state", self.state, "--to", self.folder, base=self.base, key=self.key
        )
        assert done.returncode == ends, done.stderr
        told = done.stdout.strip()
        if ends or told == "nothing changed":
            return done.stderr or told
        with Path(told).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))


@pytest.fixture
def night(shop: tuple[str, str], tmp_path: Path) -> Night:
    made = Night(shop[0], new_key(shop[1], "reports"), tmp_path / "night")
    made()  # what other tests left
    return made


def test_the_night_tells_every_change_once(night: Night, till: Counter) -> None:
    assert night() == "nothing changed"
    first = till("keep", till.job(reference="W-1")).split()[0]
    second = till("keep", till.job(reference="=1+1")).split()[0]
    rows = night()
    assert isinstance(rows, list)
    assert [row["number"] for row in rows] == [first, second]
    assert [row["reference"] for row in rows] == ["W-1", "'=1+1"]
    assert {row["total"] for row in rows} == {"330.44"}
    (day,) = (path for path in night.folder.iterdir() if path.is_dir())
    assert sorted(path.stem for path in day.iterdir()) == sorted(NIGHTLY)
    for path in day.iterdir():
        assert path.read_text(encoding="utf-8-sig").count(",") > 2, path
    assert night() == "nothing changed"
    till("accept", first)
    rows = night()
    assert isinstance(rows, list)
    assert [(row["number"], row["status"]) for row in rows] == [(first, "accepted")]


def test_a_run_that_broke_off_before_its_cursor_writes_the_same_file_again(
    night: Night, till: Counter
) -> None:
    till("keep", till.job())
    before = night.state.read_text(encoding="utf-8")
    rows = night()
    (file,) = (
        night.folder.glob("quotes-*.csv")
        if before.count('"run": 1')
        else sorted(night.folder.glob("quotes-*.csv"))[-1:]
    )
    text = file.read_bytes()
    night.state.write_text(before, encoding="utf-8")  # as if it had ended right before
    files = sorted(night.folder.glob("*.csv"))
    assert night() == rows
    assert sorted(night.folder.glob("*.csv")) == files
    assert file.read_bytes() == text
    assert not list(night.folder.glob(".*"))


def test_the_night_ends_with_a_code_for_each_trouble(night: Night) -> None:
    with night.state.with_name("state.json.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert "another run" in night(ends=75)
    key, night.key = night.key, "fq_0123456789abcdef_wrong"
    assert "401" in night(ends=1)
    night.key = key
    base, night.base = night.base, f"http://127.0.0.1:{free_port()}"
    assert "cannot be reached" in night(ends=75)
    night.base = base
    assert night() == "nothing changed"
    assert _run("nightly", base=base, key=key).returncode == 2
