"""Work on a customer's own frame, and goods that are only handed out.

Opened, emptied, cleaned, closed again; cut down and joined; repaired at its corners. The order is
common practice, no source.
"""

from __future__ import annotations

from service.domain.jobs.frame import FrameSizes
from service.domain.jobs.own import OwnFrame
from service.domain.jobs.work import OPENED
from service.domain.materials.working import moulding_material
from service.domain.measure.length import Length
from service.domain.tickets.steps.draft import Bundle, Draft


def open_draft(bundle: Bundle) -> Draft | None:
    """Return the step that opens a customer's frame and takes its contents out."""
    own = bundle.made.job.own_frame
    if own is None or bundle.made.job.work not in OPENED:
        return None
    first = "Take the dust cover, hangers and points off the frame"
    if moulding_material(own.moulding()) == "metal":
        first = "Unscrew two corners of one side of the frame and take its springs out"
    lines = (
        f"{first}{bundle.each()}.",
        f"Take the contents out{bundle.each()}; note their order, and any label on the back.",
        *_glass(bundle),
        f"Look at the art and its mount{bundle.each()}: stop and ask if more is damaged than was "
        "recorded.",
    )
    return Draft("open", "open", lines=lines, cautions=("glass",), drives={"frames_opened": 1})


def _glass(bundle: Bundle) -> tuple[str, ...]:
    each = bundle.each()
    if bundle.made.job.work == "reglaze":
        return (
            f"Lift the old glazing off the art{each}, or its pieces one by one; never slide it.",
        )
    return (f"Lift the glazing off{each} and clean both faces away from the art.",)


def cut_down_draft(bundle: Bundle) -> Draft | None:
    """Return the step that takes a customer's frame apart and cuts its rails to the new size."""
    own = bundle.made.job.own_frame
    if own is None or own.change != "cut_down":
        return None
    frame = bundle.made.sizes.frames[0]
    lines = (
        f"Take the frame apart{bundle.each()}: open its corners, draw every pin and nail.",
        *(
            f"Cut the rails, {name}{bundle.each()}: {many} to long point {bundle.text(length)}, "
            "mitre 45° at both ends."
            for name, many, length in _rails(frame)
        ),
    )
    drives = {"frames_taken_apart": 1, "rails": 4}
    return Draft("saw", "cut_down", lines=lines, cautions=_saw(own), drives=drives)


def _saw(own: OwnFrame) -> tuple[str, ...]:
    metal = moulding_material(own.moulding()) == "metal"
    return ("metal_saw",) if metal else ("saw", "dust")


def _rails(frame: FrameSizes) -> list[tuple[str, int, Length]]:
    names = {"top": "top and bottom", "left": "left and right"}
    return [(names[side], many, length) for side, many, length in frame.rails()]


def join_drafts(bundle: Bundle) -> list[Draft]:
    """Return the repair of a customer's frame, or its joining, and its cleaning."""
    own, frame = bundle.made.job.own_frame, bundle.made.sizes.frames[0]
    if own is None:
        return []
    size = f"{bundle.mark(frame.rabbet.width)} x {bundle.text(frame.rabbet.height)}"
    check = f"Check the frame{bundle.each()}: rabbet {size}, both diagonals equal."
    how = "glue and pins or wedges"
    if moulding_material(own.moulding()) == "metal":
        how = "corner angles and screws"
    if own.change:
        lines = (f"Join the frame{bundle.each()}: 4 corners, {how}.", check)
        drives = {"corners": 4, "moulding_feet": 1}
        return [Draft("join", "join", lines=lines, cautions=("joiner",), drives=drives)]
    drafts = []
    if own.corners:
        many = "1 corner" if own.corners == 1 else f"{own.corners} corners"
        lines = (
            f"Repair {many}{bundle.each()}: old glue out, both faces fitted dry.",
            f"Join {many}{bundle.each()}: {how}.",
        )
        drives = {"corner_repairs": own.corners}
        drafts = [Draft("join", "repair", lines=lines, cautions=("joiner",), drives=drives)]
    clean = f"Clean the frame{bundle.each()} and its rabbet: old tape, glue and splinters out."
    ready = Draft("join", "ready_frame", lines=(clean, check), drives={"ready_frames": 1})
    ready.after += drafts
    return [*drafts, ready]


def hand_out_draft(bundle: Bundle) -> Draft:
    """Return the step that hands goods out."""
    job = bundle.made.job
    lines = tuple(
        f"Hand out {many * job.quantity} of {item.code}, {item.description}."
        for item, many in job.goods
    )
    return Draft("wrap", "hand_out", lines=lines)
