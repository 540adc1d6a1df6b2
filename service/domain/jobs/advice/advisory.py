"""One thing that a good framer would say about a job, and what the checks for it look at."""

from __future__ import annotations

from typing import Literal

from service.domain.jobs.job import Job
from service.domain.jobs.sizes import Sizes
from service.domain.measure.length import Length
from service.domain.shop import Shop
from service.domain.value import dataclass

Severity = Literal["info", "warning", "stop"]


@dataclass(frozen=True, slots=True)
class Advisory:
    """One thing to say about a job."""

    code: str
    severity: Severity
    message: str
    pointer: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What the checks look at."""

    job: Job
    sizes: Sizes
    shop: Shop
    weight_mg: int

    def said(self, length: Length) -> str:
        """A length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)
