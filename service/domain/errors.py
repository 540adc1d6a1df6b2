"""The one family of errors that the domain raises.

A fault is one thing that is wrong, said in a framer's words, with the place in the document where
it stands (an RFC 6901 pointer, relative to whoever catches it). `JobRefused` carries several, so
that a customer's document is corrected once and not once a fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where (JSON pointer), a stable code, and what, in plain words."""

    pointer: str
    code: str
    detail: str

    def under(self, prefix: str) -> Fault:
        """The same fault, seen from a document in which this one lies at `prefix`."""
        return Fault(prefix + self.pointer, self.code, self.detail)


class DomainError(Exception):
    """Something the trade's rules refuse.

    Attributes:
        code: stable snake_case name of the kind of refusal, for programs.
        message: what happened, why, and what to do, for people.
        where: JSON pointer into the document, or "" where there is none.
        facts: the figures behind the message.
    """

    code: ClassVar[str] = "refused"

    def __init__(
        self, message: str, where: str = "", facts: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.facts: Mapping[str, str] = dict(facts or {})

    def faults(self) -> tuple[Fault, ...]:
        """The faults this error stands for; one, unless a subclass gathers several."""
        return (Fault(self.where, self.code, self.message),)


class BadLength(DomainError):
    """A text or number that is not a length this shop can hold exactly."""

    code = "bad_length"


class BadValue(DomainError):
    """A value object was asked to hold something that does not make sense."""

    code = "bad_value"


class BadMoney(DomainError):
    """An amount or a currency that money cannot be made of."""

    code = "bad_money"


class JobRefused(DomainError):
    """A job document that does not make sense, with every fault found in it."""

    code = "job_refused"

    def __init__(self, faults: Iterable[Fault]) -> None:
        self._faults = tuple(faults)
        first = self._faults[0]
        super().__init__(first.detail, first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Every fault, in the order of the document."""
        return self._faults


class NotPriced(DomainError):
    """The price list in force has no rule for something the job uses."""

    code = "not_priced"


class NotFound(DomainError):
    """No such record for this shop."""

    code = "not_found"


class Conflict(DomainError):
    """The thing is as it should be, but what stands there already does not allow it."""

    code = "conflict"


class Stale(DomainError):
    """A change of something that somebody else has changed since it was read."""

    code = "stale"


class NotAllowed(DomainError):
    """The key is known, but its scopes do not cover what was asked."""

    code = "not_allowed"


class NotKnown(DomainError):
    """There is no key, or not one that is in force."""

    code = "not_known"


class PlanRejected(DomainError):
    """A cutting plan that its own independent check does not accept."""

    code = "plan_rejected"
