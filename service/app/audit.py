"""Events: whoever changes something records it in the same unit of work.

One record serves two readers: the change feed (what changed, so that others can follow) and the
audit (by which key, from what to what). It is stored if and only if the change is.
"""

from __future__ import annotations

from datetime import datetime

from schemas.events.records import NewEvent
from service.persistence.unit_of_work import UnitOfWork

NOBODY = "system"
"""The key id of changes made by a command on the service's own machine."""


def note(
    uow: UnitOfWork,
    *,
    shop_id: str,
    key_id: str,
    at: datetime,
    kind: str,
    subject: str,
    subject_id: str,
    before: bytes | None = None,
    after: bytes | None = None,
) -> None:
    """Record a change as a `NewEvent`; the caller commits.

    Raises:
        BadValue: the kind is not a dotted word.
    """
    uow.events.add(
        NewEvent(
            shop_id=shop_id,
            key_id=key_id,
            at=at,
            kind=kind,
            subject=subject,
            subject_id=subject_id,
            before=before,
            after=after,
        )
    )
