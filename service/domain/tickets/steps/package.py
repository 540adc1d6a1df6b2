"""Work on what goes into the frame: dry fit, mounting, the package, its sealing, and fitting."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from service.domain.jobs.depth import Fixing, held_by, space
from service.domain.jobs.frame import polygon_side
from service.domain.jobs.job import GlazingChoice
from service.domain.jobs.places import art_places
from service.domain.jobs.work import UNSEEN
from service.domain.materials.working import moulding_material
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.units import MG_PER_KG
from service.domain.shop import Method
from service.domain.tickets.closing import corner_hardware, springs
from service.domain.tickets.steps.cutter import is_large
from service.domain.tickets.steps.draft import Bundle, Draft, named
from service.domain.tickets.steps.finishing import method_cautions, methods
from service.domain.tickets.steps.mats import fallen, fallout_lines, sheet_sides
from service.domain.tickets.steps.rails import closed_last, frame_rods, is_metal, left_off

LOOSE = ("mount_only", "glass_only")
"""The kinds of work whose pieces go into no frame."""
OUTER = "screws and offset clips from behind"
OWN_METAL = "springs in its channel, its last side closed again"


def dry_fit_draft(bundle: Bundle) -> Draft | None:
    """Return the step that tries the package, and each frame, before anything is mounted."""
    sizes, sheets = bundle.made.sizes, bundle.sheets()
    what = [named(sheets)] if sizes.package is not None and sheets else [""]
    what += [bundle.frame(inner) for inner in range(len(sizes.frames) - 1)]
    lines = tuple(
        f"Try {inner} in {bundle.frame(at)}{bundle.each()}: "
        f"{bundle.text(frame.rabbet.width - frame.holds.width)} to spare each way."
        for at, (inner, frame) in enumerate(zip(what, sizes.frames, strict=False))
        if inner
    )
    if not lines:
        return None
    return Draft(
        "dry_fit",
        "dry_fit",
        lines=lines,
        pieces=tuple(sheet.number for sheet in sheets),
    )


def mount_draft(bundle: Bundle) -> Draft | None:
    """Return the step that mounts the art, if the shop mounts it before it is fitted."""
    job = bundle.made.job
    method = job.mounting if job.mounting and job.mounting.stage != "fit" else None
    if method is None and job.mount is None:
        return None
    boards = bundle.sheets("mount")
    lines = [*_placing(bundle), *_mounting(bundle, method)]
    drives = {"mount_square_feet": 1}
    if method:
        drives[method.driver] = 1
        wait = method.wait or ("it is cold, flat" if method.driver == "pressed_mounts" else "")
        lines += [f"Wait until {wait}."] if wait else []
    return Draft(
        "mount",
        "mount",
        lines=tuple(lines),
        pieces=tuple(board.number for board in boards),
        cautions=method_cautions(bundle, method) if method else (),
        drives=drives,
    )


def _mounting(bundle: Bundle, method: Method | None) -> Iterator[str]:
    job, boards = bundle.made.job, bundle.sheets("mount")
    on = f" on {named(boards)}" if boards else ""
    if method and method.driver == "stretched_mounts" and job.artwork.kind == "canvas":
        yield f"Check the bars{bundle.each()}: joined, both diagonals equal."
        yield f"Stretch the canvas{bundle.each()} from the middle of each side outwards."
    how = f": {method.description}" if method else ""
    yield f"Mount the art{bundle.each()}{on}{how}."


def _placing(bundle: Bundle) -> Iterator[str]:
    """Yield where the art lies, from the left and top edges of the board behind it."""
    boards = bundle.sheets("mount") or bundle.sheets("backing")
    if not boards:
        return
    made, text = bundle.made, bundle.text
    where = f"{named(boards[:1])}{bundle.each()}"
    places = tuple(art_places(made.job, made.sizes))
    for number, place in enumerate(places, start=1):
        which = f"{where}, window {number}" if len(places) > 1 else where
        art = f"{bundle.mark(place.size.width)} x {text(place.size.height)}"
        yield (
            f"Place the art, {art}, face up on {which}: {text(place.x)} from the left, "
            f"{text(place.y)} from the top."
        )
        if made.job.presentation != "float":
            continue
        sides = ", ".join(f"{side} {text(margin)}" for side, margin in place.margins.each())
        yield f"Check the art on {which}: from its edges to the board's {sides}."
        yield (
            f"Check the art on {which}: centre lines {text(place.centre_x)} from the left and "
            f"{text(place.centre_y)} from the top."
        )


def spacer_draft(bundle: Bundle) -> Draft | None:
    """Return the step that sticks in the spacer, if there is one."""
    choice, package = bundle.made.job.glazing, bundle.made.sizes.package
    if choice is None or not choice.spacer or package is None:
        return None
    lites = bundle.sheets("glazing")
    return Draft(
        "package",
        "spacer",
        lines=(
            *_peeled(bundle),
            f"Cut the spacer for {named(lites)}{bundle.each()}: {_spacers(bundle, package)}.",
            f"Wipe {named(lites)}{bundle.each()} clean round its edge.",
            *_stacked(bundle, choice),
            f"Stick the spacer to {named(lites)}{bundle.each()}: {bundle.text(choice.spacer)} "
            "deep, round its edge, under the lip.",
        ),
        pieces=tuple(piece.number for piece in lites),
        drives={"spacer_feet": 1},
    )


def _spacers(bundle: Bundle, package: Size) -> str:
    """Return the strips of spacer in words: two as long as the lite is wide, two between them."""
    sides = sheet_sides(bundle)
    if sides > 4:
        return f"{sides} of {bundle.text(polygon_side(package.width, sides))}, ends mitred"
    return f"2 of {bundle.text(package.width)}, 2 to fit between them"


def _stacked(bundle: Bundle, choice: GlazingChoice) -> tuple[str, ...]:
    """Return the line that lays stacked spacers on one another."""
    if not choice.stacked:
        return ()
    depths = ", ".join(item.description for item in choice.stacked)
    return (f"Stick {len(choice.stacked)} spacers on one another{bundle.each()}: {depths}.",)


def _peeled(bundle: Bundle) -> tuple[str, ...]:
    """Return the line that takes the film off plastic, before anything is stuck to the sheet."""
    glazing = bundle.made.job.glazing
    if glazing is None or not glazing.plastic:
        return ()
    return (f"Peel the film off {named(bundle.sheets('glazing'))}{bundle.each()}: both faces.",)


def package_draft(bundle: Bundle) -> Draft | None:
    """Return the step that lays the package together, if there is one to lay."""
    job, sheets = bundle.made.job, bundle.sheets()
    if bundle.made.sizes.package is None or not sheets or job.work in LOOSE:
        return None
    lites, mats = bundle.sheets("glazing"), bundle.mats()
    lines: list[str] = []
    lined = {rod.pointer.removesuffix("/fillet") for rod in bundle.rods("fillet")}
    lines += fallout_lines(bundle, [mat for mat in fallen(bundle) if mat.pointer not in lined])
    if len(mats) > 1:
        lines.append(f"Stick {named(mats)} together for good{bundle.each()}.")
    if job.glazing and not job.glazing.spacer:
        lines += _peeled(bundle)
    if lites:
        lines.append(f"Clean {named(lites)}{bundle.each()}: both faces, and look for dust.")
    for artwork in job.artworks():
        room = space(job, artwork) if artwork.kind == "object" else None
        if room:
            lines.append(
                f"Keep the object clear of the glazing{bundle.each()}: space {bundle.text(room)}, "
                f"object {bundle.text(artwork.thickness)}."
            )
    boards = bundle.sheets("mount", "backing")
    inside = "the old contents" if job.work in UNSEEN else "the art"
    again = job.work == "new_mat"
    told = ", ".join(
        [
            *(["the old glazing"] if again and not lites else []),
            *(named((part,)) for part in (*lites, *mats)),
            inside,
            *(named((board,)) for board in boards),
            *(["the old backing"] if again and not job.backing else []),
        ]
    )
    lines.append(f"Lay the package together{bundle.each()}, from the front: {told}; edges flush.")
    return Draft(
        "package",
        "package",
        lines=tuple(lines),
        pieces=tuple(sheet.number for sheet in sheets),
        cautions=("solvents",) if lites else (),
    )


def fit_draft(bundle: Bundle, position: int) -> Draft:
    """Return the step that fits a frame's contents: the package, the art, or the inner frame."""
    frame = bundle.made.sizes.frames[position]
    held = methods(bundle, "fit") if position == 0 else ()
    drives = {"fittings": 1, "fitting_united_inches": frame.holds.united_ticks()}
    drives |= {method.driver: 1 for method in held if method.driver}
    closed = closed_last(bundle, position)
    if closed and frame.frame.supply != "join":
        drives["corners"] = 2
    told = _closing(bundle, position, held) if closed else _fixing(bundle, position, held)
    lines = tuple(told)
    cautions = [code for method in held for code in method_cautions(bundle, method)]
    if any(line.endswith(": points.") for line in lines):
        cautions.append("points")
    if any(is_large(bundle, piece) for piece in bundle.sheets("glazing")):
        cautions.append("two_people")
    if bundle.made.weight_mg >= bundle.shop.safety.heavy_kg * MG_PER_KG:
        cautions.append("lift")
    return Draft(
        "fit",
        "fit",
        lines=lines,
        pieces=tuple(rod.number for rod in frame_rods(bundle, position)),
        cautions=tuple(cautions),
        drives=drives,
    )


def _contents(bundle: Bundle, position: int) -> str:
    if position:
        return bundle.frame(position - 1)
    laid = bundle.made.sizes.package is not None and bundle.sheets()
    if bundle.made.job.work in UNSEEN and not laid:
        return "the old contents"
    return "the package" if laid else "the art"


def _closing(bundle: Bundle, position: int, held: tuple[Method, ...]) -> Iterator[str]:
    """Yield the lines for a metal frame: slide in, close the last side, press forward."""
    name, what = bundle.frame(position), _contents(bundle, position)
    yield f"Slide {what} into {name}{bundle.each()}, top edge first, from the bottom."
    corner = corner_hardware(bundle.made, bundle.shop, position)
    _, which = left_off(bundle, position)
    yield f"Close {name}{bundle.each()}: {which}, 2 corners, {corner}."
    yield f"Check {name}{bundle.each()}: both diagonals equal."
    clips = springs(bundle.made, bundle.shop, position)
    yield f"Press {what} forward in {name}{bundle.each()}: {clips} in the channel."
    for method in held:
        yield f"Fix {what} in {name}{bundle.each()}: {method.description}."


def _fixing(bundle: Bundle, position: int, held: tuple[Method, ...]) -> Iterator[str]:
    name, what = bundle.frame(position), _contents(bundle, position)
    if position == 0 and bundle.made.sizes.package is None:
        gap = bundle.text(bundle.made.job.gap)
        yield (
            f"Lay {what} face up in {name}{bundle.each()}: gap {gap} on every side, kept by shims."
        )
        yield f"Turn {name}{bundle.each()} face down, with {what} in it."
        how = ", ".join(method.description for method in held) or "screws from behind"
    else:
        way, bridged = _usual(bundle, position)
        if way == "rabbet extension" and not held:
            yield (
                f"Screw a rabbet extension on the back of {name}{bundle.each()}: "
                f"{bundle.text(bridged)} deep, all round."
            )
        yield f"Lay {what} in {name}{bundle.each()}, face down."
        behind = OWN_METAL if _own_metal(bundle) else OUTER
        told = {"offset clips": f"offset clips of {bundle.text(bridged)}", "": behind}
        told["rabbet extension"] = "points"
        how = ", ".join(method.description for method in held) or told.get(way, way)
    yield f"Fix {what} in {name}{bundle.each()}: {how}."
    if bundle.made.job.presentation == "floater" and not position:
        yield f"Take the shims out of {name}{bundle.each()}."


def _usual(bundle: Bundle, position: int) -> tuple[Fixing | Literal[""], Length]:
    """Return what usually holds a frame's contents, and what it bridges; "" for an outer frame."""
    sizes = bundle.made.sizes
    if _own_metal(bundle):
        return "", ZERO
    if bundle.made.job.work in UNSEEN:
        return "points", ZERO
    if position or is_metal(frame_rods(bundle, position)):
        return "", ZERO
    room = sizes.frames[0].frame.moulding.rabbet_depth
    return held_by(sizes.stack_depth, room, bundle.shop.sizing.room_behind)


def _own_metal(bundle: Bundle) -> bool:
    own = bundle.made.job.own_frame
    return own is not None and moulding_material(own.moulding()) == "metal"
