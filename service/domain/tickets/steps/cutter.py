"""Work that sizes boards and cuts windows: on the cutter, at the saw, or at the table.

One draft is one set-up: all boards cut at one stop and one blade depth, all sides of all windows of
a mat cut at one setting of the guide.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.measure.length import Length
from service.domain.shop import Bench
from service.domain.tickets.instructions import Cut, Side, SizeCut
from service.domain.tickets.model import MatPiece, SheetPiece
from service.domain.tickets.steps.draft import Bundle, Draft, named, never

STRAIGHT, BEVEL, THICK_BEVEL = "straight blade", "bevel head", "thick-board bevel head"
STANDARD_DEPTH, FOAM_DEPTH = "standard board", "3/16 in foam board"
ROUND: tuple[Side, ...] = ("left", "top", "right", "bottom")
"""The sides in the order in which the board is turned, clockwise."""
NEARLY = Length.inches(Fraction(1, 64))
"""A blade this much deeper than its board scores the slip sheet; common practice, no source."""
Sized = tuple[SheetPiece, SizeCut]


def size_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that size the boards: one for each tool, blade depth and length."""
    groups: dict[tuple[object, ...], list[Sized]] = {}
    boards = [piece for piece in bundle.sheets() if piece.part != "glazing"]
    for piece in boards:
        for cut in piece.size_cuts:
            if cut.by != "ordered":
                key = (cut.by, cut.length, *_needs(bundle, piece, cut).values())
                groups.setdefault(key, []).append((piece, cut))
    drafts, told = [], set[str]()
    for group in groups.values():
        drafts.append(_size_draft(bundle, group))
        bans = never(tuple(dict.fromkeys(piece for piece, _ in group)))
        drafts[-1].lines = (*(ban for ban in bans if ban not in told), *drafts[-1].lines)
        told.update(bans)
    return drafts


def size_depth(thickness: Length, bench: Bench) -> str:
    """Return the straight blade's depth: the standard one up to 8-ply, else the foam-board one."""
    return STANDARD_DEPTH if thickness <= bench.thickest_bevel else FOAM_DEPTH


def _needs(bundle: Bundle, piece: SheetPiece, cut: SizeCut) -> dict[str, Length | str]:
    if cut.by == "saw":
        return {"panel_blade": piece.worked.material.saw_blade, "panel_fence": cut.length}
    if cut.by not in ("stop", "mark"):
        return {}
    depth = size_depth(piece.thickness, bundle.shop.bench)
    needs: dict[str, Length | str] = {
        "slip_sheet": "out",
        "guide": "off",
        "head": STRAIGHT,
        f"depth:{STRAIGHT}": depth,
    }
    if cut.by == "stop":
        needs["arm_stop"] = cut.length
    return needs


def _size_draft(bundle: Bundle, group: list[Sized]) -> Draft:
    piece, cut = group[0]
    pieces = tuple(dict.fromkeys(piece for piece, _ in group))
    return Draft(
        "size",
        "size",
        machine="saw" if cut.by == "saw" else "hand" if cut.by == "straightedge" else "cutter",
        lines=tuple(_size_lines(bundle, group)),
        pieces=tuple(piece.number for piece in pieces),
        needs=_needs(bundle, piece, cut),
        size_cuts=tuple(cut for _, cut in group),
        cautions=piece.worked.cautions() if cut.by == "saw" else ("blade",),
        drives={
            "board_pieces": len(group),
            "board_united_inches": sum(cut.length.ticks for _, cut in group),
            "extra_passes": sum(piece.passes - 1 for piece, _ in group),
        },
    )


def _size_lines(bundle: Bundle, group: list[Sized]) -> Iterator[str]:
    """Yield one line for each dimension and side up; a mark has a line of its own."""
    alike: dict[tuple[str, str, int], list[SheetPiece]] = {}
    for piece, cut in group:
        key = (cut.across, piece.worked.material.lies, piece.passes)
        alike.setdefault(key, []).append(piece)
    by, length = group[0][1].by, bundle.text(group[0][1].length)
    for (across, lies, often), pieces in alike.items():
        which = f"{named(pieces)}{bundle.each()}: {across} {length}"
        side = f", {lies}" if lies else ""
        if by == "saw":
            kerf = bundle.text(bundle.shop.bench.panel_kerf)
            yield f"Saw {which}, at the saw fence, kerf {kerf} on the waste side."
        elif by == "straightedge":
            passes = bundle.shop.bench.table_passes
            yield f"Cut {which}{side}, along a steel straightedge on the table, {passes} passes."
        elif by == "mark":
            yield f"Mark {which}, at both ends."
            yield f"Cut {which}{side}, its marks under the rail{_passes(often)}."
        else:
            yield f"Cut {which}{side}, at the arm stop{_passes(often)}."


def _passes(often: int) -> str:
    return f", {often} passes" if often > 1 else ""


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
    for cuts in groups.values():
        cuts.sort(key=_laid)
    ordered = sorted(groups.items(), key=lambda group: (group[0][0] != "guide", group[0][1]))
    return [_window_draft(bundle, mat, tuple(cuts)) for _, cuts in ordered]


def _laid(cut: Cut) -> tuple[int, Length, int]:
    """Return the order of cuts that turns the board, and lays each line under the rail, once."""
    return ROUND.index(cut.side), cut.setting, cut.window


def head_for(mat: MatPiece, bench: Bench) -> str:
    """Return the cutting head for a mat's windows."""
    if mat.bevel == "straight":
        return STRAIGHT
    return THICK_BEVEL if mat.thickness > bench.standard_head else BEVEL


def _depth(bundle: Bundle, mat: MatPiece) -> Length:
    """Return the blade's depth for a mat: that of the job's thickest board nearly as thick."""
    near = (other.thickness for other in bundle.mats())
    return max(t for t in near if mat.thickness <= t <= mat.thickness + NEARLY)


def _window_draft(bundle: Bundle, mat: MatPiece, cuts: tuple[Cut, ...]) -> Draft:
    bench, by = bundle.shop.bench, cuts[0].by
    needs: dict[str, Length | str] = {}
    if by != "straightedge":
        head = head_for(mat, bench)
        depth: Length | str = _depth(bundle, mat)
        if head == STRAIGHT:
            depth = size_depth(mat.thickness, bench)
        guide: Length | str = cuts[0].setting if by == "guide" else "off"
        needs = {"slip_sheet": "in", "head": head, f"depth:{head}": depth, "guide": guide}
    drives = {
        "bevel_cuts": len(cuts),
        "openings": len(cuts),
        "extra_passes": len(cuts) * (mat.passes - 1),
        "guide_settings": len({cut.setting for cut in cuts}),
    }
    if mat.thickness > bench.standard_head:
        drives["thick_mat_cuts"] = len(cuts)
    return Draft(
        "window",
        "window",
        machine="hand" if by == "straightedge" else "cutter",
        pieces=(mat.number,),
        needs=needs,
        cuts=cuts,
        cautions=("blade",),
        drives=drives,
    )


_BY = {
    "guide": "at guide {setting}",
    "line": "to its line at {setting}, guide off",
    "straightedge": "along a straightedge at {setting}, hand cutter",
}


def cut_line(bundle: Bundle, mat: MatPiece, cut: Cut) -> str:
    """Return the line for one cut of a window: Cut Top mat (1), window 1, left: at guide 3 in…."""
    mark = bundle.mark
    by = _BY[cut.by].format(setting=bundle.text(cut.setting))
    start, stop = cut.start, cut.stop
    return (
        f"Cut {named((mat,))}{bundle.each()}, window {cut.window}, {cut.side}: {by}, from "
        f"{start.side} {mark(start.distance)} to {stop.side} {mark(stop.distance)}"
        f"{_passes(mat.passes)}."
    )
