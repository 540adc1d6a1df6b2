"""Factors that lengthen bench work beyond the standard minutes: wide profiles, gilding, large art.

A multiplier has a list of operations, a condition and a factor. All that apply to a job are
multiplied together, and apply to an operation's set-up and unit minutes alike. The figures usual
among framers (a profile wider than 3 in: 1.3; gilded or composition ornament: 1.5; art over 60
united inches needs a second person for fitting: 2) are common practice, no source; every shop sets
its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Literal, get_args

from service.domain.errors import BadValue
from service.domain.jobs.job import Job
from service.domain.materials.catalogue import Moulding
from service.domain.measure.length import TICKS_PER_INCH
from service.domain.value import dataclass

Looks = Literal["face_width", "moulding_group", "art_united_inches"]
LOOKS: tuple[str, ...] = get_args(Looks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Multiplier:
    """A factor on the minutes of some operations.

    Attributes:
        code: the shop's name for it.
        looks_at: the widest face of the job's frames, their price groups, or the united inches of
            its largest artwork.
        over: in inches: for the two measured conditions, it applies above this.
        groups: price groups of moulding, for `moulding_group`.
        operations: the codes of the operations that it applies to.
        factor: the factor on their minutes.

    Raises:
        BadValue: the condition and its arguments do not match.
    """

    code: str
    looks_at: str
    operations: tuple[str, ...]
    factor: Fraction
    over: Fraction = Fraction(0)
    groups: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.looks_at not in LOOKS:
            raise BadValue(f"{self.looks_at} is not looked at here", "/looks_at")
        if self.factor <= 0:
            raise BadValue("a factor is more than nothing", "/factor")
        if self.over < 0:
            raise BadValue("a width cannot be below zero", "/over")
        if (self.looks_at == "moulding_group") != bool(self.groups):
            raise BadValue("groups go with moulding_group, and with nothing else", "/groups")
        if not self.operations:
            raise BadValue("say which operations it bears on", "/operations")

    def applies(self, job: Job, mouldings: Sequence[Moulding]) -> bool:
        """Return True if this multiplier applies to the job framed in these mouldings."""
        if self.looks_at == "art_united_inches":
            return self._over(max(art.size.united_ticks() for art in job.artworks()))
        return any(self._fits(moulding) for moulding in mouldings)

    def _fits(self, moulding: Moulding) -> bool:
        if self.looks_at == "moulding_group":
            return moulding.group in self.groups
        return self._over(moulding.face_width.ticks)

    def _over(self, ticks: int) -> bool:
        return ticks * self.over.denominator > self.over.numerator * TICKS_PER_INCH


def factors(
    multipliers: Iterable[Multiplier], job: Job, mouldings: Sequence[Moulding] | None = None
) -> dict[str, Fraction]:
    """Return the factor on each operation's minutes for a job; unchanged operations are omitted.

    `mouldings` replace those of the job's frames when alternatives are tried.
    """
    if mouldings is None:
        mouldings = [frame.moulding for frame in job.frames]
    found: dict[str, Fraction] = {}
    for multiplier in multipliers:
        if multiplier.applies(job, mouldings):
            for code in multiplier.operations:
                found[code] = found.get(code, Fraction(1)) * multiplier.factor
    return {code: factor for code, factor in found.items() if factor != 1}
