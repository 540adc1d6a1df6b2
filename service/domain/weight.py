"""What the framed piece weighs, by the catalogue's densities; the artwork itself is not counted.

kg = area · thickness · density for glazing, area · weight a square metre for boards (a mat without
its windows), length · weight a metre for rails and fillets. It picks hardware and raises cautions;
it is an estimate and is never called safe.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.job import Job
from service.domain.measure.length import TICKS_PER_MM
from service.domain.opening import edge_length, square_ticks
from service.domain.sizes import Layer, Sizes

_PER_METRE = TICKS_PER_MM * 1000
_PER_SQUARE_METRE = _PER_METRE**2
_PER_CUBIC_METRE = _PER_METRE**3


def weight_kg(job: Job, sizes: Sizes) -> Fraction:
    """The weight of one framed piece, in kg."""
    return package_kg(job, sizes) + frames_kg(sizes)


def package_kg(job: Job, sizes: Sizes) -> Fraction:
    """What lies in the rabbet: glazing, mats with their fillets, mount and backing."""
    return sum((kg for _, kg in parts_kg(job, sizes)), Fraction(0))


def parts_kg(job: Job, sizes: Sizes) -> Iterator[tuple[str, Fraction]]:
    """The parts of the package by name, with their weights."""
    package = sizes.package
    if package is None:
        return
    area = package.width.ticks * package.height.ticks
    if job.glazing:
        sheet = job.glazing.sheet
        volume = area * sheet.thickness.ticks
        yield "glazing", volume * sheet.density / _PER_CUBIC_METRE
    for layer in sizes.layers:
        yield "mat", _mat_kg(layer)
        if layer.mat.fillet:
            edge = sum(edge_length(window).ticks for window in layer.windows)
            yield "fillet", edge * layer.mat.fillet.weight_kg_per_m / _PER_METRE
    for name, board in (("mounting", job.mount), ("backing", job.backing)):
        if board:
            yield name, area * board.weight_kg_per_m2 / _PER_SQUARE_METRE


def _mat_kg(layer: Layer) -> Fraction:
    board = layer.blank.width.ticks * layer.blank.height.ticks
    gone = sum((square_ticks(window) for window in layer.windows), Fraction(0))
    return (board - gone) * layer.mat.board.weight_kg_per_m2 / _PER_SQUARE_METRE


def frames_kg(sizes: Sizes) -> Fraction:
    """All frames: rails end to end times the moulding's weight a metre, and rabbet fillets."""
    total = Fraction(0)
    for frame in sizes.frames:
        length = frame.rail_length().ticks
        total += length * frame.frame.moulding.weight_kg_per_m / _PER_METRE
        if frame.frame.fillet:
            inner = frame.rabbet.perimeter().ticks
            total += inner * frame.frame.fillet.weight_kg_per_m / _PER_METRE
    return total
