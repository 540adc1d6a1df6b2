"""Events: whoever changes something notes it in the same unit of work.

One note serves two readers: the change feed (what changed, so that others can follow) and the audit
(by which key, from what to what). It is kept exactly if the change itself is kept.
"""

from __future__ import annotations

import json
import re
from datetime import datetime

from service.app.ports import UnitOfWork
from service.app.records import QuoteHead
from service.app.records_events import NewEvent
from service.domain.errors import BadValue

NOBODY = "system"
"""The key of what was done by a command on the service's own machine."""
_KIND = re.compile(r"[a-z][a-z_]*(\.[a-z][a-z_]*)+", re.ASCII)


def event(
    *,
    shop_id: str,
    key_id: str,
    at: datetime,
    kind: str,
    subject: str,
    subject_id: str,
    before: bytes | None = None,
    after: bytes | None = None,
) -> NewEvent:
    """What is noted of a change.

    Args:
        shop_id: whose it is.
        key_id: the key that did it, `NOBODY` for a command.
        at: when.
        kind: a dotted word in the past tense, such as quote.created.
        subject: what kind of thing changed, such as quote.
        subject_id: which one.
        before: what it was, as a JSON document; None where it was not there.
        after: what it is now; None where it is gone. Never a secret: keys with the scope `admin`
            read both.

    Raises:
        BadValue: the kind is not such a word.
    """
    if not _KIND.fullmatch(kind):
        raise BadValue(f"{kind[:40]!r} is no kind of event; quote.created is one", "/kind")
    return NewEvent(
        shop_id=shop_id,
        key_id=key_id,
        at=at,
        kind=kind,
        subject=subject,
        subject_id=subject_id,
        before=before,
        after=after,
    )


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
    """Note that something changed; the caller commits. See `event`."""
    uow.events.add(
        event(
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


def note_created(uow: UnitOfWork, head: QuoteHead) -> None:
    """Note that a quote was stored; the caller commits."""
    after = {
        "number": head.number,
        "revision": head.revision,
        "status": head.status,
        "currency": head.currency,
        "total_minor": head.total_minor,
        "valid_until": head.valid_until.isoformat(),
    }
    note(
        uow,
        shop_id=head.shop_id,
        key_id=head.created_by,
        at=head.created_at,
        kind="quote.created",
        subject="quote",
        subject_id=head.id,
        after=json.dumps(after).encode(),
    )
