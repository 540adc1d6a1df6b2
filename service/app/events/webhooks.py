"""Managing webhooks: endpoints, their secrets, and resending messages.

A secret is not stored. It is derived from the service's own secret, the endpoint and its generation
number (HMAC-SHA256 as in the expand step of RFC 5869, with one block), so that nobody who reads the
database can sign, and no encryption key has to be rotated. The price: if the service's secret
changes, every endpoint needs a new one.
"""

from __future__ import annotations

import hmac
import json
from base64 import b64encode
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any

from schemas.events.records import Endpoint
from schemas.events.webhooks import WantedEndpoint
from service.app.audit import note
from service.app.keys.access import Principal
from service.domain.errors import Conflict, Stale
from service.persistence.unit_of_work import UnitOfWork

MARK = "whsec_"
MOST_OF_A_SHOP = 50
Check = Callable[[int], int]
"""Refuses a version that the caller has not seen."""


def secret_of(master: str, endpoint_id: str, generation: int) -> str:
    """Return the secret of a generation, in the Standard Webhooks format.

    >>> secret_of("0123456789abcdef0123456789abcdef", "e", 1)
    'whsec_+IUQK/5uqgmfpD3pBZ/57ocFrHWD6wFFiUMIqppaFCE='
    """
    word = f"webhook {endpoint_id} {generation}".encode() + b"\x01"
    return MARK + b64encode(hmac.new(master.encode(), word, sha256).digest()).decode()


def secrets_in_force(master: str, endpoint: Endpoint, now: datetime) -> tuple[str, ...]:
    """Return the secrets to sign with: the newest, and the previous one while it is valid."""
    generations = [endpoint.generation]
    if endpoint.former_until is not None and endpoint.former_until > now:
        generations.append(endpoint.generation - 1)
    return tuple(secret_of(master, endpoint.id, number) for number in generations)


def create(
    uow: UnitOfWork, principal: Principal, wanted: WantedEndpoint, endpoint_id: str, now: datetime
) -> Endpoint:
    """Store a new endpoint, which receives events from now on; the caller commits.

    Raises:
        Conflict: the shop has reached its limit.
    """
    if len(uow.webhooks.of_shop(principal.shop_id)) >= MOST_OF_A_SHOP:
        raise Conflict(f"a shop has at most {MOST_OF_A_SHOP} webhooks; remove one first")
    endpoint = Endpoint(
        id=endpoint_id,
        shop_id=principal.shop_id,
        url=wanted.url,
        kinds=wanted.kinds,
        description=wanted.description,
        created_at=now,
        place=uow.events.end(principal.shop_id),
    )
    uow.webhooks.add(endpoint)
    _note(uow, principal, now, "webhook.created", endpoint.id, None, endpoint)
    return endpoint


def change(
    uow: UnitOfWork,
    principal: Principal,
    endpoint_id: str,
    check: Check,
    changes: Mapping[str, Any],
    now: datetime,
) -> Endpoint:
    """Change an endpoint; the caller commits.

    Raises:
        NotFound: the shop has no such endpoint.
        Stale: its version differs from the one the caller has seen.
    """
    was = uow.webhooks.by_id(principal.shop_id, endpoint_id)
    check(was.version)
    return _saved(uow, principal, now, "webhook.changed", was, replace(was, **changes))


def rotate(
    uow: UnitOfWork, principal: Principal, endpoint_id: str, overlap: timedelta, now: datetime
) -> Endpoint:
    """Give an endpoint a new secret; the old one also signs until the overlap ends.

    Raises:
        NotFound: the shop has no such endpoint.
        Stale: it is being changed concurrently.
    """
    was = uow.webhooks.by_id(principal.shop_id, endpoint_id)
    new = replace(was, generation=was.generation + 1, former_until=now + overlap)
    return _saved(uow, principal, now, "webhook.secret_rotated", was, new)


def remove(uow: UnitOfWork, principal: Principal, endpoint_id: str, now: datetime) -> None:
    """Delete an endpoint and all its messages; the caller commits.

    Raises:
        NotFound: the shop has no such endpoint.
    """
    was = uow.webhooks.by_id(principal.shop_id, endpoint_id)
    uow.webhooks.remove(principal.shop_id, endpoint_id)
    _note(uow, principal, now, "webhook.removed", endpoint_id, was, None)


def _saved(
    uow: UnitOfWork, principal: Principal, now: datetime, kind: str, was: Endpoint, new: Endpoint
) -> Endpoint:
    if not uow.webhooks.save(new):
        raise Stale("this webhook has been changed meanwhile; read it again")
    _note(uow, principal, now, kind, was.id, was, new)
    return replace(new, version=was.version + 1)


def _note(
    uow: UnitOfWork,
    principal: Principal,
    now: datetime,
    kind: str,
    endpoint_id: str,
    was: Endpoint | None,
    new: Endpoint | None,
) -> None:
    note(
        uow,
        shop_id=principal.shop_id,
        key_id=principal.key_id,
        at=now,
        kind=kind,
        subject="webhook",
        subject_id=endpoint_id,
        before=_facts(was),
        after=_facts(new),
    )


def _facts(endpoint: Endpoint | None) -> bytes | None:
    if endpoint is None:
        return None
    facts = {
        "url": endpoint.url,
        "kinds": sorted(endpoint.kinds),
        "description": endpoint.description,
        "state": endpoint.state,
        "secret_generation": endpoint.generation,
    }
    return json.dumps(facts).encode()
