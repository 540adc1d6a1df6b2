"""Cutting glazing: scribed, snapped or sawn; and cutting corners off sheets."""

from __future__ import annotations

from tests.apprentice.bench import Bench, Part, need
from tests.apprentice.boards import laid, rail_reaches
from tests.apprentice.lines import line
from tests.apprentice.materials import SCRIBED
from tests.apprentice.readings import Reading

_HOW = "<part:part><each>: <across:across> <length:figure>, <how:text>"


def _placed(bench: Bench, part: Part, across: str, length: Reading, how: str, head: str) -> None:
    need(bench.arts, "the art was not measured")
    need(across not in part.made, f"{part.name} has its {across} already")
    laid(part)
    if how == "along a straightedge on the table":
        return
    bench.standing("slip sheet", "out")
    bench.standing("guide", "off")
    bench.standing("head", head)
    rail_reaches(bench, part, across)
    if how == "at the arm stop":
        bench.standing("arm stop", length)
        need(length.least <= bench.tools["squaring_arm"], "beyond the squaring arm")
        return
    need(how == "marked at both ends", f"not known: {how}")


@line(f"Oil and scribe {_HOW}, once.")
def scribe(bench: Bench, part: Part, across: str, length: Reading, how: str) -> None:
    need(part.material in SCRIBED - {"laminated glass"}, f"one scribe on {part.material}")
    _placed(bench, part, across, length, how, "glass scriber")
    part.marked[across] = length
    part.facts.add("by scribe")
    bench.last = (f"scribed {across}", part)


@line(f"Oil and scribe {_HOW}, once on the first face.")
def scribe_first(bench: Bench, part: Part, across: str, length: Reading, how: str) -> None:
    need(part.material == "laminated glass", f"two scribes on {part.material}")
    _placed(bench, part, across, length, how, "glass scriber")
    part.marked[across] = length
    part.facts.add("by scribe")
    bench.last = (f"first {across}", part)


@line("Turn <part:part><each> over.")
def turn(bench: Bench, part: Part) -> None:
    need(bench.last[1] is part and bench.last[0].startswith("broken first"), "nothing to turn")
    bench.last = (bench.last[0].replace("broken first", "turned"), part)


@line("Oil and scribe <part:part><each>: on the same line, once on the second face.")
def scribe_second(bench: Bench, part: Part) -> None:
    need(bench.last[1] is part and bench.last[0].startswith("turned"), "the sheet is not turned")
    bench.last = (bench.last[0].replace("turned", "second"), part)


@line("Break <part:part><each>: at once, over an edge.")
def break_(bench: Bench, part: Part) -> None:
    what, last = bench.last
    need(last is part, f"{part.name} is not scribed")
    state, _, across = what.partition(" ")
    need(state in ("scribed", "first", "second"), f"{part.name} is not scribed")
    if state == "scribed":
        part.made[across] = part.marked[across]
    bench.last = (f"broken {state} {across}", part)


@line("Part the film of <part:part><each>: along the break, with a blade.")
def part_film(bench: Bench, part: Part) -> None:
    what, last = bench.last
    need(last is part and what.startswith("broken second"), "both faces are not broken")
    across = what.split()[-1]
    part.made[across] = part.marked[across]
    bench.last = ("", None)


@line(f"Score {_HOW}, <passes:number> pass[es].")
def score(bench: Bench, part: Part, across: str, length: Reading, how: str, passes: int) -> None:
    need(part.material == "acrylic", f"{part.material} does not snap")
    need(part.thickness <= bench.tools["thickest_snap"], "too thick to snap")
    need(passes == bench.tools["acrylic_passes"], "not deep enough")
    _placed(bench, part, across, length, how, "plastic scorer")
    part.marked[across] = length
    part.facts.add("by snap")
    bench.last = (f"scored {across}", part)


@line("Snap <part:part><each>: at the line, over an edge.")
def snap(bench: Bench, part: Part) -> None:
    what, last = bench.last
    need(last is part and what.startswith("scored "), f"{part.name} is not scored")
    part.made[what.split()[-1]] = part.marked[what.split()[-1]]
    bench.last = ("", None)


@line("Cut off the corners of <part:part><each>: <sides:number> sides of <length:figure>.")
def corners(bench: Bench, part: Part, sides: int, length: Reading) -> None:
    need(part.sized(), f"{part.name} is not sized")
    need("corners" not in part.facts, "cut already")
    need("ordered" not in part.facts, "what is ordered comes with its corners cut off")
    part.facts.add("corners")
    part.made["corner side"] = length
    part.facts.add(f"{sides} sides")
