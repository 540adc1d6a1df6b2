"""Sawing rails and joining frames, by what the moulding is made of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.apprentice.bench import Bench, Frame, Part, need
from tests.apprentice.lines import line
from tests.apprentice.materials import SAW_BLADES
from tests.apprentice.readings import Reading

WHICH = "the bottom [<off:number> ]side[s]"
"""The sides that are left off a metal frame until it is filled."""
GLUED, SCREWED = "glue and pins or wedges", "corner angles and screws"
_RAIL = (
    "<part:part>: <many:number> of <code:text>, long point <long:figure>, rabbet <inner:figure>, "
    "mitre <angle:degrees>."
)


def _cut(
    bench: Bench, part: Part, many: int, code: str, long: Reading, inner: Reading, angle: str
) -> None:
    need(bench.arts, "the art was not measured")
    need(many == part.quantity, f"{part.quantity} rails are wanted")
    need(code == part.code, f"{part.name} is of {part.code}")
    need("long" not in part.made, "cut already")
    need(not _remark(bench, part, "comes"), f"{part.name} comes cut or joined")
    bench.standing("saw angle", angle)
    bench.standing("saw stop", long)
    part.made |= {"long": long, "inner": inner}
    part.facts.add(f"mitre {angle}")


@line(f"Saw {_RAIL}")
def saw(
    bench: Bench, part: Part, many: int, code: str, long: Reading, inner: Reading, angle: str
) -> None:
    bench.standing("saw blade", SAW_BLADES[part.material])
    _cut(bench, part, many, code, long, inner, angle)
    part.facts |= {"sawn", "by saw"}


@line(f"Chop {_RAIL}")
def chop(
    bench: Bench, part: Part, many: int, code: str, long: Reading, inner: Reading, angle: str
) -> None:
    need(part.material != "metal", "a chopper does not cut metal")
    _cut(bench, part, many, code, long, inner, angle)
    part.facts.add("by chop")


@line("Take the burr off both ends of <part:part>.")
def deburr(bench: Bench, part: Part) -> None:
    need("sawn" in part.facts and part.material == "metal", "there is no burr")
    part.facts.add("no burr")


@line(
    "Check <part:part>, which come cut: <many:number> of long point <long:figure>, mitre "
    "<angle:degrees>."
)
def take_cut(bench: Bench, part: Part, many: int, long: Reading, angle: str) -> None:
    comes = "ordered" in part.facts or _remark(bench, part, "comes cut")
    need(comes, f"{part.name} does not come cut")
    need(many == part.quantity, f"{part.quantity} rails are wanted")
    need(part.made.get("long", long) == long, "another length was ordered")
    part.made["long"] = long
    part.facts.add(f"mitre {angle}")


@line("Clean <frame:frame><every>, which comes joined.")
def take_joined(bench: Bench, frame: Frame) -> None:
    frame.rails = rails_of(bench, frame)
    need(frame.rails, f"{frame.name} has no rails")
    for rail in frame.rails:
        need(_remark(bench, rail, "comes joined"), f"{rail.name} does not come joined")
        rail.facts.add("joined")
    frame.corners = sides(bench, frame)
    frame.facts.add("joined")


def left_off(bench: Bench, frame: Frame) -> int:
    """Return how many sides have to be off, so that the opening is as wide as the frame."""
    return sides(bench, frame) // 2 - 1


@line(f"Take {WHICH} off <frame:frame><every>: unscrew 2 corners.")
def open_frame(bench: Bench, off: int | None, frame: Frame) -> None:
    need("joined" in frame.facts and metal(frame), "this frame does not come apart")
    need((off or 1) == left_off(bench, frame), "the package does not slide in so")
    frame.corners -= 2
    frame.open_side = True


@line("Join <frame:frame><each>: <rails:parts>, <corners:number> corners, <how:text>.")
def join(bench: Bench, frame: Frame, rails: list[Part], corners: int, how: str) -> None:
    _join(bench, frame, rails, how)
    need(corners == sides(bench, frame), f"{sides(bench, frame)} corners are to be joined")
    frame.corners = corners
    frame.facts.add("joined")


@line(
    "Join <many:number> sides of <frame:frame><each>: <rails:parts>, <corners:number> corners, "
    "<how:text>."
)
def join_open(
    bench: Bench, frame: Frame, many: int, rails: list[Part], corners: int, how: str
) -> None:
    _join(bench, frame, rails, how)
    need(metal(frame), "a side is left off a metal frame only")
    need(many == sides(bench, frame) - left_off(bench, frame), "the package does not slide in so")
    need(corners == many - 1, f"{many - 1} corners join {many} sides")
    frame.corners = corners
    frame.facts.add("joined")


@line(
    "Join the other <many:number> sides of <frame:frame><each>: <corners:number> corners, "
    "<how:text>."
)
def join_rest(bench: Bench, frame: Frame, many: int, corners: int, how: str) -> None:
    need("joined" in frame.facts and how == screwed(bench, frame), f"{how} for this moulding")
    need(many == left_off(bench, frame) and corners == many - 1, "these are not the other sides")
    frame.corners += corners


@line(f"Leave {WHICH} off <frame:frame><every>.")
def leave_off(bench: Bench, off: int | None, frame: Frame) -> None:
    need((off or 1) == left_off(bench, frame), "another number of sides is off")
    need("joined" in frame.facts and frame.corners == sides(bench, frame) - 2, "no side is off")
    frame.open_side = True


def _join(bench: Bench, frame: Frame, rails: list[Part], how: str) -> None:
    need("joined" not in frame.facts, f"{frame.name} is joined")
    need(rails == rails_of(bench, frame), f"these are not the rails of {frame.name}")
    frame.rails = rails
    for rail in rails:
        need("long" in rail.made, f"{rail.name} is not cut")
        need(
            rail.material != "metal" or "sawn" not in rail.facts or "no burr" in rail.facts, "burr"
        )
    need(how == (screwed(bench, frame) if metal(frame) else GLUED), f"{how} for this moulding")


@line("Check <frame:frame><every>: rabbet <rabbet:size>, both diagonals equal.")
def check_rabbet(bench: Bench, frame: Frame, rabbet: tuple[Reading, Reading]) -> None:
    need("joined" in frame.facts, f"{frame.name} is not joined")
    frame.rabbet = rabbet
    frame.facts.add("squared")


@line("Check <frame:frame><every>: both diagonals equal.")
def check_diagonals(bench: Bench, frame: Frame) -> None:
    need("joined" in frame.facts and not frame.open_side, f"{frame.name} is not closed")
    frame.facts.add("squared")


def rails_of(bench: Bench, frame: Frame) -> list[Part]:
    """Return the rails of a frame, by their names on the paper."""
    named = "Rails, " if frame.name == "the frame" else f"Rails of {frame.name}, "
    return [part for part in bench.parts.values() if part.name.startswith(named)]


def sides(bench: Bench, frame: Frame) -> int:
    """Return how many rails one frame has."""
    return sum(rail.quantity for rail in frame.rails) // bench.quantity


def joining(bench: Bench, frame: Frame, measure: str) -> Mapping[str, Any]:
    """Return what the shop closes frames of this moulding with, by a measure; empty if nothing."""
    named = frame.rails[0].item["material"].strip().lower() if frame.rails else ""
    for each in bench.shop["joining"]:
        if each["material"].strip().lower() == named:
            return next((use for use in each["uses"] if use["measure"] == measure), {})
    return {}


def screwed(bench: Bench, frame: Frame) -> str:
    """Return the words for what joins a metal frame's corners in this shop."""
    item = joining(bench, frame, "corner").get("item")
    return f"{SCREWED} of {item}" if item else SCREWED


def metal(frame: Frame) -> bool:
    """Return True for a frame of metal."""
    return any(rail.material == "metal" for rail in frame.rails)


def _remark(bench: Bench, part: Part, text: str) -> bool:
    row = next(row for row in bench.paper.pieces if row.number == part.number)
    return any(remark.startswith(text) for remark in row.remarks)
