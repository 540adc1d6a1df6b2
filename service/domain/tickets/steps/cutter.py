"""Work on the straight-line cutter: sizing boards, cutting windows, scoring glazing.

Work is grouped so that one step is one set-up: all sheets cut at one stop and one blade depth, all
sides of all windows of a mat cut at one setting of the guide.
"""

from __future__ import annotations

from collections.abc import Iterable

from service.domain.measure.length import Length
from service.domain.shop import Bench
from service.domain.tickets.model import Cut, MatPiece, SheetPiece, SizeCut
from service.domain.tickets.steps.draft import Bundle, Draft, named

SIDES = "{sides}"
"""A placeholder in a step's text for the sides it cuts, whose order is decided last."""
STRAIGHT, BEVEL, THICK_BEVEL = "straight blade", "bevel head", "thick-board bevel head"
SCRIBER, SCORER = "glass scriber", "plastic scorer"
STANDARD_DEPTH, FOAM_DEPTH = "standard board", "3/16 in foam board"
_HOW = {
    "stop": "Cut {pieces} to {length} against the stop, colour side down.",
    "mark": "Mark {length} at both ends of {pieces}, lay the marks under the rail and cut, colour "
    "side down; the stop does not reach.",
    "straightedge": "Mark {length} at both ends of {pieces} and cut on the table along a steel "
    "straightedge.",
}


def size_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that size the boards: one for each blade depth and length."""
    groups: dict[tuple[object, ...], list[tuple[SheetPiece, SizeCut]]] = {}
    for piece in bundle.sheets():
        if piece.part == "glazing":
            continue
        depth = size_depth(piece.thickness, bundle.shop.bench)
        for cut in piece.size_cuts:
            key = (cut.by, cut.length, "" if cut.by == "straightedge" else depth)
            groups.setdefault(key, []).append((piece, cut))
    return [_size_draft(bundle, group) for group in groups.values()]


def size_depth(thickness: Length, bench: Bench) -> str:
    """Return the straight blade's depth: the standard one up to 8-ply, else the foam-board one."""
    return STANDARD_DEPTH if thickness <= bench.thickest_bevel else FOAM_DEPTH


def _size_draft(bundle: Bundle, group: list[tuple[SheetPiece, SizeCut]]) -> Draft:
    piece, cut = group[0]
    needs: dict[str, Length | str] = {}
    if cut.by != "straightedge":
        depth = size_depth(piece.thickness, bundle.shop.bench)
        needs = {"slip_sheet": "out", "guide": "off", "head": STRAIGHT, f"depth:{STRAIGHT}": depth}
    if cut.by == "stop":
        needs["arm_stop"] = cut.length
    pieces = tuple(dict.fromkeys(piece for piece, _ in group))
    names = named(pieces)
    return Draft(
        work="size",
        machine="hand" if cut.by == "straightedge" else "cutter",
        text=_HOW[cut.by].format(pieces=names, length=bundle.said(cut.length)),
        pieces=tuple(piece.number for piece in pieces),
        needs=needs,
        size_cuts=tuple(cut for _, cut in group),
        cautions=("blade",),
        drives={
            "board_pieces": len(group),
            "board_united_inches": sum(cut.length.ticks for _, cut in group),
        },
    )


def glazing_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that score and break the glazing, one for each dimension."""
    choice = bundle.made.job.glazing
    drafts: list[Draft] = []
    if choice is None:
        return drafts
    kind = "acrylic" if choice.plastic else "glass"
    for piece in bundle.sheets():
        if piece.part != "glazing":
            continue
        for cut in piece.size_cuts:
            needs: dict[str, Length | str] = {}
            if cut.by != "straightedge":
                head = SCORER if choice.plastic else SCRIBER
                needs = {"slip_sheet": "out", "guide": "off", "head": head}
            if cut.by == "stop":
                needs["arm_stop"] = cut.length
            drafts.append(
                Draft(
                    work="glazing",
                    machine="hand" if cut.by == "straightedge" else "cutter",
                    text=_score_text(bundle, cut, plastic=choice.plastic),
                    pieces=(piece.number,),
                    needs=needs,
                    size_cuts=(cut,),
                    cautions=_glazing_cautions(bundle, piece, plastic=choice.plastic),
                    drives={
                        f"{kind}_pieces": 1,
                        f"{kind}_scores": 1,
                        "glazing_united_inches": cut.length.ticks,
                    },
                )
            )
    return drafts


def _score_text(bundle: Bundle, cut: SizeCut, *, plastic: bool) -> str:
    where = {
        "stop": f"at {bundle.said(cut.length)} against the stop",
        "mark": f"at {bundle.said(cut.length)}, marked at both ends: the stop does not reach",
        "straightedge": f"at {bundle.said(cut.length)} on the table, along a straightedge",
    }[cut.by]
    if plastic:
        passes = bundle.shop.bench.acrylic_passes
        times = "pass" if passes == 1 else "passes"
        return f"Score the sheet {where}, {passes} {times}; turn it over and break at the line."
    return f"A drop of cutting fluid; one scribe {where}, moderate pressure; break on the edge."


def _glazing_cautions(bundle: Bundle, piece: SheetPiece, *, plastic: bool) -> tuple[str, ...]:
    first = "blade" if plastic else "glass"
    return (first, "two_people") if is_large(bundle, piece) else (first,)


def is_large(bundle: Bundle, piece: SheetPiece) -> bool:
    """Return True if two people should carry it, by its united inches."""
    united = (piece.size.width + piece.size.height).in_inches()
    return united >= bundle.shop.safety.two_person_united_inches


def window_drafts(bundle: Bundle, mat: MatPiece) -> list[Draft]:
    """Return the steps that cut a mat's windows: one for each guide setting, smallest first."""
    groups: dict[tuple[str, Length], list[Cut]] = {}
    for window in mat.windows:
        for cut in window.cuts:
            key = (cut.by, cut.setting if cut.by == "guide" else Length(0))
            groups.setdefault(key, []).append(cut)
    ordered = sorted(groups.items(), key=lambda group: (group[0][0] != "guide", group[0][1]))
    return [_window_draft(bundle, mat, tuple(cuts)) for _, cuts in ordered]


def head_for(mat: MatPiece, bench: Bench) -> str:
    """Return the cutting head for a mat's windows."""
    if mat.bevel == "straight":
        return STRAIGHT
    return THICK_BEVEL if mat.thickness > bench.standard_head else BEVEL


def _window_draft(bundle: Bundle, mat: MatPiece, cuts: tuple[Cut, ...]) -> Draft:
    bench, by = bundle.shop.bench, cuts[0].by
    needs: dict[str, Length | str] = {}
    if by != "straightedge":
        head = head_for(mat, bench)
        depth: Length | str = mat.thickness
        if head == STRAIGHT:
            depth = size_depth(mat.thickness, bench)
        guide: Length | str = cuts[0].setting if by == "guide" else "off"
        needs = {"slip_sheet": "in", "guide": guide, "head": head, f"depth:{head}": depth}
    drives = {
        "bevel_cuts": len(cuts),
        "openings": len(cuts),
        "guide_settings": len({cut.setting for cut in cuts}),
    }
    if mat.thickness > bench.standard_head:
        drives["thick_mat_cuts"] = len(cuts)
    return Draft(
        work="window",
        machine="hand" if by == "straightedge" else "cutter",
        text=_window_text(bundle, mat, cuts),
        pieces=(mat.number,),
        needs=needs,
        cuts=cuts,
        cautions=("blade",),
        drives=drives,
    )


def _window_text(bundle: Bundle, mat: MatPiece, cuts: tuple[Cut, ...]) -> str:
    lies = "face down" if mat.lies == "face_down" else "face up"
    edges = " from the top mat's edges" if mat.edges == "top_mat" else ""
    start = f"{mat.name} ({mat.number}), {lies}: cut {SIDES}"
    if cuts[0].by == "guide":
        return f"{start} at a guide setting of {bundle.said(cuts[0].setting)}{edges}."
    if cuts[0].by == "line":
        return f"{start} to the drawn lines{edges}, guide off: the guide does not reach."
    return f"{start} on the table, along a straightedge with a hand cutter."


def sides_said(cuts: Iterable[Cut]) -> str:
    """Return the sides of the cuts as text: left, top and right; with counts if several windows."""
    counted: dict[str, int] = {}
    for cut in cuts:
        counted[cut.side] = counted.get(cut.side, 0) + 1
    names = [f"{side} of {many} windows" if many > 1 else side for side, many in counted.items()]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
