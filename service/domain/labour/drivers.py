"""The drivers of a job's bench operations, and the mat cutter's guide settings.

The units of a measure (inches, feet, square feet) are added up over what goes into the frame, and
over the frames, and each sum is rounded half up to the hundredth.

The guide is set to a border from the edge on the border's own side. Set from the far edge, the
window would lie between guide and blade and the bevel would lean the wrong way; so every side is
measured from its own edge, however far in it lies.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from service.domain.bench.materials import Way
from service.domain.jobs.guide import setting_ticks, uses_stops
from service.domain.jobs.job import Job
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.jobs.use import Use
from service.domain.jobs.work import OPENED
from service.domain.jobs.working import Worked, blade_passes, rod_work, sheet_work, sheets
from service.domain.materials.catalogue import Board
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_FOOT, TICKS_PER_INCH, Length, Size
from service.domain.measure.rounding import half_up, up_to_step_of
from service.domain.shop import Shop

Drivers = dict[str, int]
"""Units by driver, in hundredths."""
FRAME_DRIVERS = frozenset(
    {
        "rails",
        "corners",
        "moulding_feet",
        "ready_frames",
        "fillet_corners",
        "fillet_feet",
        "fittings",
        "fitting_united_inches",
    }
)
"""The drivers that the choice of a moulding can change (in addition to those of the finishing)."""
CUTS_TO_SIZE = 2
"""One break in each direction brings a lite to size."""
LITE_DRIVERS: Mapping[Way, str] = {
    "scribe": "glass_scores",
    "snap": "acrylic_scores",
    "saw": "plastic_saw_cuts",
}


def lite_driver(worked: Worked) -> str:
    """Return the driver that a cut of a lite counts for, by the way it is cut; empty if ordered."""
    if worked.way == "scribe" and worked.material.faces > 1:
        return "laminated_cuts"
    return LITE_DRIVERS.get(worked.way, "")


def package_drivers(job: Job, sizes: Sizes, shop: Shop, uses: Iterable[Use]) -> Drivers:
    """Return the drivers of everything that goes into the frame, by its uses of material."""
    if job.goods:
        return {}
    drivers: Drivers = {"job": 100, "wraps": 100}
    _own_drivers(drivers, job)
    _fillet_feet(drivers, uses, shop)
    _board_drivers(drivers, job, sizes, shop)
    for position, layer in enumerate(sizes.layers):
        _window_drivers(drivers, job, sizes, shop, layer, position)
    if job.glazing and sizes.package is not None:
        _glazing_drivers(drivers, job, sizes.package, shop)
    if job.mounting:
        _mounting_drivers(drivers, job, job.mounting.driver)
    if job.mount and sizes.package is not None:
        _square_feet(drivers, "mount_square_feet", sizes.package)
    return drivers


def _own_drivers(drivers: Drivers, job: Job) -> None:
    """Add the work on a customer's own frame besides cleaning, joining and fitting it."""
    own = job.own_frame
    if own is None:
        return
    _add(drivers, "frames_opened", 1 if job.work in OPENED else 0)
    _add(drivers, "frames_taken_apart", 1 if own.change == "cut_down" else 0)
    _add(drivers, "corner_repairs", own.corners)


def _board_drivers(drivers: Drivers, job: Job, sizes: Sizes, shop: Shop) -> None:
    """Add the boards that the bench cuts and those that it orders; both are handled, by size."""
    boards = [(item, size) for _, item, size in sheets(job, sizes) if isinstance(item, Board)]
    ordered = sum(1 for board, size in boards if sheet_work(board, size, shop.bench).ordered)
    cut = len(boards) - ordered
    _add(drivers, "board_pieces", cut)
    _add(drivers, "ordered_sheets", ordered)
    for board, size in boards:
        if sheet_work(board, size, shop.bench).way == "blade":
            passes = blade_passes(board, shop.bench)
            _add(drivers, "extra_passes", CUTS_TO_SIZE * (passes - 1))
    _add(drivers, "board_corner_cuts", cut * corner_cuts(job))
    ticks = sum(size.united_ticks() for _, size in boards)
    _measure(drivers, "board_united_inches", ticks, TICKS_PER_INCH)


def corner_cuts(job: Job) -> int:
    """Return the cuts that shape a square sheet to the innermost frame: sides - 4, or none."""
    return job.frames[0].sides - 4 if job.frames else 0


def _mounting_drivers(drivers: Drivers, job: Job, driver: str) -> None:
    """Add the mounting of every picture: one an opening, or its area."""
    area = 0
    for artwork, many in job.mounted():
        if driver.endswith("square_feet"):
            area += artwork.size.width.ticks * artwork.size.height.ticks * many
        else:
            _add(drivers, driver, many)
    _measure(drivers, driver, area, SQUARE_TICKS_PER_SQUARE_FOOT)


def _window_drivers(
    drivers: Drivers, job: Job, sizes: Sizes, shop: Shop, layer: Layer, position: int
) -> None:
    straight = sum(1 for window in layer.windows if window.shape == "rectangle")
    windows, package = len(layer.windows), sizes.package or layer.blank
    _add(drivers, "mat_layers", 1)
    _add(drivers, "under_mats", 1 if position else 0)
    _add(drivers, "openings", windows)
    _add(drivers, "shaped_openings", windows - straight)
    _add(drivers, "bevel_cuts", 4 * straight)
    if straight:
        _add(drivers, "guide_settings", len(setting_ticks(layer, package)))
        one_line = uses_stops(shop.bench, job.quantity)
        _add(drivers, "pencil_lines", 1 if one_line else 4 * straight)
    _add(drivers, "v_grooves", windows * len(layer.mat.grooves))
    _add(drivers, "ruled_lines", windows * len(layer.mat.ruled_lines))
    _add(drivers, "extra_passes", 4 * straight * (blade_passes(layer.mat.board, shop.bench) - 1))
    if layer.mat.board.thickness > shop.bench.standard_head:
        _add(drivers, "thick_mat_cuts", 4 * straight)
    if layer.mat.fillet and not rod_work(layer.mat.fillet, shop.bench).ordered:
        _add(drivers, "fillet_corners", 4 * windows)


def _glazing_drivers(drivers: Drivers, job: Job, package: Size, shop: Shop) -> None:
    if job.glazing is None:
        return
    worked = sheet_work(job.glazing.sheet, package, shop.bench)
    passes = shop.bench.acrylic_passes if worked.way == "snap" else 1
    _add(drivers, "acrylic_pieces" if job.glazing.plastic else "glass_pieces", 1)
    _add(drivers, "ordered_sheets", 1 if worked.ordered else 0)
    _add(drivers, lite_driver(worked), (CUTS_TO_SIZE + corner_cuts(job)) * passes)
    _measure(drivers, "glazing_united_inches", package.united_ticks(), TICKS_PER_INCH)
    for _ in job.glazing.stacked or (job.glazing.spacer,) * bool(job.glazing.spacer):
        _measure(drivers, "spacer_feet", package.perimeter().ticks, TICKS_PER_FOOT)


def frame_drivers(sizes: Sizes, shop: Shop, uses: Iterable[Use]) -> Drivers:
    """Return the drivers of the frames, by their uses: rails to cut, corners to join, fitting."""
    drivers: Drivers = {}
    _fillet_feet(drivers, uses, shop)
    inches, feet = 0, Fraction(0)
    for frame in sizes.frames:
        sides, supply = frame.frame.sides, frame.frame.supply
        if supply == "join":
            _add(drivers, "ready_frames", 1)
        else:
            cut = supply == "length" and not rod_work(frame.frame.moulding, shop.bench).ordered
            _add(drivers, "rails", sides if cut else 0)
            _add(drivers, "corners", sides)
            feet += _stepped(frame.footage(), shop)
        if frame.frame.fillet and not rod_work(frame.frame.fillet, shop.bench).ordered:
            _add(drivers, "fillet_corners", 4)
        _add(drivers, "fittings", 1)
        inches += frame.holds.united_ticks()
    _measure(drivers, "moulding_feet", feet.numerator, feet.denominator)
    _measure(drivers, "fitting_united_inches", inches, TICKS_PER_INCH)
    return drivers


def _fillet_feet(drivers: Drivers, uses: Iterable[Use], shop: Shop) -> None:
    feet = Fraction(0)
    for use in uses:
        if use.component == "fillet":
            feet += use.quantity("linear_foot", shop.billing)
    _measure(drivers, "fillet_feet", feet.numerator, feet.denominator)


def _stepped(footage: Length, shop: Shop) -> Fraction:
    return up_to_step_of(footage.ticks, TICKS_PER_FOOT, shop.billing.linear_foot_step)


def finishing_drivers(job: Job, outside: Size) -> Drivers:
    """Return the drivers of the finishing, by the framed piece's outside."""
    drivers: Drivers = {}
    for method in job.finishing:
        if method.driver.endswith("square_feet"):
            _square_feet(drivers, method.driver, outside)
        else:
            _add(drivers, method.driver, 1)
    return drivers


def _add(drivers: Drivers, name: str, units: int) -> None:
    if name and units:
        drivers[name] = drivers.get(name, 0) + 100 * units


def _measure(drivers: Drivers, name: str, numerator: int, denominator: int) -> None:
    """Add a measured driver, to the nearest hundredth of its unit."""
    if numerator:
        drivers[name] = drivers.get(name, 0) + half_up(100 * numerator, denominator)


def _square_feet(drivers: Drivers, name: str, size: Size) -> None:
    area = size.width.ticks * size.height.ticks
    _measure(drivers, name, area, SQUARE_TICKS_PER_SQUARE_FOOT)
