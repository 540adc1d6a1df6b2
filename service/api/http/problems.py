"""Refusals as `application/problem+json` (RFC 9457): one table from errors to answers.

Every fault of a document is in `errors` with its pointer (RFC 6901). No internals are shown: no
trace, no database text, no file name.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from math import ceil

import msgspec
from flask import Flask, Response, current_app, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed, RequestEntityTooLarge

from schemas.wire.faults import limited
from schemas.wire.problems import TITLES, TYPE, Present, Problem, ProblemFault
from schemas.wire.record import UNSET, encode
from service.app.keys.idempotency import LEASE, KeyReused, StillRunning
from service.domain import errors
from service.domain.cutting.watch import PlanCancelled
from service.domain.text import spelled_out
from service.domain.tickets.model import TicketNotProved, TicketRefused
from service.persistence.sql.session import OutcomeUnknown, StorageUnavailable

CONTENT_TYPE = "application/problem+json"


class RequestRefused(errors.DomainError):
    """A request that is invalid before any rule of the trade is checked.

    `status` is its HTTP status.
    """

    code = "bad_request"

    def __init__(
        self,
        status: HTTPStatus,
        code: str,
        message: str,
        *,
        parameter: str = "",
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(message)
        self.status, self.kind, self.parameter = status, code, parameter
        self.headers = dict(headers or {})


STATUS: Mapping[type[errors.DomainError], HTTPStatus] = {
    errors.BadLength: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.BadValue: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.BadMoney: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.JobRefused: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.NotPriced: HTTPStatus.CONFLICT,
    errors.Conflict: HTTPStatus.CONFLICT,
    errors.Stale: HTTPStatus.PRECONDITION_FAILED,
    KeyReused: HTTPStatus.UNPROCESSABLE_ENTITY,
    StillRunning: HTTPStatus.CONFLICT,
    errors.NotFound: HTTPStatus.NOT_FOUND,
    errors.NotAllowed: HTTPStatus.FORBIDDEN,
    errors.NotKnown: HTTPStatus.UNAUTHORIZED,
    TicketRefused: HTTPStatus.CONFLICT,
    TicketNotProved: HTTPStatus.INTERNAL_SERVER_ERROR,
    errors.PlanRejected: HTTPStatus.INTERNAL_SERVER_ERROR,
    PlanCancelled: HTTPStatus.CONFLICT,
    RequestRefused: HTTPStatus.BAD_REQUEST,
}


def problem(
    status: HTTPStatus,
    code: str,
    detail: str,
    faults: Sequence[ProblemFault] = (),
    headers: Mapping[str, str] | None = None,
    present: Present | None = None,
) -> Response:
    """Return a problem document as a response; `present` is the stored state."""
    document = Problem(
        TYPE + code,
        TITLES[code],
        int(status),
        spelled_out(detail),
        tuple(_shown(fault) for fault in faults) or UNSET,
        present or UNSET,
    )
    answer = Response(_written(document), int(status), content_type=CONTENT_TYPE)
    answer.headers.update(headers or {})
    return answer


def _shown(fault: ProblemFault) -> ProblemFault:
    """Return a fault for the answer; only its pointer repeats the input verbatim."""
    parameter = spelled_out(fault.parameter) if fault.parameter else UNSET
    return ProblemFault(fault.pointer, fault.code, spelled_out(fault.detail), parameter)


def _written(document: Problem) -> bytes:
    try:
        return encode(document)
    except UnicodeEncodeError:  # a lone surrogate, quoted from the input
        return json.dumps(msgspec.to_builtins(document), ensure_ascii=True).encode()


def refused(error: errors.DomainError) -> Response:
    """Return the answer to a refusal."""
    if isinstance(error, RequestRefused):
        fault = ProblemFault("", error.kind, error.message, error.parameter)
        faults = [fault] if error.parameter else []
        return problem(error.status, error.kind, error.message, faults, error.headers)
    status = next(STATUS[kind] for kind in type(error).__mro__ if kind in STATUS)
    headers = {"WWW-Authenticate": "Bearer"} if status is HTTPStatus.UNAUTHORIZED else {}
    if isinstance(error, StillRunning):
        headers["Retry-After"] = str(max(ceil(error.wait.total_seconds()), 1))
    if status is HTTPStatus.INTERNAL_SERVER_ERROR:
        current_app.logger.error("a check of our own failed", exc_info=error)
        code = _published(error, "failed")
        return problem(status, code, f"{TITLES[code].lower()}; nothing was stored: {error.message}")
    faults = []
    if status is HTTPStatus.UNPROCESSABLE_ENTITY or isinstance(error, TicketRefused):
        faults = [
            ProblemFault(fault.pointer, fault.code, fault.detail)
            for fault in limited(error.faults())
        ]
    code = _published(error, "job_refused" if faults else "failed")
    return problem(status, code, _detail(error, len(faults)), faults, headers, _present(error))


def _published(error: errors.DomainError, other: str) -> str:
    """Return the nearest published kind of problem; mere values have no type of their own."""
    codes = (getattr(kind, "code", "") for kind in type(error).__mro__)
    return next((code for code in codes if code in TITLES), other)


def _present(error: errors.DomainError) -> Present | None:
    """Return the stored state and the possible steps, if a refusal is about that."""
    if not isinstance(error, errors.Conflict | errors.Stale) or "state" not in error.facts:
        return None
    facts = error.facts
    return Present(
        facts["state"],
        tuple(facts["possible"].split()) if "possible" in facts else UNSET,
        facts.get("etag", UNSET),
    )


def _detail(error: errors.DomainError, faults: int) -> str:
    if faults < 2:
        return error.message
    return f"{faults} things are wrong; each is named in errors, with where it stands"


def _http_refused(error: HTTPException) -> Response:
    status = HTTPStatus(error.code or 500)
    if isinstance(error, RequestEntityTooLarge):
        limit = request.max_content_length
        return problem(status, "body_too_large", f"a body holds at most {limit} bytes")
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        detail = f"{request.path} takes {allowed}"
        return problem(status, "method_not_allowed", detail, headers={"Allow": allowed})
    if status is HTTPStatus.NOT_FOUND:
        return problem(status, "not_found", "there is nothing at this address; see /docs")
    return problem(status, "bad_request" if status < 500 else "failed", status.description)


def _unavailable(_: StorageUnavailable) -> Response:
    detail = "the database cannot be reached just now; nothing was stored, try again"
    return problem(
        HTTPStatus.SERVICE_UNAVAILABLE, "unavailable", detail, headers={"Retry-After": "1"}
    )


def _not_known(_: OutcomeUnknown) -> Response:
    detail = (
        "the database was lost while this was being stored, so it is not known whether it was; "
    )
    if "Idempotency-Key" in request.headers:
        detail += "send it again under the same Idempotency-Key, and it is stored once"
    else:
        detail += (
            "look before you send it again, and send it with an Idempotency-Key: "
            "under one it can be sent as often as it takes"
        )
    return problem(
        HTTPStatus.SERVICE_UNAVAILABLE,
        "outcome_unknown",
        detail,
        headers={"Retry-After": str(ceil(LEASE.total_seconds()))},
    )


def _failed(error: Exception) -> Response:
    current_app.logger.exception("request failed", exc_info=error)
    detail = "something went wrong here; nothing was stored, and it has been noted"
    return problem(HTTPStatus.INTERNAL_SERVER_ERROR, "failed", detail)


def register_problems(app: Flask) -> None:
    """Turn every error of the application into a problem document."""
    app.register_error_handler(errors.DomainError, refused)
    app.register_error_handler(HTTPException, _http_refused)
    app.register_error_handler(StorageUnavailable, _unavailable)
    app.register_error_handler(OutcomeUnknown, _not_known)
    app.register_error_handler(Exception, _failed)
