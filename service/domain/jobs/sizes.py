"""Sizes of a job, from the art outwards: windows, blanks, package, frames.

Calculated once in exact lengths. Faults that only the geometry shows (an overlap that leaves no
window, a fit_to size that is too small, overlapping windows) are found here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.depth import stack_depth
from service.domain.jobs.frame import Frame, FrameSizes, frame_round
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Grid, Mat, Placed, Shape, Window
from service.domain.jobs.work import OPENED
from service.domain.measure.length import NO_SIDES, ZERO, Length, Sides, Size
from service.domain.shop import Shop
from service.domain.value import dataclass


@dataclass(init=False, slots=True, unsafe_hash=True)
class Layer:
    """One mat as cut: its blank, and its windows from the package's left and top edges.

    The blank of an under mat is smaller than the package by `trim` per side.
    """

    mat: Final[Mat]
    blank: Final[Size]
    trim: Final[Length]
    windows: Final[tuple[Window, ...]]

    def __init__(
        self,
        mat: Mat,
        blank: Size,
        trim: Length,
        windows: tuple[Window, ...],
    ) -> None:
        self.mat = mat
        self.blank = blank
        self.trim = trim
        self.windows = windows

    def on_blank(self) -> tuple[Window, ...]:
        """Return the windows, measured from the blank's own left and top edges."""
        if not self.trim:
            return self.windows
        return tuple(window.moved(self.trim, self.trim) for window in self.windows)

    def round_windows(self, distances: tuple[Length, ...]) -> tuple[Window, ...]:
        """Return the outlines at these distances round every window, on the blank, by window."""
        if not distances:
            return ()
        return tuple(each.surrounded(by) for each in self.on_blank() for by in distances)


@dataclass(frozen=True, slots=True)
class Sizes:
    """All sizes of a job. `package` is None for a floater; `frames` is empty without a frame.

    `shows` is what is seen of each artwork: its window, with the margin round floated art; without
    a mat, what the innermost frame's lip and fillet leave of the package.
    """

    shows: tuple[Size, ...]
    layers: tuple[Layer, ...]
    border: Sides | None
    package: Size | None
    allowance: Length
    frames: tuple[FrameSizes, ...]
    ordered: Size
    stack_depth: Length

    @property
    def opening(self) -> Size | None:
        """The innermost mat's first window, or None without mats."""
        return self.layers[-1].windows[0].size if self.layers else None

    @property
    def outside(self) -> Size:
        """The outermost frame's outside, or the ordered size without a frame."""
        return self.frames[-1].outside if self.frames else self.ordered


def work_out(job: Job, shop: Shop) -> Sizes:
    """Return the sizes of a job in a shop.

    Raises:
        JobRefused: the lengths given leave no window, no border or no room.
    """
    if job.goods:
        nothing = Size(ZERO, ZERO)
        return Sizes((nothing,), (), None, None, ZERO, (), nothing, ZERO)
    showing = tuple(_showing(job))
    shows = tuple(size for _, _, size in showing)
    growths = _growths(job.mats)
    faults = list(_no_window(job, showing))
    growth = growths[0] if growths else NO_SIDES
    package, tops, border = _laid_out(job, shows, growth, faults)
    if faults:
        raise JobRefused(faults)
    layers = _layers(job, shop, growths, tops, package)
    holds = package or job.artwork.size.grown(2 * job.gap)
    plastic = job.glazing is not None and job.glazing.plastic
    allowance = shop.allowance_for(holds, plastic=plastic) if package else ZERO
    if job.work in OPENED and job.own_frame and job.own_frame.rabbet:
        allowance = job.own_frame.rabbet.width - holds.width
    bare = Sizes(shows, layers, border, package, allowance, (), holds, stack_depth(job))
    made = framed(bare, job.frames, shop)
    _can_be_cut_down(job, made)
    return made


def _can_be_cut_down(job: Job, sizes: Sizes) -> None:
    """Refuse a customer's frame that is smaller than what it is to hold."""
    own = job.own_frame
    if own is None or own.change != "cut_down" or own.rabbet is None:
        return
    if not sizes.frames[0].rabbet.fits_in(own.rabbet, turned=True):
        detail = "the work needs a larger rabbet than this; a frame can be cut down, not up"
        raise JobRefused([Fault("/own_frame/rabbet", "frame_too_small", detail)])


def framed(bare: Sizes, frames: tuple[Frame, ...], shop: Shop) -> Sizes:
    """Return the same sizes with these frames added, innermost first.

    Raises:
        JobRefused: a frame's lips would meet, or it has many sides and the package is not square.
    """
    made: list[FrameSizes] = []
    holds, allowance = bare.ordered, bare.allowance
    for frame in frames:
        made.append(frame_round(frame, holds, allowance))
        holds, allowance = made[-1].outside, shop.sizing.allowance
    refused = list(_unworkable(made))
    if refused:
        raise JobRefused(refused)
    shows = bare.shows
    if made and bare.package is not None and not bare.layers:
        shows = tuple(_within(size, made[0].sight) for size in shows)
    return Sizes(
        shows,
        bare.layers,
        bare.border,
        bare.package,
        bare.allowance,
        tuple(made),
        bare.ordered,
        bare.stack_depth,
    )


def _within(size: Size, sight: Size) -> Size:
    """Return the part of a size that is seen through a sight opening."""
    return Size(min(size.width, sight.width), min(size.height, sight.height))


Showing = tuple[str, Shape, Size]
"""An artwork's pointer in the document, its window's shape, and its visible size."""


def _showing(job: Job) -> Iterator[Showing]:
    around = job.around()
    layout = job.openings
    if isinstance(layout, Placed):
        for position, window in enumerate(layout.windows):
            size = _beyond(window.artwork.size, around)
            yield f"/openings/{position}/artwork", window.shape, size
    else:
        yield "/artwork", layout.shape, _beyond(job.artwork.size, around)


def _beyond(art: Size, around: Sides) -> Size:
    return Size(art.width + around.across(), art.height + around.down())


def _no_window(job: Job, showing: tuple[Showing, ...]) -> Iterator[Fault]:
    for pointer, shape, size in showing:
        for side, length in (("width", size.width), ("height", size.height)):
            if length.ticks <= 0:
                detail = f"an overlap of this much on both sides covers the art's whole {side}"
                yield Fault(
                    "/overlap" if job.presentation == "overlap" else f"{pointer}/{side}",
                    "no_opening",
                    detail,
                )
        if shape == "arch" and 0 < 2 * size.height.ticks < size.width.ticks:
            detail = "an arch's head is half a circle: the window must be at least half as high"
            yield Fault(pointer, "arch_too_low", detail)


def _growths(mats: tuple[Mat, ...]) -> tuple[Sides, ...]:
    """Return for each mat, top first, how far its window extends beyond the visible art."""
    growth, found = NO_SIDES, []
    for mat in reversed(mats):
        if mat.fillet:
            growth = growth + Sides.all(mat.fillet.width)
        found.append(growth)
        if mat.reveal is not NO_SIDES:
            growth = mat.reveal if growth is NO_SIDES else growth + mat.reveal
    return tuple(reversed(found))


def _laid_out(
    job: Job, bases: tuple[Size, ...], growth: Sides, faults: list[Fault]
) -> tuple[Size | None, tuple[Window, ...], Sides | None]:
    """Return the package, the top mat's windows, and the resulting border."""
    if job.presentation == "floater":
        return None, (), None
    if not job.mats:
        return bases[0], (), None
    tops = [Size(s.width + growth.across(), s.height + growth.down()) for s in bases]
    if isinstance(job.openings, Placed):
        return _placed(job, job.openings, tops, faults)
    layout = (
        job.openings if isinstance(job.openings, Grid) else Grid(1, 1, ZERO, job.openings.shape)
    )
    step = Size(tops[0].width + layout.gutter, tops[0].height + layout.gutter)
    block = Size(
        Length(layout.columns * step.width.ticks - layout.gutter.ticks),
        Length(layout.rows * step.height.ticks - layout.gutter.ticks),
    )
    border = job.border if job.fit_to is None else _borders_to_fit(job, job.fit_to, block, faults)
    if border is None:
        return None, (), None
    windows = tuple(
        Window(
            layout.shape, border.left + column * step.width, border.top + row * step.height, tops[0]
        )
        for row in range(layout.rows)
        for column in range(layout.columns)
    )
    package = Size(block.width + border.across(), block.height + border.down())
    return package, windows, border


def _borders_to_fit(job: Job, fit_to: Size, block: Size, faults: list[Fault]) -> Sides | None:
    across = fit_to.width - block.width
    down = fit_to.height - block.height - job.bottom_weight
    if across.ticks < 0 or down.ticks < 0:
        side = "wide" if across.ticks < 0 else "high"
        detail = f"the mat would not be {side} enough to go round its windows"
        faults.append(Fault("/fit_to", "fit_to_too_small", detail))
        return None
    left, right = across.halves()
    top, bottom = down.halves()
    return Sides(top, right, bottom + job.bottom_weight, left)


def _placed(
    job: Job, layout: Placed, tops: list[Size], faults: list[Fault]
) -> tuple[Size | None, tuple[Window, ...], Sides | None]:
    windows = tuple(
        Window(placed.shape, placed.x, placed.y, top)
        for placed, top in zip(layout.windows, tops, strict=True)
    )
    right = max(window.right() for window in windows)
    bottom = max(window.bottom() for window in windows)
    left, top = min(w.x for w in windows), min(w.y for w in windows)
    package = job.fit_to
    if package is None and job.border is not None:
        package = Size(right + job.border.right, bottom + job.border.bottom)
        faults.extend(_too_near(windows, job.border))
    if package is None:
        return None, windows, None
    if right > package.width or bottom > package.height:
        detail = "a window reaches beyond the mat's edge"
        faults.append(Fault("/fit_to", "fit_to_too_small", detail))
    faults.extend(_run_together(windows))
    return package, windows, Sides(top, package.width - right, package.height - bottom, left)


def _too_near(windows: tuple[Window, ...], border: Sides) -> Iterator[Fault]:
    for position, window in enumerate(windows):
        for side, at, least in (("x", window.x, border.left), ("y", window.y, border.top)):
            if at < least:
                yield Fault(
                    f"/openings/{position}/{side}",
                    "nearer_than_border",
                    "this window stands nearer to the mat's edge than the border asked for",
                )


def _run_together(windows: tuple[Window, ...]) -> Iterator[Fault]:
    for position, window in enumerate(windows):
        for other in windows[:position]:
            if (
                window.x < other.right()
                and other.x < window.right()
                and window.y < other.bottom()
                and other.y < window.bottom()
            ):
                detail = "this window runs into another one"
                yield Fault(f"/openings/{position}", "windows_overlap", detail)
                break


def _layers(
    job: Job, shop: Shop, growths: tuple[Sides, ...], tops: tuple[Window, ...], package: Size | None
) -> tuple[Layer, ...]:
    if package is None or not job.mats:
        return ()
    made = [Layer(job.mats[0], package, ZERO, tops)]
    trim = shop.sizing.under_mat_trim
    for mat, growth in zip(job.mats[1:], growths[1:], strict=True):
        inwards = _difference(growths[0], growth)
        windows = tuple(top.shrunk(inwards) for top in tops)
        made.append(Layer(mat, package.grown(-2 * trim), trim, windows))
    return tuple(made)


def _difference(outer: Sides, inner: Sides) -> Sides:
    return Sides(
        outer.top - inner.top,
        outer.right - inner.right,
        outer.bottom - inner.bottom,
        outer.left - inner.left,
    )


def _unworkable(frames: list[FrameSizes]) -> Iterator[Fault]:
    for position, sizes in enumerate(frames):
        if sizes.frame.sides != 4 and sizes.holds.width != sizes.holds.height:
            detail = "a frame of more than four sides goes round a package as high as it is wide"
            yield Fault(f"/frames/{position}/sides", "not_square", detail)
        if sizes.sight.shorter().ticks <= 0:
            detail = "the frame's lips would meet: the package is too small for this moulding"
            yield Fault(f"/frames/{position}/moulding", "lips_meet", detail)
