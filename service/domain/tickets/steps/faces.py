"""Work on a mat's face before its windows are cut: grooves, and lines that are drawn round them."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.jobs.mat import Window
from service.domain.jobs.places import curve
from service.domain.measure.length import Size
from service.domain.tickets.model import MatPiece
from service.domain.tickets.steps.draft import Bundle, Draft, named


def face_draft(bundle: Bundle, mat: MatPiece) -> Draft | None:
    """Return the step that cuts a mat's grooves and draws its lines, if it has any.

    The board is still whole then: common practice, no source.
    """
    piece = bundle.made.pieces[mat.number - 1]
    if not piece.grooves and not piece.ruled_lines:
        return None
    lines = [
        f"Lay {named((mat,))}{bundle.each()}: face up.",
        *_round(bundle, mat, "Groove", piece.grooves, "V-groove cutter"),
        *_round(bundle, mat, "Rule", piece.ruled_lines, "ruling pen"),
    ]
    return Draft(
        "window",
        "face",
        lines=tuple(lines),
        pieces=(mat.number,),
        cautions=("blade",) if piece.grooves else (),
        drives={"v_grooves": len(piece.grooves), "ruled_lines": len(piece.ruled_lines)},
    )


def _round(
    bundle: Bundle, mat: MatPiece, verb: str, outlines: tuple[Window, ...], tool: str
) -> Iterator[str]:
    """Yield a line for each outline; outlines come window by window."""
    each = len(outlines) // len(mat.windows)
    for at, outline in enumerate(outlines):
        name = f"{named((mat,))}{bundle.each()}, window {at // each + 1}"
        yield f"{verb} {name}: {_outline(bundle, outline, mat.size)}, {tool}."


def _outline(bundle: Bundle, on: Window, blank: Size) -> str:
    """Return an outline in words, seen from the front: each side from its own edge."""
    text, marked = bundle.text, curve(on)
    if marked is None:
        sides = {
            "top": on.y,
            "right": blank.width - on.right(),
            "bottom": blank.height - on.bottom(),
            "left": on.x,
        }
        return ", ".join(f"{side} {text(length)}" for side, length in sides.items())
    across, down = text(marked.centre_x), text(marked.centre_y)
    if on.shape == "ellipse":
        return (
            f"ellipse, centre {across} from the left, {down} from the top, axis across "
            f"{text(on.size.width)}, axis down {text(on.size.height)}"
        )
    return (
        f"arch, centre line {across} from the left, spring line {down} from the top, radius "
        f"{text(marked.radius_x)}, foot {text(on.bottom())} from the top"
    )
