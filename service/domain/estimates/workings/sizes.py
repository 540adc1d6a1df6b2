"""Workings: the formula, the inputs and the result of every figure of an answer.

A formula is arithmetic over its named inputs: + - * / and brackets, and six functions:
`up(x, step)`, `down(x, step)`, `half_up(x, step)` and `half_down(x, step)`, which round to a
multiple of the step, `max(a, b)`, and `first(x, a, b, ...)`, the first of the others that is not
below x. Lengths are in inches. Any formula can be recalculated by hand or by a short program; a
test does so for every figure of every job it has.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from types import MappingProxyType

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.depth import art_depth, space
from service.domain.jobs.frame import FrameSizes, polygon_side
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Grid, Placed
from service.domain.jobs.places import margin_showing
from service.domain.jobs.sizes import Layer
from service.domain.measure.area import square_feet, united_inches
from service.domain.measure.length import NO_SIDES, Length, Sides, Size
from service.domain.measure.money import Money
from service.domain.shop import Shop
from service.domain.value import dataclass, derive

Value = Length | Fraction | int | Money
SIDES_ACROSS = (("width", "left", "right"), ("height", "top", "bottom"))
ENDS = {side: (first, last) for side, first, last in SIDES_ACROSS}


@dataclass(frozen=True, slots=True)
class Working:
    """The derivation of one figure: `figure` names it; `result` is the value of the formula."""

    figure: str
    formula: str
    inputs: Mapping[str, Value]
    result: Value

    def __post_init__(self) -> None:
        derive(self, "inputs", MappingProxyType(dict(self.inputs)))


def size_workings(done: JobEstimate, shop: Shop) -> Iterator[Working]:
    """Yield the workings of a job's sizes, from the art outwards."""
    yield from _shows(done)
    for position in reversed(range(len(done.sizes.layers))):
        yield from _layer(done, position)
    yield from _package(done)
    for position, frame in enumerate(done.sizes.frames):
        yield from _frame(done, frame, position, shop)
    yield from _border_showing(done)
    yield from _margin_showing(done)
    yield _stack(done)
    ordered = done.sizes.ordered
    sides: dict[str, Value] = {"width": ordered.width, "height": ordered.height}
    yield Working("sizes/united_inches", "width + height", sides, united_inches(ordered))
    yield Working("sizes/square_feet", "width * height / 144", sides, square_feet(ordered))


def _pairs(size: Size) -> tuple[tuple[str, Length], ...]:
    return (("width", size.width), ("height", size.height))


def _shows(done: JobEstimate) -> Iterator[Working]:
    job, layout = done.job, done.job.openings
    if job.goods:
        return  # nothing is seen of anything
    if isinstance(layout, Placed):
        arts = [(f"/{at}", window.artwork) for at, window in enumerate(layout.windows)]
    else:
        arts = [("", job.artwork)]
    for (place, art), shows in zip(arts, done.sizes.shows, strict=True):
        for (side, length), (_, result) in zip(_pairs(art.size), _pairs(shows), strict=True):
            formula = "art"
            inputs: dict[str, Value] = {"art": length}
            if job.presentation == "overlap":
                formula, inputs = "art - 2 * overlap", inputs | {"overlap": job.overlap}
            elif job.presentation == "float":
                formula = "art + 2 * float_margin"
                inputs["float_margin"] = job.float_margin
            if job.by_side is not None:
                formula, inputs = _by_side(job, side, length)
            around = job.around().across() if side == "width" else job.around().down()
            whole = length + around
            if result != whole:
                formula, inputs = f"{formula} + allowance - 2 * lip", inputs | _lip(done)
            yield Working(f"sizes/shows{place}/{side}", formula, inputs, result)


def _by_side(job: Job, side: str, art: Length) -> tuple[str, dict[str, Value]]:
    """Return the formula of what shows, where the overlap or the margin differs by side."""
    given = dict((job.by_side or NO_SIDES).each())
    ends = ("left", "right") if side == "width" else ("top", "bottom")
    sign = " - " if job.presentation == "overlap" else " + "
    return sign.join(("art", *ends)), {"art": art, **{end: given[end] for end in ends}}


def _lip(done: JobEstimate) -> dict[str, Value]:
    """Return the innermost frame's allowance, and its lip with its fillet."""
    frame = done.sizes.frames[0]
    lip, _ = (frame.rabbet.width - frame.sight.width).halves()
    return {"allowance": frame.rabbet.width - frame.holds.width, "lip": lip}


def _layer(done: JobEstimate, position: int) -> Iterator[Working]:
    """Yield each window of a mat, from what lies inside it: the mat below, or the visible art."""
    layers = done.sizes.layers
    layer, fillet = layers[position], layers[position].mat.fillet_width()
    below = layers[position + 1] if position + 1 < len(layers) else None
    inner = [w.size for w in below.windows] if below else _shown(done, len(layer.windows))
    for at, (window, inside) in enumerate(zip(layer.windows, inner, strict=True)):
        for (side, result), (_, start) in zip(_pairs(window.size), _pairs(inside), strict=True):
            names = ENDS[side]
            formula, inputs = "inside", {"inside": start}
            if below:
                formula += f" + reveal_{names[0]} + reveal_{names[1]}"
                inputs |= {f"reveal_{n}": getattr(below.mat.reveal, n) for n in names}
            if fillet:
                formula, inputs = f"{formula} + 2 * fillet", inputs | {"fillet": fillet}
            yield Working(f"mats/{position}/openings/{at}/{side}", formula, inputs, result)
    if layer.trim and done.sizes.package:
        yield from _blank(layer, done.sizes.package, position)


def _shown(done: JobEstimate, windows: int) -> list[Size]:
    shows = done.sizes.shows
    return list(shows) if len(shows) == windows else [shows[0]] * windows


def _blank(layer: Layer, package: Size, position: int) -> Iterator[Working]:
    for (side, whole), (_, blank) in zip(_pairs(package), _pairs(layer.blank), strict=True):
        inputs: dict[str, Value] = {"package": whole, "trim": layer.trim}
        yield Working(f"mats/{position}/blank/{side}", "package - 2 * trim", inputs, blank)


def _package(done: JobEstimate) -> Iterator[Working]:
    job, sizes = done.job, done.sizes
    if sizes.package is None or not sizes.layers or sizes.border is None:
        return
    if isinstance(job.openings, Placed):
        yield from _package_of_placed(sizes.package, sizes.layers[0], sizes.border)
        return
    grid = job.openings if isinstance(job.openings, Grid) else Grid(1, 1)
    window = sizes.layers[0].windows[0].size
    for (side, one), (_, whole), many, names in zip(
        _pairs(window), _pairs(sizes.package), (grid.columns, grid.rows), SIDES_ACROSS, strict=True
    ):
        inputs: dict[str, Value] = {"many": many, "opening": one, "gutter": grid.gutter}
        block = "many * opening + (many - 1) * gutter"
        first, last = names[1], names[2]
        ends: dict[str, Value] = {n: getattr(sizes.border, n) for n in (first, last)}
        if job.fit_to is not None:
            yield from _fitted(job.bottom_weight, whole, block, inputs, names, ends)
        yield Working(f"sizes/package/{side}", f"{block} + {first} + {last}", inputs | ends, whole)


def _fitted(
    bottom_weight: Length,
    whole: Length,
    block: str,
    inputs: dict[str, Value],
    names: tuple[str, str, str],
    ends: dict[str, Value],
) -> Iterator[Working]:
    """Yield borders derived from an outside size; an odd tick goes to the right or bottom."""
    weight = bottom_weight if names[0] == "height" else Length(0)
    given = inputs | {"fit_to": whole, "bottom_weight": weight}
    _, first, last = names
    odd: dict[str, Value] = {}
    start, end = ends[first], ends[last]
    if isinstance(start, Length) and isinstance(end, Length):
        odd = {"odd_tick": end - weight - start}
    half = f"(fit_to - ({block}) - bottom_weight"
    yield Working(f"sizes/border/{first}", f"{half} - odd_tick) / 2", given | odd, start)
    yield Working(
        f"sizes/border/{last}", f"{half} + odd_tick) / 2 + bottom_weight", given | odd, end
    )


def _package_of_placed(package: Size, layer: Layer, border: Sides) -> Iterator[Working]:
    right = max(window.right() for window in layer.windows)
    bottom = max(window.bottom() for window in layer.windows)
    for side, reach, end, whole in (
        ("width", right, border.right, package.width),
        ("height", bottom, border.bottom, package.height),
    ):
        inputs: dict[str, Value] = {"furthest_edge": reach, "border": end}
        yield Working(f"sizes/package/{side}", "furthest_edge + border", inputs, whole)


def _frame(done: JobEstimate, frame: FrameSizes, position: int, shop: Shop) -> Iterator[Working]:
    moulding, where = frame.frame.moulding, f"frames/{position}"
    allowance = frame.rabbet.width - frame.holds.width
    fillet = frame.frame.fillet.width if frame.frame.fillet else Length(0)
    for (side, holds), (_, rabbet), (_, sight), (_, outside) in zip(
        _pairs(frame.holds),
        _pairs(frame.rabbet),
        _pairs(frame.sight),
        _pairs(frame.outside),
        strict=True,
    ):
        widths: dict[str, Value] = {"rabbet": rabbet, "rabbet_width": moulding.rabbet_width}
        held: dict[str, Value] = {"holds": holds, "allowance": allowance}
        yield Working(f"{where}/rabbet/{side}", "holds + allowance", held, rabbet)
        formula = "rabbet - 2 * rabbet_width"
        if fillet:
            formula += " - 2 * fillet"
        extra: dict[str, Value] = {"fillet": fillet} if fillet else {}
        yield Working(f"{where}/frame_sight/{side}", formula, widths | extra, sight)
        faces = widths | {"face_width": moulding.face_width}
        formula = "rabbet + 2 * (face_width - rabbet_width)"
        yield Working(f"{where}/outside/{side}", formula, faces, outside)
    yield Working(f"{where}/feet", *_footage(frame), frame.footage().in_feet())


def _footage(frame: FrameSizes) -> tuple[str, dict[str, Value]]:
    """Return the rule of eight widths; for other than four sides, with sides of F·tan(180°/n)."""
    sides, face = frame.frame.sides, frame.frame.moulding.face_width
    if sides == 4:
        inputs: dict[str, Value] = {"width": frame.rabbet.width, "height": frame.rabbet.height}
        inputs["face_width"] = face
        return "(2 * (width + height) + 8 * face_width) / 12", inputs
    inputs = {"sides": sides, "rabbet_side": polygon_side(frame.rabbet.width, sides)}
    inputs["two_faces_side"] = polygon_side(2 * face, sides)
    return "sides * (rabbet_side + two_faces_side) / 12", inputs


def _border_showing(done: JobEstimate) -> Iterator[Working]:
    sizes = done.sizes
    if sizes.border is None or not sizes.frames:
        return
    frame = sizes.frames[0].frame
    half, _ = sizes.allowance.halves()
    covers: dict[str, Value] = {"rabbet_width": frame.moulding.rabbet_width, "half_allowance": half}
    formula = "border - (rabbet_width - half_allowance)"
    if frame.fillet:
        formula, covers["fillet"] = f"{formula} - fillet", frame.fillet.width
    for side, border in sizes.border.each():
        result = border - sizes.frames[0].hidden()
        inputs = {"border": border, **covers}
        yield Working(f"sizes/border_showing/{side}", formula, inputs, result)


def _margin_showing(done: JobEstimate) -> Iterator[Working]:
    margin, showing = done.job.float_margin, margin_showing(done.job, done.sizes)
    if showing is None:
        return
    formula, inputs = "float_margin", {"float_margin": margin}
    if showing != margin:
        half = (done.sizes.frames[0].rabbet.width - done.sizes.frames[0].holds.width).halves()[0]
        formula += " - (lip - half_allowance)"
        inputs |= {"lip": margin - showing + half, "half_allowance": half}
    yield Working("sizes/float_margin_showing", formula, inputs, showing)


def _art(job: Job) -> dict[str, Value]:
    """Return what the art adds to the stack, named by how it lies; nothing within its space."""
    added, artworks = art_depth(job), job.artworks()
    under = any(space(job, art) is None and art.thickness == added for art in artworks)
    if under or not any(space(job, art) for art in artworks):
        return {"art": added}
    return {"art_beyond_its_space": added} if added else {}


def _stack(done: JobEstimate) -> Working:
    job = done.job
    layers: dict[str, Value] = {}
    if job.glazing:
        layers["glazing"] = job.glazing.sheet.thickness
        layers["spacer"] = job.glazing.spacer
    for position, mat in enumerate(job.mats, start=1):
        layers[f"mat_{position}"] = mat.board.thickness
        if mat.fillet:
            layers[f"fillet_{position}"] = mat.fillet.depth
    if job.frames and job.frames[0].fillet:
        layers["rabbet_fillet"] = job.frames[0].fillet.depth
    layers |= _art(job)
    for name, board in (("mount", job.mount), ("backing", job.backing)):
        if board:
            layers[name] = board.thickness
    return Working("sizes/stack_depth", " + ".join(layers), layers, done.sizes.stack_depth)
