"""Cutting windows: lines drawn, guide, stops; ovals and arches."""

from __future__ import annotations

from typing import Any

from tests.apprentice.bench import Bench, Part, WindowCut, need
from tests.apprentice.boards import often
from tests.apprentice.lines import line
from tests.apprentice.readings import MM, Reading

SLIP = MM["in"] / 64
"""How far a blade may go into the slip sheet below the board."""

NEXT = {
    "left": ("bottom", "top"),
    "top": ("left", "right"),
    "right": ("top", "bottom"),
    "bottom": ("right", "left"),
}
"""Where the cut of a side begins and ends: with that side along the guide, from the near end."""


@line("Lay <part:part><each>: <lies:text>.")
def lay(bench: Bench, part: Part, lies: str) -> None:
    need("package" not in part.facts, f"{part.name} lies in the package")
    part.lies, part.edges = lies, "own"


@line("Measure <part:part><each>: from the top mat's edges.")
def from_top_mat(bench: Bench, part: Part) -> None:
    need(part.fixed_to is not None, f"{part.name} is fixed to no mat")
    part.edges = "top mat"


@line(
    "Draw on the <face:text> of <part:part><each>[, lightly and inside the windows only]: "
    "<told:all>."
)
def draw(bench: Bench, face: str, part: Part, told: str) -> None:
    need(part.sized(), f"{part.name} is not sized")
    up = {"face down": "back", "face up": "face"}.get(part.lies)
    need(face == up, f"the {face} of {part.name} is not up")
    lines = told.removesuffix(", to set the start stop by")
    for each in lines.split(", "):
        side, _, figure = each.partition(" ")
        need(side in NEXT, f"no side: {each}")
        part.drawn.append((side, bench.figure(figure)))
    if lines != told:
        need(part.stop_line is None, "the start stop is set by one line")
        part.stop_line = part.drawn[-1]


@line("Fit a fresh blade, and cut slowly.")
def fresh_blade(bench: Bench) -> None:
    bench.facts["fresh blade"] = True


def _across(side: str) -> str:
    return "height" if side in ("left", "right") else "width"


def _ready(bench: Bench, part: Part, window: int, side: str) -> None:
    bench.before_glass()
    need(part.sized(), f"{part.name} is not sized")
    need(part.lies in ("face down", "face up"), f"{part.name} is not laid")
    need((window, side) not in part.cuts, "this side is cut already")
    need("package" not in part.facts, f"{part.name} lies in the package")
    need(
        part.fixed_to is None or (part.edges == "top mat" and "fallout" in part.fixed_to.facts),
        "the mat above has no fallout in its windows",
    )


def _head(bench: Bench, part: Part) -> None:
    bench.standing("slip sheet", "in")
    head, depth = bench.stands.get("head"), bench.depth()
    need(part.thickness <= bench.tools["thickest_board"], "too thick for the rail")
    thick = part.thickness > bench.tools["standard_head"]
    if head == "straight blade":
        deep = part.thickness > bench.tools["thickest_bevel"]
        need(depth == ("3/16 in foam board" if deep else "standard board"), f"depth {depth}")
    else:
        need(
            head == ("thick-board bevel head" if thick else "bevel head"), f"{head} on {part.name}"
        )
        stands = bench.figure(depth)
        through = stands.most >= part.thickness and stands.least <= part.thickness + SLIP
        need(through, f"the blade stands {depth} deep")
    need(not thick or bench.facts.get("fresh blade"), "a worn blade in thick board")


def _made(part: Part, window: int, side: str, cut: WindowCut, head: str) -> None:
    need(part.cut_lying in ("", part.lies) and part.cut_edges in ("", part.edges), "turned over")
    need(part.cut_head in ("", head), "two heads in one mat")
    need((cut.begins[0], cut.ends[0]) == NEXT[side], f"the {side} runs from {NEXT[side][0]}")
    part.cuts[window, side] = cut
    part.cut_lying, part.cut_edges, part.cut_head = part.lies, part.edges, head
    part.facts.add("windows")


def _between(bench: Bench, part: Part, side: str, cut: WindowCut) -> None:
    """Check that the cut begins and ends at stops, or at lines that are drawn."""
    if not bench.stops_in_use:
        for end in (cut.begins, cut.ends):
            need(end in part.drawn, f"no line {end[0]} to cut to")
        return
    first = all(cut.by_hand for cut in part.cuts.values())
    need(not first or part.stop_line == cut.begins, "no line to set the start stop by")
    bench.standing("start stop", cut.begins[1])
    run = part.under_the_rail(_across(side))
    if bench.end_stop_at is None:
        bench.standing("end stop", cut.ends[1])
        bench.end_stop_at = run - bench.stands["end stop"]
    stands = float((run - bench.end_stop_at).middle())
    need(bench.end_stop_at.meets(run - cut.ends[1]), f"the end stop stands {stands:g} mm off")


_CUT = "Cut <part:part><each>, window <window:number>, <side:side>: "
_ENDS = "from <first:side> <begins:mark> to <last:side> <ends:mark>[, <passes:number> passes]."


@line(f"{_CUT}at guide <setting:figure>, {_ENDS}")
def cut_by_guide(
    bench: Bench,
    part: Part,
    window: int,
    side: str,
    setting: Reading,
    first: str,
    begins: Reading,
    last: str,
    ends: Reading,
    passes: int | None,
) -> None:
    often(bench, part, passes)
    cut = WindowCut(setting, (first, begins), (last, ends))
    _ready(bench, part, window, side)
    _head(bench, part)
    bench.standing("guide", setting)
    need(setting.least <= bench.tools["widest_guide"], "beyond the guide")
    _under_the_rail(bench, part, window, side, cut)


@line(f"{_CUT}to its line at <setting:figure>, guide off, {_ENDS}")
def cut_to_line(
    bench: Bench,
    part: Part,
    window: int,
    side: str,
    setting: Reading,
    first: str,
    begins: Reading,
    last: str,
    ends: Reading,
    passes: int | None,
) -> None:
    often(bench, part, passes)
    cut = WindowCut(setting, (first, begins), (last, ends))
    _ready(bench, part, window, side)
    _head(bench, part)
    bench.standing("guide", "off")
    need((side, setting) in part.drawn, "this line is not drawn")
    _under_the_rail(bench, part, window, side, cut)


@line(f"{_CUT}along a straightedge at <setting:figure>, hand cutter, {_ENDS}")
def cut_by_hand(
    bench: Bench,
    part: Part,
    window: int,
    side: str,
    setting: Reading,
    first: str,
    begins: Reading,
    last: str,
    ends: Reading,
    passes: int | None,
) -> None:
    often(bench, part, passes)
    cut = WindowCut(setting, (first, begins), (last, ends))
    _ready(bench, part, window, side)
    need((side, setting) in part.drawn, "this line is not drawn")
    cut.by_hand = True
    _made(part, window, side, cut, part.cut_head or "hand cutter")


def _under_the_rail(bench: Bench, part: Part, window: int, side: str, cut: WindowCut) -> None:
    """Make a cut of the cutter's head, from its start to its end."""
    _between(bench, part, side, cut)
    _reaches(bench, part, side, cut)
    _made(part, window, side, cut, bench.stands["head"])


def _reaches(bench: Bench, part: Part, side: str, cut: WindowCut) -> None:
    long = part.under_the_rail(_across(side)) - cut.begins[1] - cut.ends[1]
    need(long.least > 0, "the cut ends before it begins")
    need(long.least <= bench.tools["rail"], "the cut is longer than the rail")


def _shape(bench: Bench, part: Part, window: int, **more: Any) -> None:
    bench.before_glass()
    need(part.sized() and part.lies in ("face down", "face up"), f"{part.name} is not laid")
    part.shaped.setdefault(window, {}).update(more)
    part.cut_lying, part.cut_edges = part.lies, part.edges
    part.facts.add("windows")


_AT = "Mark <part:part><each>, window <window:number>: "


@line(f"{_AT}centre <across:figure> from the left, <down:figure> from the top.")
def mark_centre(bench: Bench, part: Part, window: int, across: Reading, down: Reading) -> None:
    _shape(bench, part, window, centre=(across, down))


@line(
    "Cut <part:part><each>, window <window:number>: ellipse, axis across <wide:figure>, axis down "
    "<high:figure>, oval cutter."
)
def cut_ellipse(bench: Bench, part: Part, window: int, wide: Reading, high: Reading) -> None:
    need("centre" in part.shaped.get(window, {}), "the centre is not marked")
    _shape(bench, part, window, axes=(wide, high))


@line(f"{_AT}centre line <across:figure> from the left, spring line <down:figure> from the top.")
def mark_arch(bench: Bench, part: Part, window: int, across: Reading, down: Reading) -> None:
    _shape(bench, part, window, spring=(across, down))


@line(
    "Cut <part:part><each>, window <window:number>: arch head, radius <radius:figure> round where "
    "the two lines cross, oval cutter set to a circle, or arch template."
)
def cut_head(bench: Bench, part: Part, window: int, radius: Reading) -> None:
    need("spring" in part.shaped.get(window, {}), "the spring line is not marked")
    _shape(bench, part, window, radius=radius)


@line(
    "Cut <part:part><each>, window <window:number>: legs <left:figure> and <right:figure> from the "
    "left, from the spring line to <foot:figure> from the top, straightedge."
)
def cut_legs(
    bench: Bench, part: Part, window: int, left: Reading, right: Reading, foot: Reading
) -> None:
    need("radius" in part.shaped.get(window, {}), "the head is not cut")
    _shape(bench, part, window, legs=(left, right, foot))


@line(
    "Cut <part:part><each>, window <window:number>: foot <foot:figure> from the top, from leg to "
    "leg, straightedge."
)
def cut_foot(bench: Bench, part: Part, window: int, foot: Reading) -> None:
    need("legs" in part.shaped.get(window, {}), "the legs are not cut")
    _shape(bench, part, window, foot=foot)
