"""A view's access to its request: the key and its scopes, the rate limit, the wiring."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from typing import Any, cast

from flask import Blueprint, current_app, request

from service.api.http.origins import check_origin
from service.api.http.problems import RequestRefused
from service.app.keys.access import Principal, not_known
from service.app.keys.actor import Actor, Changing, Planner
from service.domain.errors import NotFound
from service.persistence.keys.rates import WINDOW, Allowance
from service.persistence.unit_of_work import UnitOfWork
from service.wiring import Wiring

KEY = "framing_quotes.key"
"""The environ key for the id of the caller's API key, once it is known."""


def principal(*scopes: str, recent: bool = False, uow: UnitOfWork | None = None) -> Principal:
    """Return the caller's key, if it has one of these scopes.

    Args:
        scopes: any one of them is enough.
        recent: accept a check made moments ago (for requests that store nothing).
        uow: an open unit of work for the query.

    Raises:
        NotKnown: no key, or none in force.
        NotAllowed: the key has none of the scopes.
        RequestRefused: 403 from a page whose origin the key does not list; 429 if the key has used
            up its allowance.
    """
    ring, sent = wiring().keys, token()
    if uow is not None:
        found = ring.principal_within(uow, sent)
    else:
        found = ring.recent_principal(sent) if recent else ring.principal(sent)
    _let_in(found)
    found.must(*scopes)
    return found


def refuse_nul(bp: Blueprint, noun: str) -> None:
    """Have a blueprint answer 404 where an id or a code has a NUL, which cannot be stored."""

    @bp.before_request
    def no_such_thing() -> None:
        if any("\0" in text for text in (request.view_args or {}).values()):
            raise NotFound(f"this shop has no such {noun}")


def caller(uow: UnitOfWork) -> Principal:
    """Return the caller's key, whatever its scopes; the view decides what it may do.

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
    """Return the token that was sent.

    Raises:
        NotKnown: there is none, or the worker found it not in force before it read the body.
    """
    refused: Exception | None = getattr(request.environ["wsgi.input"], "of_key", None)
    if refused is not None:
        raise refused
    header: str = request.environ.get("HTTP_AUTHORIZATION", "")
    kind, _, sent = header.partition(" ")
    if kind.lower() != "bearer" or not sent.strip():
        raise not_known()
    return sent.strip()


POLICY = "key"
"""The single rate-limit policy: so many requests a minute per key."""
HEADERS = "framing_quotes.rate"
"""The environ key for the headers to add to the response."""


def admit(found: Principal, environ: dict[str, Any]) -> None:
    """Count a request of a key, once however often the key is checked.

    Raises:
        RequestRefused: 429, the key has used up its allowance.
    """
    if HEADERS in environ:
        return
    wired = wiring()
    per_minute = per_minute_of(wired, found)
    if not per_minute:
        environ[HEADERS] = ()
        return
    allowance = wired.rates.take(found.key_id, per_minute)
    environ[HEADERS] = _headers(allowance)
    if allowance.wait:
        raise _too_many(
            allowance.wait, f"this key may send {per_minute} requests a minute; try again after "
        )


def admit_more(found: Principal, environ: dict[str, Any], requests: int) -> None:
    """Count an admitted request as several, in proportion to its work.

    A request worth more than the key's minute takes the whole minute, so that nothing is too large
    to ever be admitted.

    Raises:
        RequestRefused: 429, the key has too few requests left.
    """
    wired = wiring()
    per_minute = per_minute_of(wired, found)
    more = min(requests, per_minute - 1)
    if not per_minute or more <= 0:
        return
    allowance = wired.rates.take(found.key_id, per_minute, more)
    environ[HEADERS] = _headers(allowance)
    if allowance.wait:
        again = allowance.wait + -(-WINDOW // per_minute)  # a retry is first counted as one more
        raise _too_many(again, f"this counts as {more + 1} requests; send it again after ")


def take_more(wired: Wiring, found: Principal, requests: int) -> None:
    """Count a line of a request that is being answered as several requests.

    Raises:
        RequestRefused: 429, the key has too few requests left.
    """
    per_minute = per_minute_of(wired, found)
    more = min(requests, per_minute)
    if more:
        allowance = wired.rates.take(found.key_id, per_minute, more)
        if allowance.wait:
            raise _too_many(allowance.wait, f"this counts as {more} requests; send it again after ")


def per_minute_of(wired: Wiring, found: Principal) -> int:
    """Return how many requests a minute a key may send; 0 for no limit."""
    usual = wired.settings.rate_per_minute
    return usual if found.per_minute is None else found.per_minute


def _too_many(wait: int, message: str) -> RequestRefused:
    return RequestRefused(
        HTTPStatus.TOO_MANY_REQUESTS,
        "too_many_requests",
        f"{message}Retry-After",
        headers={"Retry-After": str(wait)},
    )


def _headers(allowance: Allowance) -> tuple[tuple[str, str], ...]:
    return (
        ("RateLimit-Policy", f'"{POLICY}";q={allowance.quota};w={WINDOW}'),
        ("RateLimit", f'"{POLICY}";r={allowance.left};t={allowance.full_in}'),
    )


EXTENSION = "framing-quotes"


def wiring() -> Wiring:
    """Return the wiring of the current application."""
    return cast(Wiring, current_app.extensions[EXTENSION])


@contextmanager
def changing(principal: Principal) -> Iterator[Changing]:
    """Yield a change of the shop's book by this key, committed at the end of the block."""
    wired = wiring()
    with wired.units.writing() as uow:
        yield Changing(uow, principal.shop_id, principal.key_id, wired.clock())
        uow.commit()


def planner(principal: Principal) -> Planner:
    """Return the caller and the time."""
    wired = wiring()
    return Planner(principal.shop_id, principal.key_id, wired.clock(), wired.new_id)


def actor_of(principal: Principal) -> Actor:
    """Return the caller, the shop's settings and the current time."""
    wired = wiring()
    return Actor(principal, wired.shelf.recent_book(principal.shop_id).shop, wired.clock())
