"""Who asks: the key of a request, checked against what a view wants."""

from __future__ import annotations

from http import HTTPStatus

from flask import request

from service.api.problems import RequestRefused
from service.api.wired import wiring
from service.app.access import Principal, not_known
from service.app.ports import UnitOfWork


def principal(*scopes: str, recent: bool = False, uow: UnitOfWork | None = None) -> Principal:
    """The key that asks, if it has one of these scopes.

    Args:
        scopes: any one of them will do.
        recent: a check made within the last moments will do (for what stores nothing).
        uow: a unit of work that is open already, to ask within.

    Raises:
        NotKnown: no key, or none in force.
        NotAllowed: the key has none of the scopes.
    """
    ring, token = wiring().keys, _token()
    if uow is not None:
        found = ring.principal_within(uow, token)
    else:
        found = ring.recent_principal(token) if recent else ring.principal(token)
    found.must(*scopes)
    return found


def _token() -> str:
    kind, _, token = request.headers.get("Authorization", "").partition(" ")
    if kind.lower() != "bearer" or not token.strip():
        raise not_known()
    return token.strip()


def only_parameters(*known: str) -> None:
    """Refuse query parameters that the address does not take.

    Raises:
        RequestRefused: 400, naming the parameter.
    """
    for name in request.args:
        if name not in known:
            takes = f"it takes {', '.join(known)}" if known else "it takes none"
            detail = f"{name[:40]} is not a parameter of this address; {takes}"
            raise RequestRefused(HTTPStatus.BAD_REQUEST, "bad_parameter", detail, parameter=name)
