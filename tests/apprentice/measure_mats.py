"""Measures the mats: windows, their places seen from the front, bevels, fillets."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from tests.apprentice.bench import Bench, Part
from tests.apprentice.measure import differs, named, sizes
from tests.apprentice.order import Mat, Order, Size, Window

STRAIGHT = "straight blade"


def faults(bench: Bench, order: Order) -> Iterator[str]:
    """Yield what is wrong with the mats and their fillets."""
    upper: Part | None = None
    for at, mat in enumerate(order.mats):
        found = named(bench, f"Mat {at + 1}" if at else "Top mat")
        if len(found) != 1:
            yield f"mat {at + 1} is missing"
            continue
        part = found[0]
        yield from _windows(part, mat, order)
        yield from _bevel(part, mat)
        edges = {(side, cut.distance) for (_, side), cut in part.cuts.items()}
        if not set(part.drawn) <= edges:
            yield f"{part.name}: a line is drawn where no window ends"
        yield from _outlines(part, mat, "Groove", mat.grooves)
        yield from _outlines(part, mat, "Rule", mat.ruled_lines)
        if at and part.fixed_to is not upper:
            yield f"{part.name} is not fixed to the mat above it"
        if at and not (part.inside_by and part.inside_by.is_(mat.trim)):
            yield f"{part.name} does not sit {float(mat.trim):g} mm inside"
        upper = part
    yield from _fillets(bench, order)


def _bevel(part: Part, mat: Mat) -> Iterator[str]:
    if all(window.shape != "rectangle" for window in mat.windows):
        return
    if (mat.bevel == "straight") != (part.cut_head == STRAIGHT) and part.cut_head != "hand cutter":
        yield f"{part.name}: {mat.bevel} bevel, cut with the {part.cut_head}"
    if (mat.bevel == "reverse") != (part.cut_lying == "face up"):
        yield f"{part.name}: {mat.bevel} bevel, cut {part.cut_lying}"


def _windows(part: Part, mat: Mat, order: Order) -> Iterator[str]:
    numbers = {number for number, _ in part.cuts} | set(part.shaped)
    if numbers != set(range(1, len(mat.windows) + 1)):
        yield f"{part.name}: windows {sorted(numbers)}, not {len(mat.windows)}"
        return
    package = order.package or mat.blank
    bounds, moved = (package, 0) if part.cut_edges == "top mat" else (mat.blank, mat.trim)
    for number, window in enumerate(mat.windows, start=1):
        x, y = window.x - moved, window.y - moved
        to = {
            "left": x,
            "right": bounds[0] - x - window.width,
            "top": y,
            "bottom": bounds[1] - y - window.height,
        }
        if part.cut_lying == "face down":  # turned over about the upright: left and right change
            to["left"], to["right"] = to["right"], to["left"]
        name = f"{part.name}, window {number}"
        if window.shape == "rectangle":
            yield from _straight(part, number, to, name)
        else:
            yield from _shaped(part, number, window, to, name)


def _straight(part: Part, number: int, to: dict[str, object], name: str) -> Iterator[str]:
    for side, length in to.items():
        cut = part.cuts.get((number, side))
        if cut is None:
            yield f"{name}: {side} is not cut"
            continue
        if not cut.distance.is_(length):
            yield f"{name}: {side} at {float(cut.distance.middle()):g}, not {float(length):g} mm"
        for end, reading in (cut.begins, cut.ends):
            neighbour = part.cuts.get((number, end))
            if neighbour is None or neighbour.distance != reading:
                yield f"{name}: the {side} cut does not end at the {end} cut"


def _shaped(part: Part, number: int, window: Window, to: dict, name: str) -> Iterator[str]:
    made = part.shaped.get(number, {})
    half = window.width / 2
    if window.shape == "ellipse":
        if set(made) != {"centre", "axes"}:
            yield f"{name}: no ellipse"
            return
        yield from differs(f"{name}, axes", made["axes"], (window.width, window.height))
        centre = (to["left"] + half, to["top"] + window.height / 2)
        yield from differs(f"{name}, centre", made["centre"], centre)
        return
    if set(made) != {"spring", "radius", "legs", "foot"}:
        yield f"{name}: no arch"
        return
    yield from differs(f"{name}, spring", made["spring"], (to["left"] + half, to["top"] + half))
    foot = to["top"] + window.height
    legs = (to["left"], to["left"] + window.width, foot)
    for reading, length in zip((*made["legs"], made["foot"]), (*legs, foot), strict=True):
        if not reading.is_(length):
            yield f"{name}: a leg or the foot at {float(reading.middle()):g}"
    if not made["radius"].is_(half):
        yield f"{name}: radius {float(made['radius'].middle()):g}"


def _outlines(part: Part, mat: Mat, verb: str, distances: list[Fraction]) -> Iterator[str]:
    """Compare grooves or ruled lines; each goes round its window at one distance."""
    for number, window in enumerate(mat.windows, start=1):
        made = part.outlines.get((verb, number), [])
        wanted = [_outline(window, mat, distance) for distance in distances]
        alike = len(made) == len(wanted) and all(
            set(one) == set(other) and all(one[name].is_(other[name]) for name in other)
            for one, other in zip(made, wanted, strict=True)
        )
        if not alike:
            yield f"{part.name}, window {number}: {verb} otherwise than ordered"
    if {number for kind, number in part.outlines if kind == verb} - set(
        range(1, len(mat.windows) + 1)
    ):
        yield f"{part.name}: {verb} round no window"


def _outline(window: Window, mat: Mat, away: Fraction) -> dict[str, Fraction]:
    left, top = window.x - mat.trim - away, window.y - mat.trim - away
    wide, high = window.width + 2 * away, window.height + 2 * away
    if window.shape == "rectangle":
        right, bottom = mat.blank[0] - left - wide, mat.blank[1] - top - high
        return {"top": top, "right": right, "bottom": bottom, "left": left}
    centre = left + wide / 2
    if window.shape == "ellipse":
        return {"x": centre, "y": top + high / 2, "wide": wide, "high": high}
    return {"x": centre, "y": top + wide / 2, "radius": wide / 2, "foot": top + high}


def _fillets(bench: Bench, order: Order) -> Iterator[str]:
    for at, mat in enumerate(order.mats):
        if mat.fillet:
            yield from _lengths(bench, f"Fillet of mat {at + 1}", list(dict.fromkeys(sizes(mat))))
    for at, frame in enumerate(order.frames):
        if frame.fillet:
            yield from _lengths(bench, f"Fillet of frame {at + 1}", [frame.rabbet])


def _lengths(bench: Bench, name: str, lined: list[Size]) -> Iterator[str]:
    """A fillet is cut to the opening that it lines, long point to long point."""
    for sides, across in (("top and bottom", 0), ("left and right", 1)):
        for part, size in zip(named(bench, f"{name}, {sides}"), lined, strict=False):
            if "glued" not in part.facts:
                yield f"{part.name} is not glued in"
            elif not part.made["long"].is_(size[across]):
                yield f"{part.name}: not {float(size[across]):g} mm"
