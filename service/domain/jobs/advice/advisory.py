"""An advisory on a job, and the data that the checks read."""

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
    """One advisory on a job."""

    code: str
    severity: Severity
    message: str
    pointer: str


@dataclass(frozen=True, slots=True)
class Checked:
    """The data that the checks read."""

    job: Job
    sizes: Sizes
    shop: Shop
    weight_mg: int

    def text(self, length: Length) -> str:
        """Return a length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)
