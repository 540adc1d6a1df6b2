"""Who asks: the key of a request, checked against what a view wants."""

from __future__ import annotations

from http import HTTPStatus

from flask import request

from service.api.http.origins import check_origin
from service.api.http.problems import RequestRefused
from service.api.http.rates import admit
from service.api.http.wired import wiring
from service.app.keys.access import Principal, not_known
from service.app.ports import UnitOfWork
from service.domain.text import hidden_in

KEY = "framing_quotes.key"
"""Where in the environ of a request stands the id of the key that asked, once it is known."""


def principal(*scopes: str, recent: bool = False, uow: UnitOfWork | None = None) -> Principal:
    """The key that asks, if it has one of these scopes.

    Args:
        scopes: any one of them will do.
        recent: a check made within the last moments will do (for what stores nothing).
        uow: a unit of work that is open already, to ask within.

    Raises:
        NotKnown: no key, or none in force.
        NotAllowed: the key has none of the scopes.
        RequestRefused: 403 from a page of an origin that the key does not list; 429 where it has
            sent all it may.
    """
    ring, sent = wiring().keys, token()
    if uow is not None:
        found = ring.principal_within(uow, sent)
    else:
        found = ring.recent_principal(sent) if recent else ring.principal(sent)
    _let_in(found)
    found.must(*scopes)
    return found


def caller(uow: UnitOfWork) -> Principal:
    """The key that asks, whatever its scopes; what it may do is for the view to say.

    Raises:
        NotKnown: no key, or none in force.
        RequestRefused: see `principal`.
    """
    found = wiring().keys.principal_within(uow, token())
    _let_in(found)
    return found


def _let_in(found: Principal) -> None:
    environ = request.environ
    environ[KEY] = found.key_id
    check_origin(found, environ)
    admit(found, environ)


def token() -> str:
    """The token that was sent.

    Raises:
        NotKnown: there is none.
    """
    header: str = request.environ.get("HTTP_AUTHORIZATION", "")
    kind, _, sent = header.partition(" ")
    if kind.lower() != "bearer" or not sent.strip():
        raise not_known()
    return sent.strip()


def only_parameters(*known: str) -> None:
    """Refuse query parameters that the address does not take, and text that cannot be seen.

    Raises:
        RequestRefused: 400, naming the parameter.
    """
    if not request.environ.get("QUERY_STRING"):
        return
    for name, text in request.args.items(multi=True):
        if name not in known:
            takes = f"it takes {', '.join(known)}" if known else "it takes none"
            raise _bad(name, f"{name[:40]} is not a parameter of this address; {takes}")
        hidden = hidden_in(text)
        if hidden is not None:
            raise _bad(name, hidden.told)


def _bad(name: str, detail: str) -> RequestRefused:
    return RequestRefused(HTTPStatus.BAD_REQUEST, "bad_parameter", detail, parameter=name)
