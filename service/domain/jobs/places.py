"""Places to mark out: art on its mount board, and the centres of ovals and arches.

Everything is measured from the package's left and top edges, seen from the front. The mount board
is cut to the package, so a place on the package is a place on the board. Half of an odd number of
ticks is taken down to a tick (1/16 µm).
"""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Placed, Window
from service.domain.jobs.sizes import Sizes
from service.domain.measure.length import Length, Sides, Size
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class ArtPlace:
    """The place of one artwork.

    Attributes:
        pointer: the artwork in the job, such as `/artwork`.
        size: the artwork's own size.
        x, y: its left and top edges.
        margins: from each of its edges to the package's edge on that side.
    """

    pointer: str
    size: Size
    x: Length
    y: Length
    margins: Sides

    @property
    def centre_x(self) -> Length:
        """The upright centre line."""
        return self.x + self.size.width.halves()[0]

    @property
    def centre_y(self) -> Length:
        """The level centre line."""
        return self.y + self.size.height.halves()[0]


@dataclass(frozen=True, slots=True)
class Curve:
    """The centre and the radii of a shaped window, by its sight edge.

    An ellipse has its centre and half of each axis; the axes are the window's width and height. An
    arch has the centre of its half circle, which lies on the spring line: the spring line is at
    `centre_y`, and both radii are half the width.
    """

    centre_x: Length
    centre_y: Length
    radius_x: Length
    radius_y: Length


def art_places(job: Job, sizes: Sizes) -> Iterator[ArtPlace]:
    """Yield the place of each artwork, in the order of its windows; nothing without a package.

    Inside the innermost mat's fillet, floated art lies within its window by the float margin on
    every side, and other art reaches beyond it by the overlap. Without a mat the art lies within
    the package in the same way.
    """
    package = sizes.package
    if package is None:
        return
    around = job.around()
    if not sizes.layers:
        yield _placed("/artwork", job.artwork, around.left, around.top, package)
        return
    innermost = sizes.layers[-1]
    fillet = innermost.mat.fillet_width()
    across, down = around.left + fillet, around.top + fillet
    for position, window in enumerate(innermost.windows):
        pointer, artwork = "/artwork", job.artwork
        if isinstance(job.openings, Placed):
            pointer = f"/openings/{position}/artwork"
            artwork = job.openings.windows[position].artwork
        yield _placed(pointer, artwork, window.x + across, window.y + down, package)


def float_places(job: Job, sizes: Sizes) -> Iterator[ArtPlace]:
    """Yield the place of each floated artwork; nothing unless the art is floated."""
    return art_places(job, sizes) if job.presentation == "float" else iter(())


def margin_showing(job: Job, sizes: Sizes) -> Length | None:
    """Return what is seen of the margin round floated art; None unless the art is floated.

    Without a mat the frame's lip and fillet cover part of it; below zero they cover art too.
    """
    if job.presentation != "float":
        return None
    if sizes.layers or not sizes.frames:
        return job.float_margin
    return min(job.float_margin, job.float_margin - sizes.frames[0].hidden())


def _placed(pointer: str, artwork: Artwork, x: Length, y: Length, package: Size) -> ArtPlace:
    right, bottom = x + artwork.size.width, y + artwork.size.height
    margins = Sides(y, package.width - right, package.height - bottom, x)
    return ArtPlace(pointer, artwork.size, x, y, margins)


def curve(window: Window) -> Curve | None:
    """Return the centre and radii of an ellipse or an arch; None for a rectangle."""
    if window.shape == "rectangle":
        return None
    across, down = window.size.width.halves()[0], window.size.height.halves()[0]
    if window.shape == "arch":
        down = across
    return Curve(window.x + across, window.y + down, across, down)
