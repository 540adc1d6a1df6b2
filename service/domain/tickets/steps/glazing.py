"""Work that brings glazing to size, by its material: scribed, snapped, sawn."""

from __future__ import annotations

from service.domain.measure.length import Length
from service.domain.tickets.instructions import SizeCut
from service.domain.tickets.model import SheetPiece
from service.domain.tickets.steps.cutter import is_large
from service.domain.tickets.steps.draft import Bundle, Draft, named, never

LITE = (
    "glass_pieces",
    "acrylic_pieces",
    "glass_scores",
    "laminated_cuts",
    "acrylic_scores",
    "plastic_saw_cuts",
)
HEADS = {"scribe": "glass scriber", "snap": "plastic scorer"}
_AT = {
    "stop": "at the arm stop",
    "mark": "marked at both ends",
    "straightedge": "along a straightedge on the table",
}


def glazing_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that cut the glazing, one for each dimension; none if it is ordered."""
    drafts: list[Draft] = []
    for piece in bundle.sheets("glazing"):
        if piece.worked.ordered:
            continue
        lies = piece.worked.material.lies
        lead = (f"Lay {named((piece,))}{bundle.each()}: {lies}.",) if lies else ()
        lines = (*lead, *never((piece,)))
        first = Draft("glaze", "glazing", lines=lines, pieces=(piece.number,), leads="glazing")
        cuts = [_draft(bundle, piece, cut) for cut in piece.size_cuts]
        for draft in cuts:
            draft.after.append(first)
        drafts += [first, *cuts]
    return drafts


def glazing_drives(ticks: int) -> dict[str, int]:
    """Return the drivers of bringing the job's one lite to size, by a length of its edges.

    Whichever of them a quote counted is of this lite, earlier calculations' too.
    """
    return {**dict.fromkeys(LITE, 1), "glazing_united_inches": ticks}


def _draft(bundle: Bundle, piece: SheetPiece, cut: SizeCut) -> Draft:
    cautions = piece.worked.cautions()
    return Draft(
        "glaze",
        "glazing",
        machine="saw" if cut.by == "saw" else "hand" if cut.by == "straightedge" else "cutter",
        lines=_lines(bundle, piece, cut),
        pieces=(piece.number,),
        needs=_needs(piece, cut),
        size_cuts=(cut,),
        cautions=(*cautions, "two_people") if is_large(bundle, piece) else cautions,
        drives=glazing_drives(cut.length.ticks),
    )


def _needs(piece: SheetPiece, cut: SizeCut) -> dict[str, Length | str]:
    if cut.by == "saw":
        return {"panel_blade": piece.worked.material.saw_blade, "panel_fence": cut.length}
    if cut.by == "straightedge":
        return {}
    needs: dict[str, Length | str] = {
        "slip_sheet": "out",
        "guide": "off",
        "head": HEADS[piece.worked.way],
    }
    if cut.by == "stop":
        needs["arm_stop"] = cut.length
    return needs


def _lines(bundle: Bundle, piece: SheetPiece, cut: SizeCut) -> tuple[str, ...]:
    name = f"{named((piece,))}{bundle.each()}"
    size = f"{cut.across} {bundle.text(cut.length)}"
    if cut.by == "saw":
        kerf = bundle.text(bundle.shop.bench.panel_kerf)
        return (f"Saw {name}: {size}, at the saw fence, kerf {kerf} on the waste side.",)
    where = f"{size}, {_AT[cut.by]}"
    if piece.worked.way == "snap":
        passes = bundle.shop.bench.acrylic_passes
        times = "pass" if passes == 1 else "passes"
        return (
            f"Score {name}: {where}, {passes} {times}.",
            f"Snap {name}: at the line, over an edge.",
        )
    snap = f"Break {name}: at once, over an edge."
    if piece.worked.material.faces == 1:
        return (f"Oil and scribe {name}: {where}, once.", snap)
    return (
        f"Oil and scribe {name}: {where}, once on the first face.",
        snap,
        f"Turn {name} over.",
        f"Oil and scribe {name}: on the same line, once on the second face.",
        snap,
        f"{piece.worked.material.after} of {name}: along the break, with a blade.",
    )
