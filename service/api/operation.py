"""`/healthz` and `/readyz`: whether the process lives, and whether it can do its work."""

from __future__ import annotations

import os
from http import HTTPStatus
from pathlib import Path

from flask import Blueprint, Response

from service.api.answers import answer
from service.api.problems import problem
from service.api.wired import wiring

part = Blueprint("operation", __name__)
FOLDER, LEAVING = "PROMETHEUS_MULTIPROC_DIR", "leaving"
"""Where the workers of a server share things, and the file there that says it is about to end."""


@part.get("/healthz")
def healthz() -> Response:
    """The process answers."""
    return answer({"status": "ok"})


@part.get("/readyz")
def readyz() -> Response:
    """The database answers and is at the level of this release, or has got ahead of it since."""
    if _leaving():
        return _not_ready("this node is about to stop")
    if wiring().goes_on():
        return answer({"status": "ready"})
    return _not_ready("the database does not answer, or is not at the level of this release")


def _leaving() -> bool:
    """Whether the server was told to stop, and works on until nothing is on its way to it."""
    folder = os.environ.get(FOLDER)
    return folder is not None and (Path(folder) / LEAVING).exists()


def _not_ready(why: str) -> Response:
    return problem(HTTPStatus.SERVICE_UNAVAILABLE, "not_ready", why, headers={"Retry-After": "5"})
