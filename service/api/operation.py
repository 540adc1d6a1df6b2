"""`/healthz` and `/readyz`: whether the process lives, and whether it can do its work."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint, Response

from service.api.answers import answer
from service.api.problems import problem
from service.api.wired import wiring

part = Blueprint("operation", __name__)


@part.get("/healthz")
def healthz() -> Response:
    """The process answers."""
    return answer({"status": "ok"})


@part.get("/readyz")
def readyz() -> Response:
    """The database answers and is at the level of this release, or has got ahead of it since."""
    if wiring().goes_on():
        return answer({"status": "ready"})
    return problem(
        HTTPStatus.SERVICE_UNAVAILABLE,
        "not_ready",
        "the database does not answer, or is not at the level of this release",
        headers={"Retry-After": "5"},
    )
