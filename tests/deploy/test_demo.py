"""`sh deploy/demo.sh` does what the README says, in a folder of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import requests

from tests.deploy.live import free_port

TOP = Path(__file__).parents[2]


def test_demo_quotes_over_http_and_stops(tmp_path: Path) -> None:
    port = free_port()
    done = subprocess.run(
        ["sh", "deploy/demo.sh", "--once"],
        cwd=TOP,
        env={
            **os.environ,
            "VENV": sys.prefix,
            "PORT": str(port),
            "DATABASE_URL": f"sqlite:///{tmp_path / 'demo.sqlite3'}",
        },
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    assert "TOTAL USD" in done.stdout
    assert "CUT LIST" in done.stdout
    assert f"http://127.0.0.1:{port}/docs" in done.stdout
    try:
        requests.get(f"http://127.0.0.1:{port}/healthz", timeout=60)
    except requests.ConnectionError:
        return
    raise AssertionError("the service still answers after --once")


def test_demo_does_not_talk_to_whatever_has_the_port_already(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = subprocess.run(
            ["sh", "deploy/demo.sh", "--once"],
            cwd=TOP,
            env={
                **os.environ,
                "VENV": sys.prefix,
                "PORT": str(port),
                "DATABASE_URL": f"sqlite:///{tmp_path / 'demo.sqlite3'}",
            },
            capture_output=True,
            text=True,
            check=False,
            timeout=600,
        )
    assert done.returncode == 1
    assert f"port {port} already" in done.stderr
    assert f"PORT={port + 1}" in done.stderr
    assert "TOTAL" not in done.stdout


def test_demo_says_what_is_wrong_with_its_arguments() -> None:
    done = subprocess.run(
        ["sh", "deploy/demo.sh", "--twice"], cwd=TOP, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "usage" in done.stderr


def test_the_scripts_are_sound_shell() -> None:
    shell = shutil.which("sh") or "sh"
    for script in ("demo.sh", "test.sh", "compiled.sh", "environment.sh"):
        subprocess.run([shell, "-n", f"deploy/{script}"], cwd=TOP, check=True)
