"""The weight of the framed piece, from the catalogue's densities; the artwork is not counted.

Glazing: area · thickness · density. Boards: area · weight per square metre (a mat without its
windows). Rails and fillets: length · weight per metre. Each part to the nearest milligram, half up.
The weight selects hardware and raises cautions; it is an estimate and is never called safe.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.jobs.job import Job
from service.domain.jobs.mat import edge_length, square_ticks
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.measure.length import TICKS_PER_MM
from service.domain.measure.rounding import half_up
from service.domain.measure.units import MG_PER_KG

_PER_METRE = TICKS_PER_MM * 1000
_PER_SQUARE_METRE = _PER_METRE**2
_PER_CUBIC_METRE = _PER_METRE**3


def weight_mg(job: Job, sizes: Sizes) -> int:
    """Return the weight of one framed piece, in milligrams."""
    return package_mg(job, sizes) + frames_mg(sizes)


def in_kg(milligrams: int) -> Fraction:
    """Return milligrams in kilograms."""
    return Fraction(milligrams, MG_PER_KG)


def package_mg(job: Job, sizes: Sizes) -> int:
    """Return the weight of the rabbet's contents: glazing, mats, fillets, mount and backing."""
    return sum(mg for _, mg in parts_mg(job, sizes))


def parts_mg(job: Job, sizes: Sizes) -> Iterator[tuple[str, int]]:
    """Yield the parts of the package: pointer in the document and weight."""
    package = sizes.package
    if package is None:
        return
    area = package.width.ticks * package.height.ticks
    if job.glazing:
        sheet = job.glazing.sheet
        yield "/glazing", _mg(area * sheet.thickness.ticks, sheet.density, _PER_CUBIC_METRE)
    for position, layer in enumerate(sizes.layers):
        yield f"/mats/{position}", _mat_mg(layer)
        if layer.mat.fillet:
            edge = sum(edge_length(window).ticks for window in layer.windows)
            weight = _mg(edge, layer.mat.fillet.weight_kg_per_m, _PER_METRE)
            yield f"/mats/{position}/fillet", weight
    for pointer, board in (("/mounting", job.mount), ("/backing", job.backing)):
        if board:
            yield pointer, _mg(area, board.weight_kg_per_m2, _PER_SQUARE_METRE)


def _mat_mg(layer: Layer) -> int:
    left = layer.blank.width.ticks * layer.blank.height.ticks
    round_ones = Fraction(0)
    for window in layer.windows:
        if window.shape == "rectangle":
            left -= window.size.width.ticks * window.size.height.ticks
        else:
            round_ones += square_ticks(window)
    rate = layer.mat.board.weight_kg_per_m2
    if not round_ones:
        return _mg(left, rate, _PER_SQUARE_METRE)
    area = left - round_ones
    return _mg(area.numerator, rate, _PER_SQUARE_METRE * area.denominator)


def frames_mg(sizes: Sizes) -> int:
    """Return the weight of all frames: rails at the moulding's weight per metre, and fillets."""
    return sum(mg for _, mg in frame_parts_mg(sizes))


def frame_parts_mg(sizes: Sizes) -> Iterator[tuple[str, int]]:
    """Yield the frames: pointer in the document and weight."""
    for position, frame in enumerate(sizes.frames):
        length = frame.rail_length().ticks
        rate = frame.frame.moulding.weight_kg_per_m
        yield f"/frames/{position}", _mg(length, rate, _PER_METRE)
        if frame.frame.fillet:
            inner = frame.rabbet.perimeter().ticks
            weight = _mg(inner, frame.frame.fillet.weight_kg_per_m, _PER_METRE)
            yield f"/frames/{position}/fillet", weight


def _mg(measure: int, kg_per: Fraction, per: int) -> int:
    kg, under = kg_per.as_integer_ratio()
    return half_up(measure * MG_PER_KG * kg, per * under)
