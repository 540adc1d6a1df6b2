"""The beginning of a ticket: taking in, ordering what the bench does not cut, squaring the arm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.jobs.work import UNSEEN
from service.domain.tickets.model import RodPiece, SheetPiece
from service.domain.tickets.steps.cutter import is_large
from service.domain.tickets.steps.draft import Bundle, Draft, never
from service.domain.tickets.steps.glazing import glazing_drives
from service.domain.tickets.steps.mats import polygon, sheet_sides
from service.domain.tickets.steps.rails import degrees


def take_in_draft(bundle: Bundle) -> Draft:
    """Return the step that takes the picture in and checks its measurements."""
    return Draft(
        "intake",
        "take_in",
        lines=tuple(_measured(bundle)),
        cautions=("pests", "lead"),
        drives={"job": 1},
    )


def _measured(bundle: Bundle) -> Iterator[str]:
    job, rabbet = bundle.made.job, None
    if job.own_frame is not None:
        rabbet = job.own_frame.rabbet
    if rabbet is not None:
        size = f"{bundle.mark(rabbet.width)} x {bundle.text(rabbet.height)}"
        yield f"Measure the frame's rabbet{bundle.each()}: {size}, at both ends and both ways."
    if job.work in UNSEEN:
        return
    if job.work == "glass_only":
        size = f"{bundle.mark(job.artwork.size.width)} x {bundle.text(job.artwork.size.height)}"
        yield f"Read the size asked for back to the customer{bundle.each()}: {size}."
        return
    arts, layers = bundle.made.job.artworks(), bundle.made.sizes.layers
    windows = len(layers[0].windows) if layers else 1
    many = bundle.made.job.quantity * (windows if len(arts) == 1 else 1)
    for number, art in enumerate(arts, start=1):
        which = f" of window {number}" if len(arts) > 1 else ""
        count = f"{many} of " if many > 1 else ""
        size = f"{bundle.mark(art.size.width)} x {bundle.text(art.size.height)}"
        yield f"Measure the art{which}: {count}{size}."


def order_draft(bundle: Bundle) -> Draft | None:
    """Return the step that orders, cut to size, the pieces that the bench does not cut."""
    sheets = [piece for piece in bundle.sheets() if piece.worked.ordered]
    rods = [
        rod
        for rod in (*bundle.rods("rail"), *bundle.rods("fillet"))
        if rod.supply == "length" and rod.worked.ordered
    ]
    if not sheets and not rods:
        return None
    sizes = {
        piece.number: f"width {bundle.text(piece.size.width)}, height "
        f"{bundle.text(piece.size.height)}{_cut_off(bundle, piece)}"
        for piece in sheets
    }
    sizes |= {
        rod.number: f"long point {bundle.text(rod.length)}, mitre {degrees(rod)}" for rod in rods
    }
    named = {piece.number: piece for piece in (*sheets, *rods)}
    lines = [
        f"{verb} {piece.name} ({number}): {piece.quantity} cut to size, {sizes[number]}."
        for number, piece in named.items()
        for verb in ("Order", "Check on delivery")
    ]
    return Draft(
        "order",
        "order",
        lines=(*never(sheets), *lines),
        pieces=tuple(named),
        size_cuts=tuple(cut for piece in sheets for cut in piece.size_cuts),
        cautions=tuple(code for piece in sheets for code in _cautions(bundle, piece)),
        drives=_order_drives(bundle, sheets, rods),
    )


def _cut_off(bundle: Bundle, piece: SheetPiece) -> str:
    if sheet_sides(bundle) == 4:
        return ""
    return f", corners cut off: {polygon(bundle, piece)}"


def _order_drives(
    bundle: Bundle, sheets: Sequence[SheetPiece], rods: Sequence[RodPiece]
) -> dict[str, int]:
    """Return the drivers of ordering; cutting too, if a quote counted it though nothing is cut."""
    drives: dict[str, int] = {"ordered_sheets": len(sheets)}
    for piece in sheets:
        ticks = piece.size.united_ticks()
        if piece.part == "glazing":
            drives |= glazing_drives(ticks)
        else:
            drives["board_united_inches"] = drives.get("board_united_inches", 0) + ticks
    if all(piece.worked.ordered for piece in bundle.sheets() if piece.part != "glazing"):
        drives["board_pieces"] = 1
    if all(rod.worked.ordered for rod in bundle.rods("rail")):
        drives["rails"] = 1
    if sheet_sides(bundle) > 4:
        drives["board_corner_cuts"] = 1
    return drives


def _cautions(bundle: Bundle, piece: SheetPiece) -> tuple[str, ...]:
    cautions = piece.worked.cautions()
    return (*cautions, "two_people") if is_large(bundle, piece) else cautions


def square_draft() -> Draft:
    """Return the beginning of the sizing: the check that the squaring arm is square."""
    return Draft(
        "size",
        "size",
        lines=(
            "Check the squaring arm: square to the rail, by a carpenter's square in the corner or "
            "3-4-5 by the diagonal.",
        ),
        leads="size",
    )
