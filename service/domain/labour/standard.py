"""Bench time: operations with drivers derived from the job alone.

minutes = set-up (once per batch) + minutes per unit × units × quantity. The units of a measure
(inches, feet, square feet) are taken to the nearest hundredth, half up, so that the figures shown
can be multiplied by hand. There are no standard minutes: framers agree that each shop times its
own work.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import Final

from service.domain.errors import BadValue
from service.domain.jobs.asked import AskedLine
from service.domain.jobs.job import Job
from service.domain.labour.multiplier import Multiplier, factors
from service.domain.materials.catalogue import Moulding
from service.domain.shop import ASKED, DRIVERS, STANDS_IN
from service.domain.value import dataclass, derive

MOST_CASES = 256
"""Jobs fall into few cases of multipliers; the standard of each is calculated once."""
ONE_MINUTE = Fraction(1)
_Case = tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Operation:
    """One bench operation and its minutes.

    Raises:
        BadValue: an unknown driver, or minutes below zero.
    """

    code: str
    description: str
    driver: str
    unit_minutes: Fraction
    set_up_minutes: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if self.driver not in DRIVERS and self.driver != ASKED:
            raise BadValue(f"{self.driver} is not a driver known here", "/driver")
        if self.unit_minutes < 0 or self.set_up_minutes < 0:
            raise BadValue("minutes cannot be below zero", "/unit_minutes")


@dataclass(frozen=True, slots=True)
class Scaled(Operation):
    """An operation with a job's multipliers already applied to its minutes."""

    factor: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Hour:
    """The components of the cost of a productive hour, over one period and in the shop's currency.

    Raises:
        BadValue: no productive hours, or an amount below zero.
    """

    wages: Fraction
    overhead: Fraction
    productive_hours: Fraction

    def __post_init__(self) -> None:
        if self.wages < 0 or self.overhead < 0:
            raise BadValue("wages and overhead cannot be below zero", "/wages")
        self.cost()

    def cost(self) -> Fraction:
        """Return the cost of the hour."""
        return hourly_cost(self.wages, self.overhead, self.productive_hours)


@dataclass(frozen=True, slots=True)
class LabourStandard:
    """A shop's operations, and what an hour at the bench costs it (in its currency).

    If `hour` gives the components, `cost_per_hour` equals their result.

    Raises:
        BadValue: `hour` and `cost_per_hour` differ, or a multiplier names an unknown operation.
    """

    code: str
    cost_per_hour: Fraction
    operations: tuple[Operation, ...]
    hour: Hour | None = None
    multipliers: tuple[Multiplier, ...] = ()
    per: int = field(init=False, repr=False, compare=False)
    parts: tuple[tuple[Operation, int, int], ...] = field(init=False, repr=False, compare=False)
    untimed: tuple[tuple[str, str], ...] = field(init=False, repr=False, compare=False)
    _laid: Callable[[_Case], LabourStandard] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Precalculate every operation's minutes as integers over a common denominator.

        The parts of a set-up are in 1/`per` minute; those of a unit are per hundredth of it.
        """
        if self.hour is not None and self.hour.cost() != self.cost_per_hour:
            raise BadValue("the hour comes to another cost than the one given", "/cost_per_hour")
        _know(self.operations, self.multipliers)
        minutes = [m for o in self.operations for m in (o.unit_minutes, o.set_up_minutes)]
        per = 100 * lcm(*(m.denominator for m in minutes))
        parts = tuple(
            (o, int(o.set_up_minutes * per), int(o.unit_minutes * per / 100))
            for o in self.operations
        )
        by = {operation.driver for operation in self.operations}
        untimed = tuple((new, old) for new, old in STANDS_IN.items() if new not in by)
        derive(self, "untimed", untimed)
        derive(self, "per", per)
        derive(self, "parts", parts)
        derive(self, "_laid", lru_cache(MOST_CASES)(self._lay))

    def timed(self, drivers: Mapping[str, int]) -> Mapping[str, int]:
        """Return the drivers, each that no operation is timed by counted for its stand-in."""
        if not any(new in drivers for new, _ in self.untimed):
            return drivers
        found = dict(drivers)
        for new, old in self.untimed:
            if new in found:
                found[old] = found.get(old, 0) + found.pop(new)
        return found

    def for_job(self, job: Job, mouldings: Sequence[Moulding] | None = None) -> LabourStandard:
        """Return the standard with its multipliers applied to the operations of a job.

        `mouldings` replace those of the job's frames.
        """
        changed = factors(self.multipliers, job, mouldings)
        if not changed:
            return self
        return self._laid(tuple(changed.items()))

    def _lay(self, case: _Case) -> LabourStandard:
        changed = dict(case)
        operations = tuple(_scaled(o, changed.get(o.code)) for o in self.operations)
        return replace(self, operations=operations, multipliers=())


def _scaled(operation: Operation, factor: Fraction | None) -> Operation:
    if factor is None:
        return operation
    return Scaled(
        operation.code,
        operation.description,
        operation.driver,
        operation.unit_minutes * factor,
        operation.set_up_minutes * factor,
        factor,
    )


def _know(operations: Sequence[Operation], multipliers: Sequence[Multiplier]) -> None:
    """Refuse multipliers on unknown operations, and duplicate codes."""
    known = {operation.code for operation in operations}
    if multipliers and len(known) < len(operations):
        raise BadValue(
            "multipliers name operations, so each needs a code of its own", "/operations"
        )
    for position, multiplier in enumerate(multipliers):
        for place, code in enumerate(multiplier.operations):
            if code not in known:
                where = f"/multipliers/{position}/operations/{place}"
                raise BadValue(f"there is no operation {code}", where)
    if len({m.code for m in multipliers}) < len(multipliers):
        raise BadValue("each multiplier has a code of its own", "/multipliers")


@dataclass(init=False, slots=True, unsafe_hash=True)
class OperationTime:
    """The time of one operation on a job of `quantity` pieces.

    `hundredths` are the units of one piece, in hundredths; `parts` the minutes, in 1/`per` minute.
    """

    operation: Final[Operation]
    hundredths: Final[int]
    quantity: Final[int]
    parts: Final[int]
    per: Final[int]

    def __init__(
        self,
        operation: Operation,
        hundredths: int,
        quantity: int,
        parts: int,
        per: int,
    ) -> None:
        self.operation = operation
        self.hundredths = hundredths
        self.quantity = quantity
        self.parts = parts
        self.per = per

    @property
    def units(self) -> Fraction:
        """The driver's units on one piece."""
        return Fraction(self.hundredths, 100)

    @property
    def minutes(self) -> Fraction:
        """Set-up + minutes per unit × units × quantity."""
        return Fraction(self.parts, self.per)


def hourly_cost(wages: Fraction, overhead: Fraction, productive_hours: Fraction) -> Fraction:
    """Return the cost of a productive hour: (wages + overhead) / productive hours, over one period.

    Raises:
        BadValue: no productive hours.
    """
    if productive_hours <= 0:
        raise BadValue("productive hours must be more than none", "/productive_hours")
    return (wages + overhead) / productive_hours


def bench_time(
    standard: LabourStandard, drivers: Mapping[str, int], quantity: int
) -> tuple[OperationTime, ...]:
    """Return the operations that a job's drivers (in hundredths) require, in the standard's order.

    Calculated exactly, in integers over the standard's common denominator.
    """
    per, times, drivers = standard.per, [], standard.timed(drivers)
    for operation, set_up, unit in standard.parts:
        hundredths = drivers.get(operation.driver)
        if hundredths:
            parts = set_up + unit * hundredths * quantity
            times.append(OperationTime(operation, hundredths, quantity, parts, per))
    return tuple(times)


def asked_time(asked: Sequence[AskedLine], standard: LabourStandard) -> tuple[OperationTime, ...]:
    """Return the time of the lines that a job asks for, once for all its pieces."""
    return tuple(
        [
            OperationTime(
                Operation(f"line_{at}", line.description or line.service, ASKED, ONE_MINUTE),
                int(line.minutes * 100),
                1,
                int(line.minutes * standard.per),
                standard.per,
            )
            for at, line in enumerate(asked, start=1)
            if line.minutes
        ]
    )


def bench_minutes(standard: LabourStandard, drivers: Mapping[str, int], quantity: int) -> Fraction:
    """Return the total minutes of `bench_time`, without building its rows."""
    parts, drivers = 0, standard.timed(drivers)
    for operation, set_up, unit in standard.parts:
        hundredths = drivers.get(operation.driver)
        if hundredths:
            parts += set_up + unit * hundredths * quantity
    return Fraction(parts, standard.per)


def total_minutes(times: Sequence[OperationTime]) -> Fraction:
    """Return the total minutes of operations timed by one standard."""
    return Fraction(sum(time.parts for time in times), times[0].per) if times else Fraction(0)
