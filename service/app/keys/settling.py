"""Finding out whether a transaction committed when the connection was lost at its end."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic, sleep
from typing import TypeVar

from service.persistence.sql.session import OutcomeUnknown, StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

T = TypeVar("T")
PATIENCE = 6.0
"""For how many seconds to retry reaching the database, which may be restarting."""
PAUSE = 0.2


def settled(units: UnitsOfWork, look: Callable[[UnitOfWork], T], waited: float = 0.0) -> T:
    """Return what a transaction stored, as soon as the database can be reached again.

    Args:
        units: where to look.
        look: returns what was stored, or raises NotFound. It first takes a lock that the
            transaction held, so that one still about to end is waited for and not taken for undone.
        waited: for how many of the seconds of `PATIENCE` the database was silent already.

    Returns:
        What was found: it is stored.

    Raises:
        NotFound: it is not stored, and never will be.
        OutcomeUnknown: the database could not be reached; or commits wait for a standby, and nobody
            knows whether the standby has it.
    """
    ends = monotonic() + PATIENCE - waited
    while True:
        try:
            with units.writing() as uow:
                found = look(uow)
                if uow.waits_for_standby():
                    break
                return found
        except StorageUnavailable:
            if monotonic() >= ends:
                break
        sleep(PAUSE)
    raise OutcomeUnknown("the database was lost while this was being stored")
