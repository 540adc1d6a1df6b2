"""Work off the cutter: taking in, mounting, sawing, joining, fitting, finishing."""

from __future__ import annotations

from service.domain.measure.units import MG_PER_KG
from service.domain.shop import Method
from service.domain.tickets.model import RodPiece
from service.domain.tickets.steps.cutter import is_large
from service.domain.tickets.steps.draft import Bundle, Draft, named

GLUED_OR_SPRAYED = frozenset({"pressed_mounts", "dust_cover_square_feet"})
HANGING = "hanging_sets"


def take_in_draft(bundle: Bundle) -> Draft:
    """Return the step that takes the picture in and checks its measurements."""
    art = bundle.made.job.artwork.size
    mark = bundle.shop.ruler.mark
    many = "" if bundle.made.job.quantity == 1 else f" There are {bundle.made.job.quantity} of it."
    if len(bundle.made.sizes.shows) > 1:
        lead = f"Measure the {len(bundle.made.sizes.shows)} pictures against this ticket."
    else:
        lead = f"Measure the art: {mark(art.width)} x {bundle.said(art.height)}."
    return Draft(work="take_in", machine="hand", text=lead + many, drives={"job": 1})


def square_draft() -> Draft:
    """Return the step that checks the squaring arm before anything is sized."""
    return Draft(
        work="check_square",
        machine="hand",
        text="Check that the squaring arm is square to the rail: a carpenter's square in the "
        "corner, or 3-4-5 by the diagonal.",
    )


def spacer_draft(bundle: Bundle) -> Draft | None:
    """Return the step that sticks in the spacer, if there is one."""
    choice = bundle.made.job.glazing
    if choice is None or not choice.spacer or bundle.made.sizes.package is None:
        return None
    return Draft(
        work="spacer",
        machine="hand",
        text=f"Stick the spacer of {bundle.said(choice.spacer)} round the glazing's edge, under "
        "the lip.",
        pieces=tuple(piece.number for piece in bundle.sheets() if piece.part == "glazing"),
        drives={"spacer_feet": 1},
    )


def mount_draft(bundle: Bundle) -> Draft | None:
    """Return the step that mounts the art, if the shop mounts it."""
    job = bundle.made.job
    if job.mounting is None and job.mount is None:
        return None
    boards = tuple(piece for piece in bundle.sheets() if piece.part == "mount")
    way = f" by {job.mounting.description}" if job.mounting else ""
    where = f" on {named(boards)}" if boards else ""
    drives = {"mount_square_feet": 1}
    cautions: tuple[str, ...] = ()
    if job.mounting:
        drives[job.mounting.driver] = 1
        cautions = _method_cautions(bundle, job.mounting)
    return Draft(
        work="mount",
        machine="hand",
        text=f"Mount the art{way}{where}.",
        pieces=tuple(board.number for board in boards),
        cautions=cautions,
        drives=drives,
    )


def _method_cautions(bundle: Bundle, method: Method) -> tuple[str, ...]:
    found = []
    if method.driver in GLUED_OR_SPRAYED:
        found.append("ventilation")
    if method.driver == "pressed_mounts":
        found.append("heat")
    if method.driver == HANGING:
        found.extend(_hanging_cautions(bundle))
    return tuple(found)


def _hanging_cautions(bundle: Bundle) -> list[str]:
    safety, weight = bundle.shop.safety, bundle.made.weight_mg
    found = ["hanging"]
    if weight >= safety.installer_kg * MG_PER_KG:
        found.append("installer")
    elif weight >= safety.heavy_kg * MG_PER_KG:
        found.append("heavy")
    if bundle.made.job.glazing:
        found.append("building_code")
    return found


def rail_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that saw rails: one per rail length of each frame bought by the length."""
    return [_rail_draft(bundle, rod) for rod in bundle.rods("rail") if rod.supply == "length"]


def _rail_draft(bundle: Bundle, rod: RodPiece) -> Draft:
    angle = degrees(rod)
    return Draft(
        work="rails",
        machine="saw",
        text=f"{rod.name} ({rod.number}): saw {rod.quantity} of {rod.item}, "
        f"{bundle.said(rod.length)} long point to long point ({bundle.said(rod.inner)} along the "
        f"rabbet), mitre {angle}.",
        pieces=(rod.number,),
        needs={"saw_angle": angle, "saw_stop": rod.length},
        cautions=("saw",),
        drives={"rails": rod.quantity},
    )


def degrees(rod: RodPiece) -> str:
    """Return a rail's mitre in degrees: 45°, 22.5°."""
    whole, part = divmod(rod.mitre, 1)
    return f"{whole}°" if not part else f"{float_free(rod)}°"


def float_free(rod: RodPiece) -> str:
    """Return the mitre in decimals; 180/n ends within three places for the frames made here."""
    thousandths = rod.mitre.numerator * 1000 // rod.mitre.denominator
    return f"{thousandths // 1000}.{thousandths % 1000:03d}".rstrip("0")


def join_draft(bundle: Bundle, position: int) -> Draft:
    """Return the step that joins a frame's corners, or checks a frame that comes joined."""
    frame = bundle.made.sizes.frames[position]
    rods = bundle.rods("rail", f"/frames/{position}")
    numbers = tuple(rod.number for rod in rods)
    mark = bundle.shop.ruler.mark
    rabbet = f"{mark(frame.rabbet.width)} x {bundle.said(frame.rabbet.height)}"
    name = _frame_name(bundle, position)
    if frame.frame.supply == "join":
        return Draft(
            work="ready_frame",
            machine="hand",
            text=f"{name} comes joined: check its rabbet, {rabbet}, and clean it.",
            pieces=numbers,
            drives={"ready_frames": 1},
        )
    lead = "comes cut: check the rails, then glue" if frame.frame.supply == "chop" else "glue"
    return Draft(
        work="join",
        machine="hand",
        text=f"{name}: {lead} and join its {frame.frame.sides} corners; the rabbet measures "
        f"{rabbet}.",
        pieces=numbers,
        cautions=("joiner",),
        drives={"corners": frame.frame.sides, "moulding_feet": frame.footage().ticks},
    )


def _frame_name(bundle: Bundle, position: int) -> str:
    if len(bundle.made.sizes.frames) == 1:
        return "The frame"
    return f"Frame {position + 1}"


def fit_draft(bundle: Bundle, position: int) -> Draft:
    """Return the step that fits a frame's contents: the package, the canvas, or the inner frame."""
    sizes = bundle.made.sizes
    frame = sizes.frames[position]
    name = _frame_name(bundle, position)
    glazed = tuple(piece for piece in bundle.sheets() if piece.part == "glazing")
    large = any(is_large(bundle, piece) for piece in glazed)
    if position:
        text = f"Fit frame {position} into frame {position + 1} and fix it."
    elif sizes.package is None:
        gap = bundle.said(bundle.made.job.gap)
        text = f"Set the picture in its frame with {gap} round it and screw it from behind."
    else:
        text = (
            f"{name}: clean the glazing, close the package and fix it in the rabbet with points."
            if glazed
            else f"{name}: close the package and fix it in the rabbet with points."
        )
    return Draft(
        work="fit",
        machine="hand",
        text=text,
        cautions=("points", "two_people") if large else ("points",),
        drives={"fittings": 1, "fitting_united_inches": frame.holds.united_ticks()},
    )


def finish_drafts(bundle: Bundle) -> list[Draft]:
    """Return the finishing steps, one per method."""
    return [
        Draft(
            work="finish",
            machine="hand",
            text=f"Finish: {method.description}.",
            cautions=_method_cautions(bundle, method),
            drives={method.driver: 1} if method.driver else {},
        )
        for method in bundle.made.job.finishing
    ]
