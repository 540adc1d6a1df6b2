"""The file `.env`: below the environment, and every fault in it named."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.env_file import environment
from service.settings import KEYS, BadSettings, Settings

TOP = Path(__file__).parents[1]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path / ".env"


def _settings(**environ: str) -> Settings:
    return Settings.read(environment(environ))


def _faults(**environ: str) -> tuple[str, ...]:
    with pytest.raises(BadSettings) as refusal:
        environment(environ)
    return refusal.value.faults


def test_without_a_file_the_environment_is_all(here: Path) -> None:
    assert not here.exists()
    assert environment({"PORT": "9000"}) == {"PORT": "9000"}


def test_the_example_copied_as_it_says_gives_the_defaults(here: Path) -> None:
    shutil.copy(TOP / ".env.example", here)
    assert _settings() == Settings.read({})
    assert {key.name for key in KEYS} <= {*environment({})}


def test_what_differs_in_the_file_is_taken_and_the_environment_stands_above(here: Path) -> None:
    here.write_text(
        "# ours\nexport PORT=9000\nDATABASE_URL='postgresql://u:p$HOME#1@db/x' # the shop's\n"
        'FRAMING_QUOTES_LOG_FORMAT="plain"\nFRAMING_QUOTES_THREADS = 7\n'
    )
    settings = _settings(PORT="9001", FRAMING_QUOTES_THREADS="")
    assert settings.port == 9001
    assert settings.database_url == "postgresql://u:p$HOME#1@db/x"
    assert settings.log_format == "plain"
    assert settings.threads == 4  # empty in the environment, hence the default


@pytest.mark.parametrize("above", ["value", "file"])
def test_a_secret_by_value_and_one_by_file_are_the_same_setting(here: Path, above: str) -> None:
    """Were both kept, the start would be refused: `DATABASE_URL and ..._FILE are both given`."""
    secret = here.parent / "address"
    secret.write_text("sqlite:///by-file.sqlite3\n")
    by_value, by_file = "DATABASE_URL=sqlite:///by-value.sqlite3", f"DATABASE_URL_FILE={secret}"
    lower, upper = (by_file, by_value) if above == "value" else (by_value, by_file)
    here.write_text(lower)
    name, _, text = upper.partition("=")
    assert _settings(**{name: text}).database_url == f"sqlite:///by-{above}.sqlite3"


def test_every_fault_is_named_by_its_line_and_no_value_is_shown(here: Path) -> None:
    here.write_text(
        'PORT=9000\nPROT=8000\nDATABASE_URL\nFRAMING_QUOTES_FORM_KEY="fq_hidden\n=hidden\nPORT=1\n'
    )
    assert _faults() == (
        ".env, line 2: PROT is not a setting; .env.example lists all of them",
        ".env, line 3: must be written NAME=value",
        ".env, line 4: must be written NAME=value",
        ".env, line 5: must be written NAME=value",
        ".env, line 6: PORT is given twice; keep one",
    )


def test_a_file_that_cannot_be_read_is_a_fault(here: Path) -> None:
    here.mkdir()
    (fault,) = _faults()
    assert fault.startswith(f"{here} cannot be read")
    here.rmdir()
    here.write_bytes(b"PORT=\xff")
    (fault,) = _faults()
    assert fault.startswith(f"{here} cannot be read")


def test_another_file_can_be_named_or_none(here: Path) -> None:
    here.write_text("PORT=9000\n")
    other = here.parent / "other.env"
    (fault,) = _faults(FRAMING_QUOTES_ENV_FILE=str(other))
    assert "other.env cannot be read" in fault
    other.write_text("PORT=9001\n")
    assert _settings(FRAMING_QUOTES_ENV_FILE=str(other)).port == 9001
    assert _settings(FRAMING_QUOTES_ENV_FILE="").port == 8000


def test_commands_read_it(here: Path) -> None:
    here.write_text("DATABASE_URL=sqlite:///shop.sqlite3\n")
    told = {name: text for name, text in os.environ.items() if name != "FRAMING_QUOTES_ENV_FILE"}
    run = [sys.executable, "-m", "service", "migrate"]
    subprocess.run(run, env=told | {"PYTHONPATH": str(TOP)}, check=True, capture_output=True)
    assert (here.parent / "shop.sqlite3").exists()
    here.write_text("DATABASE_URL=sqlite:///shop.sqlite3\nPORT=x\nNO_SUCH=1\n")
    refused = subprocess.run(
        run, env=told | {"PYTHONPATH": str(TOP)}, check=False, capture_output=True, text=True
    )
    assert refused.returncode == 1
    assert ".env, line 3: NO_SUCH is not a setting" in refused.stderr
