"""The figures that a golden case may expect, each read from the finished estimate by its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.guide import guide_settings
from service.domain.jobs.weight import frame_parts_mg, in_kg, parts_mg
from service.domain.measure.area import square_feet, square_inches, united_inches
from service.domain.measure.length import Length, Sides, Size


def _layer(done: JobEstimate, position: int) -> tuple[Length, Length]:
    size = done.sizes.layers[position].windows[0].size
    return size.width, size.height


def _border(done: JobEstimate) -> Sides:
    border = done.sizes.border
    assert border is not None
    return border


def _kg(done: JobEstimate, part: str) -> Fraction:
    parts = dict((*parts_mg(done.job, done.sizes), *frame_parts_mg(done.sizes)))
    return in_kg(parts[part])


def _package(done: JobEstimate) -> Size:
    assert done.sizes.package is not None
    return done.sizes.package


FIGURES: Mapping[str, Callable[[JobEstimate], Length | Fraction]] = {
    "opening width": lambda d: _layer(d, -1)[0],
    "opening height": lambda d: _layer(d, -1)[1],
    "top opening width": lambda d: _layer(d, 0)[0],
    "top opening height": lambda d: _layer(d, 0)[1],
    "border top": lambda d: _border(d).top,
    "border right": lambda d: _border(d).right,
    "border bottom": lambda d: _border(d).bottom,
    "border left": lambda d: _border(d).left,
    "package width": lambda d: _package(d).width,
    "package height": lambda d: _package(d).height,
    "under blank width": lambda d: d.sizes.layers[1].blank.width,
    "under blank height": lambda d: d.sizes.layers[1].blank.height,
    "under setting": lambda d: guide_settings(d.sizes.layers[1], _package(d))[0],
    "rabbet width": lambda d: d.sizes.frames[0].rabbet.width,
    "rabbet height": lambda d: d.sizes.frames[0].rabbet.height,
    "sight width": lambda d: d.sizes.frames[0].sight.width,
    "sight height": lambda d: d.sizes.frames[0].sight.height,
    "outside width": lambda d: d.sizes.outside.width,
    "outside height": lambda d: d.sizes.outside.height,
    "rail across": lambda d: d.sizes.frames[0].rails()[0][2],
    "rail down": lambda d: d.sizes.frames[0].rails()[-1][2],
    "rails": lambda d: d.sizes.frames[0].rail_length(),
    "footage": lambda d: d.sizes.frames[0].footage(),
    "feet": lambda d: d.sizes.frames[0].footage().in_feet(),
    "billed feet": lambda d: d.lines[0].quantity,
    "frame price": lambda d: d.lines[0].amount.units(),
    "stack": lambda d: d.sizes.stack_depth,
    "united inches": lambda d: united_inches(d.sizes.ordered),
    "square inches": lambda d: square_inches(d.sizes.ordered),
    "square feet": lambda d: square_feet(d.sizes.ordered),
    "perimeter": lambda d: d.sizes.ordered.perimeter(),
    "mitre": lambda d: next(p.mitre for p in d.pieces if p.part == "rail") or Fraction(0),
    "glazing kg": lambda d: _kg(d, "/glazing"),
    "mat kg": lambda d: _kg(d, "/mats/0"),
    "backing kg": lambda d: _kg(d, "/backing"),
    "frame kg": lambda d: _kg(d, "/frames/0"),
    "kg": lambda d: Fraction(d.weight_mg, 1_000_000),
}
"""Every figure that a case may expect, read from the finished estimate."""
