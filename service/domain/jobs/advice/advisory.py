"""An advisory on a job, and the data that the checks read."""

from __future__ import annotations

from typing import Literal

from service.domain.jobs.job import Job
from service.domain.jobs.sizes import Sizes
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Length
from service.domain.shop import Shop
from service.domain.value import dataclass

Severity = Literal["info", "warning", "stop"]


@dataclass(frozen=True, slots=True)
class Advisory:
    """One advisory on a job; `overridden` is why the shop makes it in spite of a stop."""

    code: str
    severity: Severity
    message: str
    pointer: str
    overridden: str = ""

    @property
    def stops(self) -> bool:
        """True if the job cannot be made: a stop that the shop has not set aside."""
        return self.severity == "stop" and not self.overridden


@dataclass(frozen=True, slots=True)
class Checked:
    """The data that the checks read."""

    job: Job
    sizes: Sizes
    shop: Shop
    weight_mg: int
    catalogue: Catalogue

    def text(self, length: Length) -> str:
        """Return a length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)
