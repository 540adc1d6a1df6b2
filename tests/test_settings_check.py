"""Settings that would leave the service open stop the start; others do not."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from service.settings import Settings
from service.settings_check import weaknesses


def _weak(environ: dict[str, str]) -> list[str]:
    return weaknesses(Settings.read(environ), environ)


@pytest.mark.parametrize(
    "environ",
    [
        {},
        {"FRAMING_QUOTES_HOST": "::1"},
        {"FRAMING_QUOTES_HOST": "127.0.0.9", "FRAMING_QUOTES_LOG_LEVEL": "debug"},
        {"FRAMING_QUOTES_HOST": "0.0.0.0", "FRAMING_QUOTES_TLS_PROXY": "yes"},  # noqa: S104
        {"DATABASE_URL": "postgresql:///framing"},
        {"DATABASE_URL": "postgresql://framing@/framing?host=/run/postgresql"},
        {"DATABASE_URL": "postgresql://framing:c2b1f0a97d6e@db/framing"},
        {"FLASK_DEBUG": "0"},
    ],
)
def test_sound_settings_start(environ: dict[str, str]) -> None:
    assert _weak(environ) == []


@pytest.mark.parametrize(
    ("environ", "said"),
    [
        ({"FRAMING_QUOTES_HOST": "0.0.0.0"}, "beyond this machine"),  # noqa: S104
        ({"FRAMING_QUOTES_HOST": "::"}, "beyond this machine"),
        ({"FRAMING_QUOTES_HOST": "shop.example"}, "beyond this machine"),
        ({"FRAMING_QUOTES_HOST": "192.0.2.7"}, "beyond this machine"),
        ({"FLASK_DEBUG": "1"}, "FLASK_DEBUG is on"),
        (
            {
                "FRAMING_QUOTES_HOST": "192.0.2.7",
                "FRAMING_QUOTES_TLS_PROXY": "yes",
                "FRAMING_QUOTES_LOG_LEVEL": "debug",
            },
            "LOG_LEVEL=debug",
        ),
        ({"DATABASE_URL": "postgresql://framing:postgres@db/framing"}, "would be guessed"),
        ({"DATABASE_URL": "postgresql://framing:Change%2Dme@db/x"}, "would be guessed"),
        ({"DATABASE_URL": "postgresql://lanternquay1:lanternquay1@db/x"}, "would be guessed"),
        ({"DATABASE_URL": "postgresql+psycopg://u:lanternquay1@db/lanternquay1"}, "would be"),
        ({"DATABASE_URL": "postgres://u:c2b1f0a97d6@db/x"}, "would be guessed"),
    ],
)
def test_weak_settings_are_told(environ: dict[str, str], said: str) -> None:
    (weakness,) = _weak(environ)
    assert said in weakness


def test_no_password_is_shown() -> None:
    environ = {"DATABASE_URL": "postgresql://framing:hunter2@db/x", "FLASK_DEBUG": "on"}
    assert len(_weak(environ)) == 2
    assert "hunter2" not in " ".join(_weak(environ))


def test_the_server_does_not_start_with_them(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "service", "serve"],
        env={
            **os.environ,
            "DATABASE_URL": f"sqlite:///{tmp_path / 'x.sqlite3'}",
            "FRAMING_QUOTES_HOST": "0.0.0.0",  # noqa: S104 — it must not get to listen
            "FLASK_DEBUG": "1",
        },
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 1
    assert "beyond this machine" in done.stderr
    assert "FLASK_DEBUG is on" in done.stderr
