"""Advisories that depend on the moulding: its rabbet, its lip, the weight it carries."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.depth import depths_held, held_by
from service.domain.jobs.hanging import hanging
from service.domain.jobs.takeoff import carries, load_mg
from service.domain.jobs.use import Use
from service.domain.jobs.work import UNSEEN
from service.domain.materials.catalogue import Hardware
from service.domain.materials.working import moulding_material
from service.domain.measure.length import TICKS_PER_INCH, ZERO, Length
from service.domain.measure.rounding import decimal_text
from service.domain.measure.units import MG_PER_KG


def borders(checked: Checked) -> Iterator[Advisory]:
    """Warn of borders that the frame's lip, with its fillet, hides."""
    sizes = checked.sizes
    if sizes.border is None or not sizes.frames:
        return
    frame = sizes.frames[0].frame
    lip = frame.moulding.rabbet_width + (frame.fillet.width if frame.fillet else ZERO)
    hidden = lip.ticks * 2 - sizes.allowance.ticks
    named = "lip and fillet" if frame.fillet else "lip"
    hides = "hide" if frame.fillet else "hides"
    for side, border in sizes.border.each():
        if 2 * border.ticks <= hidden:
            yield Advisory(
                "border_narrower_than_lip",
                "warning",
                f"the frame's {named} of {checked.text(lip)} {hides} the whole {side} border of "
                f"{checked.text(border)}",
                "/mats/0/border",
            )


def grooves(checked: Checked) -> Iterator[Advisory]:
    """Warn of grooves and ruled lines of the top mat that the lip, with its fillet, covers."""
    sizes = checked.sizes
    if sizes.border is None or not sizes.frames:
        return
    shown = sizes.border.narrowest() - sizes.frames[0].hidden()
    mat = sizes.layers[0].mat
    for name, distances in (("grooves", mat.grooves), ("ruled_lines", mat.ruled_lines)):
        for place, by in enumerate(distances):
            if by >= shown:
                yield Advisory(
                    "groove_under_lip",
                    "warning",
                    f"the frame covers this at least in part: {checked.text(shown)} shows of the "
                    "narrowest border",
                    f"/mats/0/{name}/{place}",
                )


def rabbet(checked: Checked) -> Iterator[Advisory]:
    """Warn of a rabbet too shallow for the package, or with little room behind it."""
    sizes = checked.sizes
    if not sizes.frames or sizes.package is None or checked.job.work in UNSEEN:
        return
    depth, stack = sizes.frames[0].frame.moulding.rabbet_depth, sizes.stack_depth
    over = stack - depth
    metal = moulding_material(sizes.frames[0].frame.moulding) == "metal"
    if metal and over.ticks > 0:
        yield Advisory(
            "rabbet_too_shallow",
            "stop",
            f"the package is {checked.text(stack)} deep and the channel of this metal moulding "
            f"{checked.text(depth)}: it does not slide in; choose a deeper moulding",
            "/frames/0",
        )
    elif over.ticks > 0:
        way, bridged = held_by(stack, depth, checked.shop.sizing.room_behind)
        use = f"{way} of that much"
        if way == "rabbet extension":
            use = f"a rabbet extension of {checked.text(bridged)}, which leaves room for points"
        yield Advisory(
            "rabbet_too_shallow",
            "warning",
            f"the package is {checked.text(stack)} deep and the rabbet {checked.text(depth)}: "
            f"it stands out by {checked.text(over)}; use {use}",
            "/frames/0",
        )
    elif not metal and -over < checked.shop.sizing.room_behind:
        yield Advisory(
            "little_room_behind",
            "info",
            f"{_left(checked, -over)} is left behind the package; points need "
            f"{checked.text(checked.shop.sizing.room_behind)}",
            "/frames/0",
        )


def stacked(checked: Checked) -> Iterator[Advisory]:
    """Look at each outer frame: whether the frame inside it fits its rabbet, and what is seen."""
    frames, depths = checked.sizes.frames, depths_held(checked.job, checked.sizes.stack_depth)
    for position in range(1, len(frames)):
        outer, inner = frames[position], frames[position - 1].frame.moulding
        room, deep, where = (
            outer.frame.moulding.rabbet_depth,
            depths[position],
            f"/frames/{position}",
        )
        if outer.hidden() >= inner.face_width:
            yield Advisory(
                "inner_frame_covered",
                "warning",
                f"the frame's lip of {checked.text(outer.frame.moulding.rabbet_width)} covers the "
                f"whole face of the frame inside it, {checked.text(inner.face_width)}",
                where,
            )
        if deep is None:
            yield Advisory(
                "inner_frame_height_unknown",
                "info",
                f"the catalogue gives no height of {inner.code}; check by hand that this frame "
                f"fits a rabbet of {checked.text(room)}",
                where,
            )
        elif deep > room:
            metal = moulding_material(outer.frame.moulding) == "metal"
            yield Advisory(
                "rabbet_too_shallow",
                "stop" if metal else "warning",
                f"the frame inside is {checked.text(deep)} high and the rabbet "
                f"{checked.text(room)}: it stands out by {checked.text(deep - room)}",
                where,
            )


def _left(checked: Checked, room: Length) -> str:
    """Return the remaining depth in words; below the ruler's first mark it is "next to nothing"."""
    return f"only {checked.text(room)}" if room >= checked.shop.ruler.step else "next to nothing"


def lip(checked: Checked) -> Iterator[Advisory]:
    """Warn of a float margin that the lip, with its fillet, covers, or covers by more than half."""
    job, sizes = checked.job, checked.sizes
    if not sizes.frames or job.mats or job.presentation != "float":
        return
    frame = sizes.frames[0]
    hidden = frame.holds.width - frame.sight.width
    if hidden.ticks >= 2 * job.float_margin.ticks:
        yield Advisory(
            "margin_under_lip",
            "warning",
            "the frame's lip covers the whole margin round the floated art; widen the margin",
            "/float_margin",
        )
    elif job.float_margin.ticks < hidden.ticks:
        shown = job.float_margin - frame.hidden()
        yield Advisory(
            "margin_half_hidden",
            "warning",
            f"the frame leaves only {checked.text(shown)} of the margin of "
            f"{checked.text(job.float_margin)} round the floated art to be seen",
            "/float_margin",
        )


def slender(checked: Checked) -> Iterator[Advisory]:
    """Note a face that is slender for the size."""
    if checked.job.own_frame is not None:
        return
    safety = checked.shop.safety
    for position, frame in enumerate(checked.sizes.frames):
        size, face = frame.holds.united_ticks(), frame.frame.moulding.face_width
        for over, least in safety.slender_face:
            inches, under = over.as_integer_ratio()
            if size * under > inches * TICKS_PER_INCH and face < least:
                yield Advisory(
                    "face_narrow_for_size",
                    "info",
                    f"a face of {checked.text(face)} is slender for this size; the rails may bow",
                    f"/frames/{position}/moulding",
                )
                break


def heavy(checked: Checked) -> Iterator[Advisory]:
    """Warn of a piece that is heavy for its moulding, or to hang."""
    safety, frames = checked.shop.safety, checked.sizes.frames
    if not frames:
        return
    if checked.weight_mg < safety.noted_from_mg:
        return
    kg = decimal_text(checked.weight_mg, MG_PER_KG, 1)
    slender = frames[-1].frame.moulding.face_width < safety.slender_face[0][1]
    if checked.weight_mg > safety.slender_weight_kg * MG_PER_KG and slender:
        yield Advisory(
            "heavy_for_moulding",
            "warning",
            f"about {kg} kg hangs on a slender moulding; its corners may open",
            f"/frames/{len(frames) - 1}/moulding",
        )
    if checked.weight_mg >= safety.installer_kg * MG_PER_KG:
        yield Advisory(
            "ask_installer",
            "warning",
            f"about {kg} kg with its frame: have it hung by a licensed installer, into structure",
            "",
        )
    elif checked.weight_mg >= safety.heavy_kg * MG_PER_KG:
        yield Advisory(
            "heavy", "info", f"about {kg} kg with its frame: two hands at each end, two hooks", ""
        )


def frameless(checked: Checked) -> Iterator[Advisory]:
    """Warn of hangers, wires and rabbet tape in a job without a frame to fix them to."""
    if checked.job.frames:
        return
    for position, method in enumerate(checked.job.finishing):
        if any(use.role in ("hanger", "wire") or use.covers == "rabbet" for use in method.uses):
            yield Advisory(
                "needs_a_frame",
                "warning",
                f"{method.code} is fixed to a frame, and this job has none",
                f"/finishing/{position}",
            )


def wire(checked: Checked) -> Iterator[Advisory]:
    """Note a wire that has little room to rise, so that it pulls hard on the rings."""
    found = hanging(checked.job, checked.sizes.outside, checked.shop)
    if found is not None and found.flat():
        yield Advisory(
            "wire_flat",
            "info",
            f"the wire can rise only {checked.text(found.rise)} over {checked.text(found.span)} "
            "and would pull with more than twice the weight at each ring; use two hangers alone",
            "/finishing",
        )


def contents(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    """Warn that old contents are not in the weight by which hardware is chosen."""
    if checked.job.work in UNSEEN and any(isinstance(use.item, Hardware) for use in uses):
        yield Advisory(
            "contents_not_weighed",
            "warning",
            "what the frame held before is not in the weight; weigh the piece before hardware is "
            "fitted",
            "/finishing",
        )


def hardware(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    """Warn of hardware that is not strong enough."""
    weight, shop = checked.weight_mg, checked.shop
    for use in uses:
        if isinstance(use.item, Hardware) and not carries(use.item, weight, shop):
            load = load_mg(weight, shop)
            asked = decimal_text(load.numerator, load.denominator * MG_PER_KG, 1)
            yield Advisory(
                "heavy_for_hardware",
                "warning",
                f"{use.item.code} is the strongest {use.item.role} in the catalogue and is rated "
                f"below {asked} kg, the weight times the safety factor",
                use.pointer,
            )
