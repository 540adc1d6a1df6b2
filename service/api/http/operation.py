"""The declaration of a route: who may call it, what it takes, and the forms of its answer.

    @bp.post("/v1/offcuts/<offcut>/discard")
    @Operation(scopes=("bench", "counter"), if_match=True, body=DISCARD, once=True)
    def discard(call: Call, offcut: str) -> Response:
        ...

The checks run in this order on every route: the key, its origin, its rate and its scopes; the query
parameters; `If-Match`; the body. So a view begins with a valid call, and does its work. Routes
without a key are declared by `OpenToAll`, with the reason. `create_app` refuses a view that
declares neither, and tests compare each declaration with the table of scopes and with OpenAPI.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from flask import Flask, Response, current_app, request
from werkzeug.datastructures import ETags

from service.api.http import idempotency
from service.api.http.body import Body
from service.api.http.conditional import IfMatch, must_match
from service.api.http.context import principal
from service.api.http.negotiation import JSON_FORM, form_wanted
from service.api.http.paging import check_parameters
from service.app.keys.access import Principal
from service.persistence.unit_of_work import UnitOfWork

P = ParamSpec("P")
KEYED = "/v1/"
"""Every route under this path needs a key, and no other does."""
_DECLARED = "declared"
NO_VERSION = IfMatch(ETags())


@dataclass(slots=True)
class Call:
    """A request that its route has let in.

    Attributes:
        operation: the declaration of the route.
        principal: the caller's key.
        if_match: the versions named by `If-Match`; none, unless the route takes it.
        body: the content of the body, as the declared `Body` reads it.
        raw: the bytes of the body.
    """

    operation: Operation
    principal: Principal
    if_match: IfMatch = NO_VERSION
    body: Any = None
    raw: bytes = b""

    def again(self, uow: UnitOfWork | None = None) -> Principal:
        """Return the caller's key, checked against storage again: it may have been revoked.

        Args:
            uow: an open unit of work for the query.

        Raises:
            NotKnown, NotAllowed, RequestRefused: see `principal`.
        """
        return principal(*self.operation.scopes, uow=uow)


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """A decorator for views that take a key.

    Attributes:
        scopes: the key must have one of them.
        recent: accept a check of the key made moments ago.
        parameters: the query parameters; others are refused.
        if_match: a change, so that `If-Match` must name a version.
        body: the document that is sent.
        once: store only once for each `Idempotency-Key`.
        forms: the media types of the answer, the default first; none for an answer without a body.
    """

    scopes: tuple[str, ...]
    recent: bool = False
    parameters: tuple[str, ...] = ()
    if_match: bool = False
    body: Body | None = None
    once: bool = False
    forms: tuple[str, ...] = (JSON_FORM,)

    def __call__(self, view: Callable[Concatenate[Call, P], Response]) -> Callable[P, Response]:
        """Return the view behind the checks."""

        @wraps(view)
        def checked(*args: P.args, **kwargs: P.kwargs) -> Response:
            return view(self._let_in(), *args, **kwargs)

        made = idempotency.once(checked) if self.once else checked
        setattr(made, _DECLARED, self)
        return made

    def _let_in(self) -> Call:
        call = Call(self, principal(*self.scopes, recent=self.recent))
        check_parameters(self.parameters)
        if self.if_match:
            call.if_match = must_match()
        if self.body is not None:
            call.body, call.raw = self.body.sent()
        return call


@dataclass(frozen=True, slots=True)
class OpenToAll:
    """A decorator for views that take no key.

    Attributes:
        why: the reason.
        parameters: the query parameters; others are refused. None: any are ignored.
        forms: as of `Operation`.
    """

    why: str
    parameters: tuple[str, ...] | None = ()
    forms: tuple[str, ...] = (JSON_FORM,)

    def __call__(self, view: Callable[P, Response]) -> Callable[P, Response]:
        """Return the view behind the check of its parameters."""

        @wraps(view)
        def checked(*args: P.args, **kwargs: P.kwargs) -> Response:
            if self.parameters is not None:
                check_parameters(self.parameters)
            return view(*args, **kwargs)

        setattr(checked, _DECLARED, self)
        return checked


def declared(view: object) -> Operation | OpenToAll | None:
    """Return the declaration of a view; None if it has none."""
    found: Operation | OpenToAll | None = getattr(view, _DECLARED, None)
    return found


def check_declarations(app: Flask) -> None:
    """Check that every route of an application is declared as its path demands.

    Raises:
        TypeError: a view declares nothing, takes no key under `/v1`, or takes one elsewhere.
    """
    for rule in app.url_map.iter_rules():
        found = declared(app.view_functions[rule.endpoint])
        if found is None:
            raise TypeError(f"{rule.endpoint} does not declare who may call it")
        keyed = isinstance(found, Operation) and bool(found.scopes)
        if keyed != rule.rule.startswith(KEYED):
            raise TypeError(f"{rule.rule} takes a key exactly if it is under {KEYED}")


def check_accept() -> None:
    """Refuse a request for a form that its address does not have.

    Raises:
        RequestRefused: 406, no available form is acceptable.
    """
    accepted = request.environ.get("HTTP_ACCEPT", "*/*")
    if accepted == "*/*" or request.endpoint is None or request.method == "OPTIONS":
        return
    found = declared(current_app.view_functions[request.endpoint])
    forms = (JSON_FORM,) if found is None else found.forms
    if forms and accepted not in forms:
        form_wanted(forms)
