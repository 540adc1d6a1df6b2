"""Workings of a job's weight; see `workings`.

In kg, each part to the milligram. 1 in² = 0.00064516 m², 1 in³ = 0.000016387064 m³,
1 in = 0.0254 m.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from service.domain.estimates.calculation import JobEstimate
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.jobs.frame import FrameSizes
from service.domain.jobs.mat import PI, Shape, Window, edge_length
from service.domain.jobs.sizes import Layer
from service.domain.jobs.weight import frame_parts_mg, in_kg, parts_mg
from service.domain.measure.length import Length, Size

_Formula = tuple[str, dict[str, Value]]


def weight_workings(done: JobEstimate) -> Iterator[Working]:
    """Yield the weight of each part, and their total."""
    weights = dict([*parts_mg(done.job, done.sizes), *frame_parts_mg(done.sizes)])
    for pointer, (measure, inputs) in (*_package(done), *_frames(done)):
        formula = f"half_up({measure}, 0.000001)"
        yield Working(f"weight{pointer}", formula, inputs, in_kg(weights[pointer]))
    kilograms: dict[str, Value] = {
        f"part_{at}": in_kg(milligrams) for at, milligrams in enumerate(weights.values())
    }
    total = " + ".join(kilograms) or "0"
    yield Working("sizes/weight_kg", total, kilograms, in_kg(done.weight_mg))


def _package(done: JobEstimate) -> Iterator[tuple[str, _Formula]]:
    """Yield the parts of the package with their pointers, before rounding."""
    job, package = done.job, done.sizes.package
    if package is None:
        return
    if job.glazing:
        sheet = job.glazing.sheet
        inputs = {**_sides(package), "thickness": sheet.thickness, "density": sheet.density}
        volume = "width * height * thickness * 0.000016387064"
        yield "/glazing", (f"{volume} * density", inputs)
    for position, layer in enumerate(done.sizes.layers):
        yield f"/mats/{position}", _mat(layer)
        if layer.mat.fillet:
            run = _edges(layer, layer.mat.fillet.weight_kg_per_m)
            yield f"/mats/{position}/fillet", run
    for pointer, board in (("/mounting", job.mount), ("/backing", job.backing)):
        if board:
            inputs = {**_sides(package), "weight": board.weight_kg_per_m2}
            yield pointer, ("width * height * 0.00064516 * weight", inputs)


def _frames(done: JobEstimate) -> Iterator[tuple[str, _Formula]]:
    for position, frame in enumerate(done.sizes.frames):
        yield f"/frames/{position}", _rails(frame)
        if frame.frame.fillet:
            inputs = {**_sides(frame.rabbet), "weight": frame.frame.fillet.weight_kg_per_m}
            run = "2 * (width + height) * 0.0254 * weight"
            yield f"/frames/{position}/fillet", (run, inputs)


def _mat(layer: Layer) -> _Formula:
    """Return the weight of the blank without its windows."""
    area, inputs = "width * height", _sides(layer.blank)
    for at, (shape, size, many) in enumerate(_alike(layer)):
        inputs |= {f"windows_{at}": many, f"width_{at}": size.width, f"height_{at}": size.height}
        area += f" - windows_{at} * {_AREAS[shape].format(w=f'width_{at}', h=f'height_{at}')}"
        if shape != "rectangle":
            inputs["pi"] = PI
    inputs["weight"] = layer.mat.board.weight_kg_per_m2
    return f"({area}) * 0.00064516 * weight", inputs


_AREAS = {
    "rectangle": "{w} * {h}",
    "ellipse": "pi * {w} * {h} / 4",
    "arch": "({w} * ({h} - {w} / 2) + pi * {w} * {w} / 8)",
}


def _edges(layer: Layer, weight: Fraction) -> _Formula:
    """Return the weight of the window edges; a round edge is one length, to the nearest tick."""
    inputs: dict[str, Value] = {}
    runs = []
    for at, (shape, size, many) in enumerate(_alike(layer)):
        inputs[f"windows_{at}"] = many
        if shape == "rectangle":
            inputs |= {f"width_{at}": size.width, f"height_{at}": size.height}
            runs.append(f"windows_{at} * 2 * (width_{at} + height_{at})")
        else:
            edge = Window(shape, Length(0), Length(0), size)
            inputs[f"edge_{at}"] = edge_length(edge)
            runs.append(f"windows_{at} * edge_{at}")
    inputs["weight"] = weight
    return f"({' + '.join(runs)}) * 0.0254 * weight", inputs


def _alike(layer: Layer) -> Iterator[tuple[Shape, Size, int]]:
    """Yield runs of consecutive identical windows: shape, size, count."""
    for (shape, size), windows in groupby(layer.windows, lambda each: (each.shape, each.size)):
        yield shape, size, len(list(windows))


def _rails(frame: FrameSizes) -> _Formula:
    weight = frame.frame.moulding.weight_kg_per_m
    if frame.frame.sides == 4:
        return "2 * (width + height) * 0.0254 * weight", {**_sides(frame.outside), "weight": weight}
    (_, many, length), *_ = frame.rails()
    return "rails * length * 0.0254 * weight", {"rails": many, "length": length, "weight": weight}


def _sides(size: Size) -> dict[str, Value]:
    return {"width": size.width, "height": size.height}
