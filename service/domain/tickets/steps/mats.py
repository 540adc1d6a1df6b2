"""Work on mats off the cutter: marking, other cutters, fixing under mats, fillets, corners."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from service.domain.jobs.frame import polygon_side
from service.domain.jobs.places import curve
from service.domain.tickets.instructions import Cut
from service.domain.tickets.model import MatPiece, SheetPiece, TicketWindow
from service.domain.tickets.steps.cutter import ROUND
from service.domain.tickets.steps.draft import Bundle, Draft, named

FIRST_STOP = "{first_stop}"
"""A placeholder in a marking's text for the first stop, known once the cuts are ordered."""


def mark_draft(bundle: Bundle, mat: MatPiece) -> Draft:
    """Return the beginning of a mat's windows: how it lies, and the lines that are drawn."""
    name = f"{named((mat,))}{bundle.each()}"
    lines = [f"Lay {name}: {mat.lies.replace('_', ' ')}."]
    if mat.edges == "top_mat":
        lines.append(f"Measure {name}: from the top mat's edges.")
    lines += _drawn(bundle, mat)
    straight = any(window.cuts for window in mat.windows)
    if straight and mat.thickness > bundle.shop.bench.standard_head:
        lines.append("Fit a fresh blade, and cut slowly.")
    return Draft(
        "window",
        "window" if straight else "shaped_window",
        lines=tuple(lines),
        pieces=(mat.number,),
        drives={"pencil_lines": mat.lines, "mat_layers": 1},
        leads="window" if straight else "shaped_window",
    )


def _drawn(bundle: Bundle, mat: MatPiece) -> Iterator[str]:
    cuts = [cut for window in mat.windows for cut in window.cuts]
    if not cuts:
        return
    face = "back" if mat.lies == "face_down" else "face"
    lead = f"Draw on the {face} of {named((mat,))}{bundle.each()}"
    if mat.lies == "face_up":
        lead += ", lightly and inside the windows only"
    if not bundle.stops:
        yield f"{lead}: {_line_places(bundle, cuts)}."
        return
    yield f"{lead}: {FIRST_STOP}, to set the start stop by."
    beyond = [cut for cut in cuts if cut.by != "guide"]
    if beyond:
        yield f"{lead}: {_line_places(bundle, beyond)}."


def _line_places(bundle: Bundle, cuts: Iterable[Cut]) -> str:
    lines = {(ROUND.index(cut.side), cut.setting) for cut in cuts}
    return ", ".join(f"{ROUND[side]} {bundle.text(setting)}" for side, setting in sorted(lines))


def shaped_draft(bundle: Bundle, mat: MatPiece) -> Draft | None:
    """Return the step for windows that the straight-line cutter cannot make, if there are any."""
    shaped = [window for window in mat.windows if window.other_cutter]
    if not shaped:
        return None
    return Draft(
        "window",
        "shaped_window",
        lines=tuple(line for window in shaped for line in _shaped(bundle, mat, window)),
        pieces=(mat.number,),
        cautions=("blade",),
        drives={"shaped_openings": len(shaped), "openings": 4 * len(shaped)},
    )


def _shaped(bundle: Bundle, mat: MatPiece, window: TicketWindow) -> Iterator[str]:
    text, on = bundle.text, window.as_it_lies
    name = f"{named((mat,))}{bundle.each()}, window {window.number}"
    marked = curve(on)
    if marked is None:
        return
    across, down = marked.centre_x, marked.centre_y
    wide, high = on.size.width, on.size.height
    if on.shape == "ellipse":
        yield f"Mark {name}: centre {text(across)} from the left, {text(down)} from the top."
        yield (
            f"Cut {name}: ellipse, axis across {text(wide)}, axis down {text(high)}, oval cutter."
        )
        return
    yield (
        f"Mark {name}: centre line {text(across)} from the left, spring line {text(down)} from the "
        "top."
    )
    yield (
        f"Cut {name}: arch head, radius {text(marked.radius_x)} round where the two lines "
        "cross, oval cutter set to a circle, or arch template."
    )
    yield (
        f"Cut {name}: legs {text(on.x)} and {text(on.right())} from the left, from the spring line "
        f"to {text(on.bottom())} from the top, straightedge."
    )
    yield (f"Cut {name}: foot {text(on.bottom())} from the top, from leg to leg, straightedge.")


def fix_draft(bundle: Bundle, upper: MatPiece, mat: MatPiece) -> Draft:
    """Return the step that fixes an under mat to the mats above it, for the time of the work."""
    where = f", {bundle.text(mat.trim)} inside the top mat's edge on every side" if mat.trim else ""
    lines = [
        f"Fix {named((mat,))}{bundle.each()}: temporarily, face to the back of {named((upper,))}"
        f"{where}."
    ]
    if mat.edges == "top_mat":
        where = f"in the windows of {named((upper,))}{bundle.each()}"
        lines.append(f"Lay the fallout back {where}: under the blade.")
    return Draft(
        "window",
        "fix_under_mat",
        lines=tuple(lines),
        pieces=(upper.number, mat.number),
        drives={"under_mats": 1},
    )


def fallen(bundle: Bundle) -> list[MatPiece]:
    """Return the mats whose fallout lies in their windows: the next mat was cut on top of them."""
    return [upper for upper, under in pairwise(bundle.mats()) if under.edges == "top_mat"]


def fallout_lines(bundle: Bundle, mats: Sequence[MatPiece]) -> list[str]:
    """Return the line that takes the fallout out of mats, if there are any."""
    if not mats:
        return []
    return [f"Take the fallout out of the windows of {named(mats)}{bundle.each()}."]


def fillet_draft(bundle: Bundle, pointer: str, *, behind: bool) -> Draft | None:
    """Return the step that cuts and fits the fillets of a mat or a frame, if it has any.

    `behind` is True if another mat is fixed over their place.
    """
    rods = bundle.rods("fillet", f"{pointer}/fillet")
    if not rods:
        return None
    in_frame = pointer.startswith("/frames")
    place = "in the rabbet" if in_frame else "behind the window's edges"
    lines = [
        f"Mitre {rod.name} ({rod.number}): {rod.quantity} of long point {bundle.text(rod.length)}, "
        f"45°, {'chopper' if rod.worked.way == 'chop' else rod.worked.material.saw_blade}."
        for rod in rods
        if not rod.worked.ordered
    ]
    if behind:
        lines.append(f"Lift off the mat behind the fillets{bundle.each()}.")
        lines += fallout_lines(
            bundle, [upper for upper in fallen(bundle) if upper.pointer == pointer]
        )
    lines.append(f"Glue {named(rods)}{bundle.each()}: {place}.")
    if behind:
        lines.append(f"Put back the mat that was lifted off{bundle.each()}.")
    return Draft(
        "rabbet" if in_frame else "line",
        "fillet",
        lines=tuple(lines),
        pieces=tuple(rod.number for rod in rods),
        cautions=rods[0].worked.cautions(),
        drives={
            "fillet_corners": sum(rod.quantity for rod in rods),
            "fillet_feet": sum(rod.quantity * rod.length.ticks for rod in rods),
        },
    )


def sheet_sides(bundle: Bundle) -> int:
    """Return how many sides the sheets have: as many as the innermost frame."""
    frames = bundle.made.sizes.frames
    return frames[0].frame.sides if frames else 4


def polygon(bundle: Bundle, sheet: SheetPiece) -> str:
    """Return a sheet's sides in words: 8 sides of 5 in."""
    sides = sheet_sides(bundle)
    return f"{sides} sides of {bundle.text(polygon_side(sheet.size.width, sides))}"


def corners_draft(bundle: Bundle) -> Draft | None:
    """Return the step that cuts the sheets' corners off if the frame has more than four sides."""
    sheets = [sheet for sheet in bundle.sheets() if not sheet.worked.ordered]
    if sheet_sides(bundle) == 4 or not sheets:
        return None
    lines = [
        f"Cut off the corners of {named((sheet,))}{bundle.each()}: {polygon(bundle, sheet)}."
        for sheet in sheets
    ]
    return Draft(
        "corners",
        "corners",
        lines=tuple(lines),
        pieces=tuple(sheet.number for sheet in sheets),
        cautions=("blade", "glass") if any(s.part == "glazing" for s in sheets) else ("blade",),
        drives={"board_corner_cuts": 1},
    )
