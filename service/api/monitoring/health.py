"""`/healthz` and `/readyz`: liveness and readiness."""

from __future__ import annotations

import os
from datetime import timedelta
from http import HTTPStatus
from pathlib import Path

from flask import Blueprint, Response

from schemas.wire.health import Health, Readiness
from service.api.http.answers import answer
from service.api.http.context import wiring
from service.api.http.operation import OpenToAll
from service.api.http.problems import problem
from service.persistence.sql.session import StorageUnavailable

bp = Blueprint("operation", __name__)
FOLDER, LEAVING = "PROMETHEUS_MULTIPROC_DIR", "leaving"
"""The variable naming the workers' shared folder, and the file there that announces the stop."""


@bp.get("/healthz")
@OpenToAll("for process supervisors", parameters=None)
def healthz() -> Response:
    """Report that the process answers."""
    return answer(Health("ok"))


@bp.get("/readyz")
@OpenToAll("for load balancers", parameters=None)
def readyz() -> Response:
    """Report whether the database answers and is at this release's level or a later one."""
    if _leaving():
        return _not_ready("this node is about to stop")
    lag = _feed_lag() if wiring().goes_on() else None
    if lag is None:
        return _not_ready("the database does not answer, or is not at the level of this release")
    return answer(Readiness("ready", feed_lag_seconds=lag // timedelta(seconds=1)))


def _feed_lag() -> timedelta | None:
    """Return how long events have been held back; None if the database does not answer."""
    try:
        with wiring().units.reading() as uow:
            return uow.events.lag()
    except StorageUnavailable:
        return None


def _leaving() -> bool:
    """Return True if the server was told to stop, and still finishes its requests."""
    folder = os.environ.get(FOLDER)
    return folder is not None and (Path(folder) / LEAVING).exists()


def _not_ready(why: str) -> Response:
    return problem(HTTPStatus.SERVICE_UNAVAILABLE, "not_ready", why, headers={"Retry-After": "5"})
