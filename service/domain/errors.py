"""The exceptions that the domain raises, all derived from `DomainError`.

A fault is one error in a document, worded for a framer, with an RFC 6901 pointer relative to the
code that catches it. `JobRefused` carries all faults of a document, so that a customer corrects it
once and not once per fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One error in a document: a JSON pointer, a stable code and a plain-English detail."""

    pointer: str
    code: str
    detail: str

    def under(self, prefix: str) -> Fault:
        """Return this fault with `prefix` prepended to its pointer."""
        return Fault(prefix + self.pointer, self.code, self.detail)


class DomainError(Exception):
    """The base of the domain's errors.

    Attributes:
        code: stable snake_case name of the error, for programs.
        message: what happened, why, and what to do, for people.
        where: JSON pointer into the document, or "" if there is none.
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
        """Return the faults this error stands for: one, unless a subclass collects several."""
        return (Fault(self.where, self.code, self.message),)


class BadLength(DomainError):
    """A text or number that is not a length, or that cannot be held exactly."""

    code = "bad_length"


class BadValue(DomainError):
    """A value object was given arguments that make no sense."""

    code = "bad_value"


class BadMoney(DomainError):
    """An invalid amount or currency."""

    code = "bad_money"


class JobRefused(DomainError):
    """An invalid job document, with every fault found in it."""

    code = "job_refused"

    def __init__(self, faults: Iterable[Fault]) -> None:
        self._faults = tuple(faults)
        first = self._faults[0]
        super().__init__(first.detail, first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Return every fault, in document order."""
        return self._faults


class NotPriced(DomainError):
    """The price list in force has no rule for something the job uses."""

    code = "not_priced"


class NotFound(DomainError):
    """The shop has no such record."""

    code = "not_found"


class Conflict(DomainError):
    """Valid, but conflicts with stored data."""

    code = "conflict"


class Stale(DomainError):
    """The record has changed since the caller read it."""

    code = "stale"


class NotAllowed(DomainError):
    """The key is valid, but its scopes do not allow the request."""

    code = "not_allowed"


class NotKnown(DomainError):
    """The key is missing, unknown or not in force."""

    code = "not_known"


class PlanRejected(DomainError):
    """A cutting plan that failed its independent check."""

    code = "plan_rejected"
