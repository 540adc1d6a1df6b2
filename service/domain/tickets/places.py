"""Where each artwork lies on its mount."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.estimates.calculation import JobEstimate
from service.domain.measure.length import ZERO, Length, Size
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Placed:
    """The place of one artwork, face up, from the left and top edges of its mount."""

    window: int
    x: Length
    y: Length
    size: Size


def art_places(made: JobEstimate) -> Iterator[Placed]:
    """Yield the place of every artwork that does not float; none without a package.

    Behind a mat the art reaches past the sight edge, inside the fillet, by the overlap.
    """
    job, sizes = made.job, made.sizes
    if sizes.package is None or job.presentation == "float":
        return
    if not sizes.layers:
        yield Placed(1, ZERO, ZERO, job.artwork.size)
        return
    last, arts = sizes.layers[-1], job.artworks()
    inwards = last.mat.fillet_width() - job.overlap
    for at, window in enumerate(last.windows):
        size = arts[at if len(arts) == len(last.windows) else 0].size
        yield Placed(at + 1, window.x + inwards, window.y + inwards, size)
