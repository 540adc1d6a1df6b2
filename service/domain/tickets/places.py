"""Where each artwork lies on its mount, and how many fasteners go round a frame."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.estimates.calculation import JobEstimate
from service.domain.measure.length import TICKS_PER_FOOT, ZERO, Length, Size
from service.domain.measure.rounding import up
from service.domain.value import dataclass

LEAST_SPRINGS = 2


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


def springs(outside: Size) -> int:
    """Return the spring clips of a metal frame: one for each foot begun of a side, at least two.

    Common practice, no source.
    """
    return 2 * sum(
        max(LEAST_SPRINGS, up(side.ticks, TICKS_PER_FOOT))
        for side in (outside.width, outside.height)
    )
