"""`Idempotency-Key` on every POST that stores something (IETF draft, version 07).

A view that stores is declared with `once=True`, and passes its answer to `keep` before it commits:

    @bp.post("/v1/offcuts")
    @Operation(scopes=("bench", "counter"), body=Body("OffcutRequest"), once=True)
    def create(call: Call) -> Response:
        ...
        with wiring().units.writing() as uow:
            ...
            made = keep(uow, answer(document, 201, {"Location": place}))
            uow.commit()
        return made

So the answer is stored with its effect. A request without the header takes none of these steps. A
request that is refused or fails leaves nothing, so that it can be sent again under its key.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from functools import wraps
from hashlib import sha256, shake_256
from http import HTTPStatus
from typing import ParamSpec

import orjson
from flask import Response, g, request

from service.api.http.context import caller, token, wiring
from service.api.http.problems import RequestRefused
from service.app.keys.idempotency import Asked, begin, finish
from service.app.keys.settling import settled
from service.domain.errors import NotFound
from service.persistence.keys.idempotency import KeptAnswer, OnceRequest
from service.persistence.sql.session import OutcomeUnknown, StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork

P = ParamSpec("P")
HEADER = "HTTP_IDEMPOTENCY_KEY"
LONGEST = 255
TIDIED_AT_ONCE = 500
MOST_OF_A_KEY = 100_000
"""The number of answers stored per key; beyond it the oldest are dropped early."""
_STRING = re.compile(r'"((?:[\x20\x21\x23-\x5b\x5d-\x7e]|\\["\\])+)"', re.ASCII)
_BARE = re.compile(r"[A-Za-z0-9._~:/+=@!#$%&'*^`|-]+", re.ASCII)


@dataclass(slots=True)
class _Pending:
    """The current request, and whether its answer was stored."""

    request: OnceRequest
    kept: bool = False


def once(view: Callable[P, Response]) -> Callable[P, Response]:
    """Make a view store only once for each `Idempotency-Key`."""

    @wraps(view)
    def done_once(*args: P.args, **kwargs: P.kwargs) -> Response:
        if HEADER not in request.environ:
            return view(*args, **kwargs)
        found = _claimed()
        if found.answer is not None:
            return _again(found, found.answer)
        g.once = pending = _Pending(found)
        try:
            with wiring().beats.held(found):
                made = view(*args, **kwargs)
        except OutcomeUnknown as lost:
            return _settled(found, lost.waited)
        except BaseException:
            _release(found)
            raise
        if not pending.kept:
            _release(found)
        return made

    return done_once


def keep(  # no secret by default  # nosec B107
    uow: UnitOfWork, made: Response, secret: str = ""
) -> Response:
    """Store an answer with its effect if the request has a key; the caller commits.

    Args:
        uow: the unit of work that has the effect.
        made: the answer.
        secret: a part of it that is shown once. It is stored so that it can be read again only with
            the token of the calling API key, which is stored nowhere.

    Raises:
        StillRunning: another has taken the request over; nothing may be committed.
    """
    pending: _Pending | None = g.get("once")
    if pending is None:
        return made
    body = made.get_data()
    if secret:
        body = body.replace(secret.encode(), _veil(secret.encode(), pending.request).encode())
    headers = [[name, text] for name, text in made.headers.items() if name != "Content-Length"]
    finish(uow, pending.request, KeptAnswer(made.status_code, orjson.dumps(headers), body))
    pending.kept = True
    return made


def keeps() -> bool:
    """Return True if the answer to this request is stored with its effect."""
    return "once" in g


def _claimed() -> OnceRequest:
    """Return this request, claimed in a separate transaction or done before.

    Raises:
        StorageUnavailable: it could not be claimed; whatever became of the claim, nothing is done.
    """
    try:
        return _begun()
    except OutcomeUnknown as lost:
        raise StorageUnavailable("the request could not be claimed") from lost


def _begun() -> OnceRequest:
    wired = wiring()
    name, now = _name(request.environ[HEADER]), wired.clock()
    body = request.get_data()
    asked = [request.method, request.path.rstrip("/"), request.query_string.decode("latin-1")]
    fingerprint = sha256("\n".join(asked).encode("utf-8", "replace") + b"\n\n" + body).hexdigest()
    with wired.units.writing() as uow:
        key_id = caller(uow).key_id
        life = timedelta(hours=wired.settings.idempotency_hours)
        found = begin(uow, Asked(key_id, name, fingerprint), now, life)
        if found.claim.startswith("00"):  # about one claim in 256 also purges expired requests
            uow.once.forget(now, TIDIED_AT_ONCE)
            uow.once.forget_beyond(key_id, MOST_OF_A_KEY, TIDIED_AT_ONCE)
        uow.commit()
    return found


def _name(text: str) -> str:
    """Return the caller's name for the request: an RFC 9651 String, or the same without quotes.

    Raises:
        RequestRefused: 400 for anything else.
    """
    text = text.strip()
    quoted = _STRING.fullmatch(text)
    if quoted is not None:
        text = re.sub(r"\\(.)", r"\1", quoted[1])
    if 0 < len(text) <= LONGEST and (quoted is not None or _BARE.fullmatch(text)):
        return text
    raise RequestRefused(
        HTTPStatus.BAD_REQUEST,
        "bad_header",
        f'Idempotency-Key is a text of 1 to {LONGEST} ASCII characters, such as "8e03978e-40d5"',
    )


def _again(found: OnceRequest, kept: KeptAnswer) -> Response:
    """Return the first answer, byte for byte."""
    veiled = re.compile(rf"veil:{found.claim}:([0-9a-f]+):".encode())
    body = veiled.sub(lambda match: _masked(bytes.fromhex(match[1].decode()), found), kept.body)
    return Response(body, kept.status, [(name, text) for name, text in orjson.loads(kept.headers)])


def _veil(secret: bytes, found: OnceRequest) -> str:
    return f"veil:{found.claim}:{_masked(secret, found).hex()}:"


def _masked(secret: bytes, found: OnceRequest) -> bytes:
    """Return the secret XORed with a pad derived from this token and this claim."""
    pad = shake_256(f"{token()} {found.claim}".encode()).digest(len(secret))
    return bytes(a ^ b for a, b in zip(secret, pad, strict=True))


def _settled(found: OnceRequest, waited: float) -> Response:
    """Return the stored answer to a request whose transaction was lost at its end.

    If the outcome is unknown, the claim is not released: it lapses by itself.

    Raises:
        StorageUnavailable: nothing was stored.
        OutcomeUnknown: the database still cannot be asked.
    """
    units = wiring().units
    try:
        there = settled(units, lambda uow: uow.once.settle(found.key_id, found.name), waited)
    except NotFound:
        there = None
    if there is not None and there.claim == found.claim and there.answer is not None:
        return _again(there, there.answer)
    _release(found)
    raise StorageUnavailable("the database was lost; nothing was stored")


def _release(found: OnceRequest) -> None:
    try:
        with wiring().units.writing() as uow:
            uow.once.release(found)
            uow.commit()
    except StorageUnavailable:
        return  # the claim lapses by itself
