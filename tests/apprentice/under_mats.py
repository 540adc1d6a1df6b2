"""Under mats, fixed for the time of cutting, and fillets behind windows."""

from __future__ import annotations

import re

from tests.apprentice.bench import Bench, Part, need
from tests.apprentice.lines import line
from tests.apprentice.readings import Reading


@line(
    "Fix <part:part><each>: temporarily, face to the back of <upper:part>[, <trim:figure> inside "
    "the top mat's edge on every side]."
)
def fix(bench: Bench, part: Part, upper: Part, trim: Reading | None) -> None:
    need(part.sized() and upper.sized(), "a mat is not sized")
    need("windows" in upper.facts, f"{upper.name} has no windows yet")
    need(part.fixed_to is None, f"{part.name} is fixed already")
    part.fixed_to, part.inside_by = upper, trim
    if upper.inside_by is None and trim is not None:
        for across in ("width", "height"):
            inner = upper.made[across] - trim - trim
            need(inner.meets(part.made[across]), f"{part.name} does not sit {across} so")


@line("Lay the fallout back in the windows of <part:part><every>: under the blade.")
def fallout(bench: Bench, part: Part) -> None:
    need("windows" in part.facts, "nothing has fallen out")
    part.facts.add("fallout")


@line("Take the fallout out of the windows of <parts:parts><each>.")
def fallout_out(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        need("fallout" in part.facts, "no fallout lies there")
        covers = [other for other in bench.parts.values() if other.fixed_to is part]
        need(all("windows" in other.facts for other in covers), "the next mat is still to be cut")
        part.facts.remove("fallout")


@line("Mitre <part:part>: <many:number> of long point <length:figure>, 45°, <tool:text>.")
def mitre(bench: Bench, part: Part, many: int, length: Reading, tool: str) -> None:
    need(tool in ("wood blade", "chopper"), f"{tool} on a fillet")
    part.facts.add("by chop" if tool == "chopper" else "by saw")
    need(many == part.quantity, f"{part.quantity} are wanted")
    need("long" not in part.made, "cut already")
    part.made["long"] = length


@line("Lift off the mat behind the fillets<every>.")
def lift_off(bench: Bench) -> None:
    bench.facts["lifted"] = True


@line("Glue <parts:parts><every>: behind the window's edges.")
def glue_fillets(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        need("long" in part.made, f"{part.name} is not cut")
        layer = re.search(r"mat (\d+)", part.name)
        mats = [p for p in bench.parts.values() if re.fullmatch(r"Top mat|Mat \d+", p.name)]
        need(layer and int(layer[1]) <= len(mats), "no such mat")
        mat = mats[int(layer[1]) - 1]
        need("windows" in mat.facts, f"{mat.name} has no windows")
        need("fallout" not in mat.facts, "the fallout is in the way")
        covered = any(p.fixed_to is mat for p in mats)
        need(not covered or bench.facts.get("lifted"), "a mat lies over the place")
        part.facts.add("glued")


@line("Put back the mat that was lifted off<every>.")
def put_back(bench: Bench) -> None:
    need(bench.facts.pop("lifted", False), "no mat was lifted off")
