"""Work on rails: sawing or chopping them, and joining the frame, by its material."""

from __future__ import annotations

from service.domain.jobs.frame import FrameSizes
from service.domain.measure.length import Length
from service.domain.tickets.closing import corner_hardware
from service.domain.tickets.model import RodPiece
from service.domain.tickets.steps.draft import Bundle, Draft, named, never


def is_metal(frame_rods: tuple[RodPiece, ...]) -> bool:
    """Return True if a frame's rails are of metal: closed by corner angles, not glued."""
    return any(rod.worked.code == "metal" for rod in frame_rods)


def closed_last(bundle: Bundle, position: int) -> bool:
    """Return True if a frame's last side is joined only after its contents are in."""
    frame = bundle.made.sizes.frames[position].frame
    return is_metal(frame_rods(bundle, position)) and not frame.moulding.floater


def left_off(bundle: Bundle, position: int) -> tuple[int, str]:
    """Return how many sides are left off until a metal frame is filled, and which, in words.

    What it holds slides in between two sides that face each other: of four sides one is left off,
    of eight three (common practice, no source).
    """
    many = max(bundle.made.sizes.frames[position].frame.sides // 2 - 1, 1)
    return many, "the bottom side" if many == 1 else f"the bottom {many} sides"


def frame_rods(bundle: Bundle, position: int) -> tuple[RodPiece, ...]:
    """Return the rails of one frame."""
    return bundle.rods("rail", f"/frames/{position}")


def rail_drafts(bundle: Bundle) -> list[Draft]:
    """Return the steps that cut rails: one per rail length of each frame bought by the length."""
    return [
        _rail_draft(bundle, rod)
        for rod in bundle.rods("rail")
        if rod.supply == "length" and not rod.worked.ordered
    ]


def _rail_draft(bundle: Bundle, rod: RodPiece) -> Draft:
    worked, angle = rod.worked, degrees(rod)
    saw = worked.way == "saw"
    needs: dict[str, Length | str] = {}
    if saw:
        needs["saw_blade"] = worked.material.saw_blade
    needs |= {"saw_angle": angle, "saw_stop": rod.length}
    lines = [
        f"{'Saw' if saw else 'Chop'} {rod.name} ({rod.number}): {rod.quantity} of {rod.item}, long "
        f"point {bundle.text(rod.length)}, rabbet {bundle.text(rod.inner)}, mitre {angle}."
    ]
    if worked.material.after:
        lines.append(f"{worked.material.after} of {rod.name} ({rod.number}).")
    return Draft(
        "saw",
        "rails",
        machine="saw",
        lines=tuple(lines),
        pieces=(rod.number,),
        needs=needs,
        cautions=worked.cautions(),
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
    """Return the step that joins a frame, or checks and opens one that comes joined."""
    frame = bundle.made.sizes.frames[position]
    rods = frame_rods(bundle, position)
    name, open_one = bundle.frame(position), closed_last(bundle, position)
    numbers = tuple(rod.number for rod in rods)
    if frame.frame.supply == "join":
        lines = [
            f"Clean {name}{bundle.each()}, which comes joined.",
            *_checks(bundle, position, frame),
        ]
        if open_one:
            _, which = left_off(bundle, position)
            lines.append(f"Take {which} off {name}{bundle.each()}: unscrew 2 corners.")
        return Draft(
            "join",
            "ready_frame",
            lines=tuple(lines),
            pieces=numbers,
            drives={"ready_frames": 1},
        )
    lines = [
        f"Check {rod.name} ({rod.number}), which come cut: {rod.quantity} of long point "
        f"{bundle.text(rod.length)}, mitre {degrees(rod)}."
        for rod in rods
        if frame.frame.supply == "chop" or rod.worked.ordered
    ]
    metal = is_metal(rods)
    lines += never(rods)
    lines += _joining(bundle, position, frame, metal=metal, open_one=open_one)
    corners = frame.frame.sides - 2 if open_one else frame.frame.sides
    return Draft(
        "join",
        "join",
        lines=tuple(lines),
        pieces=numbers,
        cautions=() if metal else ("joiner",),
        drives={"corners": corners, "moulding_feet": frame.footage().ticks},
    )


def _joining(
    bundle: Bundle, position: int, frame: FrameSizes, *, metal: bool, open_one: bool
) -> list[str]:
    sides, name = frame.frame.sides, bundle.frame(position)
    rods = named(frame_rods(bundle, position))
    corner = corner_hardware(bundle.made, bundle.shop, position)
    if open_one:
        many, which = left_off(bundle, position)
        rest = [
            f"Join the other {many} sides of {name}{bundle.each()}: {many - 1} corners, {corner}."
        ]
        return [
            f"Join {sides - many} sides of {name}{bundle.each()}: {rods}, "
            f"{sides - many - 1} corners, {corner}.",
            *(rest if many > 1 else ()),
            f"Leave {which} off {name}{bundle.each()}.",
        ]
    how = corner if metal else "glue and pins or wedges"
    return [
        f"Join {name}{bundle.each()}: {rods}, {sides} corners, {how}.",
        *_checks(bundle, position, frame),
    ]


def _checks(bundle: Bundle, position: int, frame: FrameSizes) -> tuple[str, ...]:
    rabbet = f"{bundle.mark(frame.rabbet.width)} x {bundle.text(frame.rabbet.height)}"
    return (
        f"Check {bundle.frame(position)}{bundle.each()}: rabbet {rabbet}, both diagonals equal.",
    )
