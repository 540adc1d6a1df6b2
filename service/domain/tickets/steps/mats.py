"""Work on mats off the cutter: marking, other cutters, fixing under mats, fillets."""

from __future__ import annotations

from service.domain.jobs.frame import polygon_side
from service.domain.measure.length import Size
from service.domain.tickets.model import MatPiece, TicketWindow
from service.domain.tickets.steps.draft import Bundle, Draft, named

FIRST_STOP = "{first_stop}"
"""A placeholder in a marking's text for the first stop, known once the cuts are ordered."""


def mark_draft(bundle: Bundle, mat: MatPiece) -> Draft:
    """Return the step that draws a mat's lines: one with stops, four per window without."""
    return Draft(
        work="mark",
        machine="hand",
        text=_mark_text(bundle, mat),
        pieces=(mat.number,),
        drives={"pencil_lines": mat.lines, "mat_layers": 1},
    )


def _mark_text(bundle: Bundle, mat: MatPiece) -> str:
    whose = ", from the top mat's edges" if mat.edges == "top_mat" else ""
    lead = f"On the {'back' if mat.lies == 'face_down' else 'face'} of {mat.name} ({mat.number})"
    if mat.lies == "face_up":
        lead += ", lightly and inside the windows only, where it falls out with the waste"
    straight = [window for window in mat.windows if window.cuts]
    if not straight:
        return f"{lead}, mark the centres of the windows{whose}."
    if bundle.stops:
        one = f"{lead}, draw one line{whose}, {FIRST_STOP}, to set the first stop by"
        return f"{one}{_beyond_the_guide(bundle, straight)}."
    if len(straight) > 1:
        return f"{lead}, draw the four lines of each window at the settings below{whose}."
    lines = ", ".join(f"{cut.side} {bundle.said(cut.setting)}" for cut in straight[0].cuts)
    return f"{lead}, draw four lines{whose}: {lines}."


def _beyond_the_guide(bundle: Bundle, windows: list[TicketWindow]) -> str:
    """Return the text for lines that stops cannot replace: sides beyond the guide's reach."""
    lines = dict.fromkeys(
        f"{cut.side} {bundle.said(cut.setting)}"
        for window in windows
        for cut in window.cuts
        if cut.by != "guide"
    )
    return f"; and the lines that the guide does not reach: {', '.join(lines)}" if lines else ""


def shaped_draft(bundle: Bundle, mat: MatPiece) -> Draft | None:
    """Return the step for windows that the straight-line cutter cannot make, if there are any."""
    shaped = [window for window in mat.windows if window.other_cutter]
    if not shaped:
        return None
    groups: dict[tuple[str, Size, str], list[TicketWindow]] = {}
    for window in shaped:
        key = (window.front.shape, window.front.size, window.other_cutter)
        groups.setdefault(key, []).append(window)
    parts = "; ".join(
        _shaped_text(bundle, size, cutter, shape, windows)
        for (shape, size, cutter), windows in groups.items()
    )
    lies = "face down" if mat.lies == "face_down" else "face up"
    return Draft(
        work="shaped_window",
        machine="hand",
        text=f"{mat.name} ({mat.number}), {lies}, on another cutter: {parts}.",
        pieces=(mat.number,),
        cautions=("blade",),
        drives={
            "shaped_openings": len(shaped),
            "openings": 4 * len(shaped),
        },
    )


def _shaped_text(
    bundle: Bundle, size: Size, cutter: str, shape: str, windows: list[TicketWindow]
) -> str:
    """Return the text for equal windows, by their positions as the mat lies, and their cutter."""
    mark = bundle.shop.ruler.mark
    places = ", ".join(
        f"window {window.number} {mark(window.as_it_lies.x)} from the left edge and "
        f"{mark(window.as_it_lies.y)} from the top"
        for window in windows
    )
    return f"{shape} {mark(size.width)} x {bundle.said(size.height)} with {cutter}: {places}"


def fix_draft(bundle: Bundle, upper: MatPiece, mat: MatPiece) -> Draft:
    """Return the step that fixes an under mat to the mats above it."""
    lead = f"Fix {named((mat,))} to the back of {named((upper,))}, face to back"
    if mat.trim:
        lead += f", {bundle.said(mat.trim)} inside the top mat's edge on every side"
    if mat.edges == "top_mat":
        lead += "; lay the fallout back in the windows above it to carry the blade"
    return Draft(
        work="fix_under_mat",
        machine="hand",
        text=lead + ".",
        pieces=(upper.number, mat.number),
        drives={"under_mats": 1},
    )


def fillet_draft(bundle: Bundle, pointer: str, *, behind: bool) -> Draft | None:
    """Return the step that cuts and fits the fillets of a mat or a frame, if it has any.

    `behind` is True if another mat is fixed over their place.
    """
    rods = bundle.rods("fillet", f"{pointer}/fillet")
    if not rods:
        return None
    many = "; ".join(
        f"{rod.quantity} of {bundle.said(rod.length)} ({rod.name}, piece {rod.number})"
        for rod in rods
    )
    place = "in the rabbet" if pointer.startswith("/frames") else "behind the window's edges"
    lift = ", the mat behind lifted off for it and put back" if behind else ""
    return Draft(
        work="fillet",
        machine="hand",
        text=f"Mitre the fillets at 45°: {many}. Glue them {place}{lift}.",
        pieces=tuple(rod.number for rod in rods),
        cautions=("saw",),
        drives={
            "fillet_corners": sum(rod.quantity for rod in rods),
            "fillet_feet": sum(rod.quantity * rod.length.ticks for rod in rods),
        },
    )


def corners_draft(bundle: Bundle) -> Draft | None:
    """Return the step that cuts the sheets' corners off if the frame has more than four sides."""
    frames, package = bundle.made.sizes.frames, bundle.made.sizes.package
    if package is None or not frames or frames[0].frame.sides == 4:
        return None
    sides, sheets = frames[0].frame.sides, bundle.sheets()
    each = bundle.said(polygon_side(package.width, sides))
    return Draft(
        work="corners",
        machine="hand",
        text=f"Cut the corners off {named(sheets)} for the frame's {sides} sides: each side "
        f"measures {each}, an under mat's less by its trim.",
        pieces=tuple(sheet.number for sheet in sheets),
        cautions=("blade", "glass") if bundle.made.job.glazing else ("blade",),
    )
