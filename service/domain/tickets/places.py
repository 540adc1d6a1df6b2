"""Where each artwork lies on its mount, and how many fasteners go round a frame."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.mat import Window
from service.domain.measure.length import TICKS_PER_FOOT, ZERO, Length, Size
from service.domain.measure.rounding import up
from service.domain.value import dataclass

LEAST_SPRINGS = 2


@dataclass(frozen=True, slots=True)
class ArtPlace:
    """The place of one artwork, face up, from the mount's left and top edges.

    `margin` is what shows of the mount on every side inside the window; zero unless the art floats.
    """

    window: int
    x: Length
    y: Length
    size: Size
    margin: Length

    def centre(self) -> tuple[Length, Length]:
        """Return the art's centre lines, from left and top, to the tick below."""
        return (
            self.x + Length(self.size.width.ticks // 2),
            self.y + Length(self.size.height.ticks // 2),
        )


def art_places(made: JobEstimate) -> tuple[ArtPlace, ...]:
    """Return the place of every artwork in the package; none without a package."""
    if made.sizes.package is None:
        return ()
    return tuple(_places(made))


def _places(made: JobEstimate) -> Iterator[ArtPlace]:
    job, _sizes = made.job, made.sizes
    margin = job.float_margin if job.presentation == "float" else ZERO
    inwards = margin - job.overlap if job.presentation == "overlap" else margin
    arts = job.artworks()
    windows = _windows(made)
    for at, window in enumerate(windows):
        size = arts[at if len(arts) == len(windows) else 0].size
        yield ArtPlace(at + 1, window.x + inwards, window.y + inwards, size, margin)


def _windows(made: JobEstimate) -> tuple[Window, ...]:
    """Return what shows of each artwork from the package's edges: the sight of the last mat."""
    sizes = made.sizes
    if not sizes.layers:
        return (Window("rectangle", ZERO, ZERO, sizes.shows[0]),)
    last = sizes.layers[-1]
    lining = last.mat.fillet_width()
    return tuple(
        Window(window.shape, window.x + lining, window.y + lining, window.size.grown(-2 * lining))
        for window in last.windows
    )


def springs(outside: Size) -> int:
    """Return the spring clips of a metal frame: one for each foot begun of a side, at least two.

    Common practice, no source.
    """
    return 2 * sum(
        max(LEAST_SPRINGS, up(side.ticks, TICKS_PER_FOOT))
        for side in (outside.width, outside.height)
    )
