"""Taking in, ordering, and bringing boards to size."""

from __future__ import annotations

from typing import Any

from tests.apprentice.bench import Bench, Part, need
from tests.apprentice.lines import line
from tests.apprentice.materials import KNIFE, LIES, SAW_BLADES, SCRIBED
from tests.apprentice.readings import Reading


@line("Measure the art[ of window <window:number>]: [<many:number> of ]<size:size>.")
def measure_art(bench: Bench, window: int | None, many: int | None, size: Any) -> None:
    bench.arts.append({"window": window or 1, "many": many or 1, "size": size})


_SHEET = (
    "<part:part>: <many:number> cut to size, width <width:figure>, height <height:figure>[, "
    "corners cut off: <sides:number> sides of <side:figure>]."
)


@line(f"Order {_SHEET}")
def order_sheet(
    bench: Bench,
    part: Part,
    many: int,
    width: Reading,
    height: Reading,
    sides: int | None,
    side: Reading | None,
) -> None:
    need(bench.arts, "the art was not measured")
    need(many == part.quantity, f"{many} ordered, {part.quantity} wanted")
    part.marked = {"width": width, "height": height}
    if sides and side:
        part.marked["corner side"] = side
        part.facts |= {"corners", f"{sides} sides"}


@line(
    "Order <part:part>: <many:number> cut to size, long point <length:figure>, mitre "
    "<angle:degrees>."
)
def order_rail(bench: Bench, part: Part, many: int, length: Reading, angle: str) -> None:
    need(bench.arts, "the art was not measured")
    need(many == part.quantity, f"{many} ordered, {part.quantity} wanted")
    part.marked = {"long": length}
    part.facts.add(f"mitre {angle}")


@line(f"Check on delivery {_SHEET}")
def take_sheet(
    bench: Bench,
    part: Part,
    many: int,
    width: Reading,
    height: Reading,
    sides: int | None,
    side: Reading | None,
) -> None:
    told = {"width": width, "height": height}
    if sides and side:
        need(f"{sides} sides" in part.facts, "another shape was ordered")
        told["corner side"] = side
    need(part.marked == told and many == part.quantity, "this was not ordered so")
    part.made.update(told)
    part.facts |= {"ordered", "by order"}


@line(
    "Check on delivery <part:part>: <many:number> cut to size, long point <length:figure>, mitre "
    "<angle:degrees>."
)
def take_rail(bench: Bench, part: Part, many: int, length: Reading, angle: str) -> None:
    need(f"mitre {angle}" in part.facts, "another mitre was ordered")
    need(part.marked == {"long": length} and many == part.quantity, "this was not ordered so")
    part.made["long"] = length
    part.facts |= {"ordered", "by order"}


@line(
    "Check the squaring arm: square to the rail, by a carpenter's square in the corner or 3-4-5 by "
    "the diagonal."
)
def check_arm(bench: Bench) -> None:
    bench.facts["arm checked"] = True


@line("<parts:parts>: do not <ban:text>.")
def heed(bench: Bench, parts: list[Part], ban: str) -> None:
    """Mind what must not be done; the bench refuses it by its own knowledge of materials."""
    for part in parts:
        part.facts.add(f"not {ban}")


def _knife(bench: Bench, part: Part, across: str, lies: str | None) -> None:
    bench.before_glass()
    need(across not in part.made, f"{part.name} has its {across} already")
    need("windows" not in part.facts, f"{part.name} has its windows already")
    need(part.material in KNIFE, f"a blade on {part.material}")
    if part.material == "mat board":
        need(lies == "colour side down", "the colour side must be down")


def _under_the_rail(bench: Bench, part: Part) -> None:
    need(bench.facts.get("arm checked"), "the squaring arm was not checked")
    bench.standing("slip sheet", "out")
    bench.standing("guide", "off")
    bench.standing("head", "straight blade")
    thick = part.thickness > bench.tools["thickest_bevel"]
    wanted = "3/16 in foam board" if thick else "standard board"
    need(bench.depth() == wanted, f"the blade stands at {bench.depth()}")
    need(part.thickness <= bench.tools["thickest_board"], f"{part.name} is too thick for the rail")


def other(across: str) -> str:
    """Return the other dimension."""
    return "height" if across == "width" else "width"


def rail_reaches(bench: Bench, part: Part, across: str) -> None:
    """Refuse a cut that is longer than the rail; one not yet sized is cut from a longer sheet."""
    along = part.made.get(other(across))
    need(along is None or along.least <= bench.tools["rail"], "the cut is longer than the rail")


def often(bench: Bench, part: Part, passes: int | None) -> None:
    """Refuse a cut that the blade goes over too often, or not often enough for thick mat board."""
    wanted = 1
    if part.material == "mat board":
        steps = bench.tools["blade_passes"]
        wanted = max([1, *(s["passes"] for s in steps if part.thickness > s["over"])])
    need((passes or 1) == wanted, f"{part.name} takes {wanted} passes")


@line(
    "Cut <parts:parts><each>: <across:across> <length:figure>[, <lies:side_up>], at the arm stop[, "
    "<passes:number> passes]."
)
def cut_at_stop(
    bench: Bench,
    parts: list[Part],
    across: str,
    length: Reading,
    lies: str | None,
    passes: int | None,
) -> None:
    for part in parts:
        often(bench, part, passes)
        _knife(bench, part, across, lies)
        _under_the_rail(bench, part)
        bench.standing("arm stop", length)
        need(length.least <= bench.tools["squaring_arm"], "beyond the squaring arm")
        rail_reaches(bench, part, across)
        part.made[across] = length
        part.facts.add("by blade")


@line("Mark <parts:parts><each>: <across:across> <length:figure>, at both ends.")
def mark_size(bench: Bench, parts: list[Part], across: str, length: Reading) -> None:
    for part in parts:
        part.marked[across] = length


@line(
    "Cut <parts:parts><each>: <across:across> <length:figure>[, <lies:side_up>], its marks under "
    "the rail[, <passes:number> passes]."
)
def cut_at_marks(
    bench: Bench,
    parts: list[Part],
    across: str,
    length: Reading,
    lies: str | None,
    passes: int | None,
) -> None:
    for part in parts:
        often(bench, part, passes)
        _knife(bench, part, across, lies)
        _under_the_rail(bench, part)
        need(part.marked.get(across) == length, f"no mark at {across}")
        rail_reaches(bench, part, across)
        part.made[across] = length
        part.facts.add("by blade")


@line(
    "Cut <parts:parts><each>: <across:across> <length:figure>[, <lies:text>], along a steel "
    "straightedge on the table, <passes:number> passes."
)
def cut_on_table(
    bench: Bench,
    parts: list[Part],
    across: str,
    length: Reading,
    lies: str | None,
    passes: int,
) -> None:
    need(passes >= 2, "one pass does not go through")
    for part in parts:
        _knife(bench, part, across, lies)
        part.made[across] = length
        part.facts.add("by table")


@line(
    "Saw <parts:parts><each>: <across:across> <length:figure>, at the saw fence, kerf <kerf:figure>"
    " on the waste side."
)
def saw_sheet(bench: Bench, parts: list[Part], across: str, length: Reading, kerf: Reading) -> None:
    need(kerf.is_(bench.tools["panel_kerf"]), "the saw takes another kerf")
    bench.standing("saw fence", length)
    for part in parts:
        need(across not in part.made, f"{part.name} has its {across} already")
        bench.standing("panel saw", SAW_BLADES.get(part.material, "no blade for it"))
        need(part.material not in SCRIBED, f"a saw on {part.material}")
        laid(part)
        need(length.least <= bench.tools["panel_reach"], "beyond the saw's reach")
        part.made[across] = length
        part.facts.add("by saw")


def laid(part: Part) -> None:
    """Refuse to cut a sheet that had to be laid in one way and was not."""
    wanted = LIES.get(part.material)
    need(wanted is None or part.lies == wanted, f"{part.material} must lie: {wanted}")
