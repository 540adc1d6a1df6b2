"""Trying, mounting, laying the package together, and filling the frame."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

from tests.apprentice.bench import Bench, Frame, Part, need
from tests.apprentice.lines import line
from tests.apprentice.rails import WHICH, joining, left_off, metal, screwed, sides
from tests.apprentice.readings import Reading

SHEETS = re.compile(r"Top mat|Mat \d+|Glazing|Mount|Backing")


def sheets(bench: Bench) -> list[Part]:
    """Return the parts that make a package."""
    return [part for part in bench.parts.values() if SHEETS.fullmatch(part.name)]


def _entry(frame: Frame) -> None:
    need("joined" in frame.facts, f"{frame.name} is not joined")
    need("squared" in frame.facts or frame.open_side, f"{frame.name} was not squared")
    need(not frame.contents, f"{frame.name} is full")


@line("Try <inner:frame> in <outer:frame><each>: <spare:figure> to spare each way.")
def try_frames(bench: Bench, inner: Frame, outer: Frame, spare: Reading) -> None:
    _entry(outer)
    need("joined" in inner.facts, f"{inner.name} is not joined")
    bench.facts.setdefault("frames tried", []).append((inner.name, outer.name, spare))


@line("Try <parts:parts> in <frame:frame><each>: <spare:figure> to spare each way.")
def dry_fit(bench: Bench, parts: list[Part], frame: Frame, spare: Reading) -> None:
    _entry(frame)
    need(parts == sheets(bench), "not the whole package")
    need("mounted" not in bench.facts, "the art is mounted already")
    need(all(part.sized() for part in parts), "not all are sized")
    bench.facts["spare"] = spare


@line("Check the bars<each>: joined, both diagonals equal.")
def check_bars(bench: Bench) -> None:
    bench.facts["bars"] = True


@line("Stretch the canvas<every> from the middle of each side outwards.")
def stretch(bench: Bench) -> None:
    need(bench.facts.get("bars"), "the bars were not checked")
    bench.facts["stretched"] = True


_ON = "<part:part><each>[, window <window:number>]"


def _board(part: Part) -> None:
    need(part.name in ("Mount", "Backing") and part.sized(), f"{part.name} is no board to place on")
    need("package" not in part.facts, f"{part.name} lies in the package")


@line(
    f"Place the art, <size:size>, face up on {_ON}: <x:figure> from the left, <y:figure> from the "
    "top."
)
def place(bench: Bench, size: Any, part: Part, window: int | None, x: Reading, y: Reading) -> None:
    _board(part)
    need("mounted" not in bench.facts, "the art is mounted already")
    need(bench.arts, "the art was not taken in")
    places = bench.facts.setdefault("places", {})
    need((window or 1) not in places, "placed already")
    places[window or 1] = {"size": size, "x": x, "y": y, "on": part}


@line(f"Check the art on {_ON}: from its edges to the board's <told:all>.")
def check_margins(bench: Bench, part: Part, window: int | None, told: str) -> None:
    spot = bench.facts.get("places", {}).get(window or 1)
    need(spot and spot["on"] is part, "no art lies there")
    need("mounted" not in bench.facts, "the art is mounted already")
    spot["margins"] = {
        each.partition(" ")[0]: bench.figure(each.partition(" ")[2]) for each in told.split(", ")
    }


@line(f"Check the art on {_ON}: centre lines <x:figure> from the left and <y:figure> from the top.")
def check_centre(bench: Bench, part: Part, window: int | None, x: Reading, y: Reading) -> None:
    spot = bench.facts.get("places", {}).get(window or 1)
    need(spot and spot["on"] is part, "no art lies there")
    need("mounted" not in bench.facts, "the art is mounted already")
    spot["centre"] = (x, y)


@line("Mount the art<each>[ on <parts:parts>][: <how:all>].")
def mount(bench: Bench, parts: list[Part] | None, how: str | None) -> None:
    need("package" not in bench.facts, "the package is closed")
    for part in parts or ():
        _board(part)
    bench.facts["mounted"] = {"on": parts or [], "how": how or ""}


@line("Wait until <what:all>.")
def wait(bench: Bench, what: str) -> None:
    need("mounted" in bench.facts and "package" not in bench.facts, "nothing to wait for")
    bench.facts["waited"] = what


@line("Cut the spacer for <parts:parts><each>: <told:all>.")
def cut_spacer(bench: Bench, parts: list[Part], told: str) -> None:
    need(all(part.name == "Glazing" and part.sized() for part in parts), "no lite")
    wide = parts[0].made["width"]
    found = re.fullmatch(r"2 of (.+), 2 to fit between them", told)
    if found:
        need(bench.figure(found[1]) == wide, "the strips are not as long as the lite")
        bench.facts["strips"] = 4
        return
    found = re.fullmatch(r"(\d+) of (.+), ends mitred", told)
    need(found, f"not known: {told}")
    need(bench.figure(found[2]) == parts[0].made.get("corner side"), "the strips do not fit")
    bench.facts["strips"] = int(found[1])


@line("Wipe <parts:parts><each> clean round its edge.")
def wipe(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        part.facts.add("edge clean")


@line("Stick the spacer to <parts:parts><each>: <deep:figure> deep, round its edge, under the lip.")
def spacer(bench: Bench, parts: list[Part], deep: Reading) -> None:
    need("package" not in bench.facts, "the package is closed")
    for part in parts:
        need(part.sized() and part.name == "Glazing", "no lite")
        plastic = part.material in ("acrylic", "polycarbonate")
        need(not plastic or "peeled" in part.facts, "the spacer would stick to the film")
        need("edge clean" in part.facts, "the edge is not clean")
        around = 4
        for fact in part.facts:
            around = int(fact.split()[0]) if fact.endswith(" sides") else around
        need(bench.facts.get("strips") == around, "the strips do not go round")
    bench.facts["spacer"] = deep


@line("Stick <parts:parts> together for good<each>.")
def stick(bench: Bench, parts: list[Part]) -> None:
    need(parts == [part for part in sheets(bench) if "at" in part.name], "not all mats")
    for upper, under in pairwise(parts):
        need(under.fixed_to is upper, f"{under.name} is not fixed to {upper.name}")
    bench.facts["stuck"] = True


@line("Peel the film off <parts:parts><each>: both faces.")
def peel(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        need(part.material in ("acrylic", "polycarbonate") and part.sized(), "no film to peel")
        part.facts.add("peeled")


@line("Clean <parts:parts><each>: both faces, and look for dust.")
def clean(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        need(part.sized() and "package" not in part.facts, f"{part.name} cannot be cleaned")
        plastic = part.material in ("acrylic", "polycarbonate")
        need(not plastic or "peeled" in part.facts, "the film is on")
        part.facts.add("clean")


@line("Keep the object clear of the glazing<each>: space <deep:figure>, object <thick:figure>.")
def keep_object(bench: Bench, deep: Reading, thick: Reading) -> None:
    need("package" not in bench.facts, "the package is closed")
    bench.facts.setdefault("objects", []).append((deep, thick))


@line("Lay the package together<each>, from the front: <told:all>; edges flush.")
def package(bench: Bench, told: str) -> None:
    need("package" not in bench.facts, "laid together already")
    names = re.findall(r"the art|[A-Z][^():]*? \(\d+\)", told)
    need(", ".join(names) == told, f"not known: {told}")
    wanted = sheets(bench)
    order = {"Glazing": 0, "Mount": 3, "Backing": 4}
    wanted.sort(key=lambda part: order.get(part.name, 1))
    front = [part for part in wanted if order.get(part.name, 1) < 3]
    behind = [part for part in wanted if order.get(part.name, 1) >= 3]
    right = [f"{p.name} ({p.number})" for p in front] + ["the art"]
    right += [f"{p.name} ({p.number})" for p in behind]
    need(names == right, f"the package lies so: {right}")
    for part in wanted:
        need(part.sized(), f"{part.name} is not sized")
        need("fallout" not in part.facts, f"the fallout is in {part.name}")
        need(part.name != "Glazing" or "clean" in part.facts, "the glazing is not clean")
        part.facts.add("package")
    mats = [part for part in wanted if "at" in part.name]
    need(len(mats) < 2 or bench.facts.get("stuck"), "the mats are loose")
    need(not bench.facts.get("lifted"), "a mat is lifted off")
    bench.facts["package"] = names


def _depth(bench: Bench) -> tuple[Reading, Reading]:
    """Return the package's depth and the rabbet's, from the head of the paper."""
    head = bench.paper.head.get("Depth", "").removesuffix(" deep")
    deep, _, room = head.partition(", rabbet ")
    return bench.figure(deep), bench.figure(room)


def _in_frame(bench: Bench, contents: str, frame: Frame) -> None:
    _entry(frame)
    if contents == "the package":
        need("package" in bench.facts, "there is no package")
    elif contents == "the art":
        need(bench.arts, "there is no art")
    else:
        inner = bench.frames.get(contents)
        need(inner and inner.held_by and inner is not frame, f"{contents} is not filled")
    need(all(other.contents != contents for other in bench.frames.values()), "it is in a frame")
    frame.contents = contents


@line(
    "Lay <contents:contents> face up in <frame:frame><each>: gap <gap:figure> on every side, kept "
    "by shims."
)
def float_in(bench: Bench, contents: str, frame: Frame, gap: Reading) -> None:
    need(contents == "the art", "only a canvas lies face up")
    _in_frame(bench, contents, frame)
    bench.facts["gap"] = gap
    frame.facts |= {"face up", "shims"}


@line("Turn <frame:frame><each> face down, with <contents:contents> in it.")
def turn_frame(bench: Bench, frame: Frame, contents: str) -> None:
    need("face up" in frame.facts and frame.contents == contents, "it does not lie face up")
    frame.facts.remove("face up")


@line("Take the shims out of <frame:frame><each>.")
def take_shims(bench: Bench, frame: Frame) -> None:
    need("shims" in frame.facts and frame.held_by, "the art would move")
    frame.facts.remove("shims")


@line("Screw a rabbet extension on the back of <frame:frame><each>: <deep:figure> deep, all round.")
def extend(bench: Bench, frame: Frame, deep: Reading) -> None:
    _entry(frame)
    need(not metal(frame) and frame.extension is None, "no extension goes there")
    frame.extension = deep


@line("Lay <contents:contents> in <frame:frame><each>, face down.")
def lay_in(bench: Bench, contents: str, frame: Frame) -> None:
    need(not frame.open_side, f"{frame.name} is open")
    _in_frame(bench, contents, frame)


@line("Fix <contents:contents> in <frame:frame><each>: <how:all>.")
def fix_in(bench: Bench, contents: str, frame: Frame, how: str) -> None:
    need(frame.contents == contents and not frame.open_side, f"{contents} does not lie there")
    need("face up" not in frame.facts, "the back lies down")
    need(how != "points" or not metal(frame), "points do not go into metal")
    clips = re.fullmatch(r"offset clips of (.+)", how)
    if clips:
        frame.bridged = bench.figure(clips[1])
        how = "offset clips"
    frame.held_by = f"{frame.held_by}, {how}".strip(", ")


@line("Slide <contents:contents> into <frame:frame><each>, top edge first, from the bottom.")
def slide(bench: Bench, contents: str, frame: Frame) -> None:
    need(frame.open_side, f"{frame.name} is closed")
    if contents == "the package":
        deep, room = _depth(bench)
        need(deep.least <= room.most, "the package is deeper than the channel")
    _in_frame(bench, contents, frame)


@line(f"Close <frame:frame><each>: {WHICH}, <corners:number> corners, <how:text>.")
def close(bench: Bench, frame: Frame, off: int | None, corners: int, how: str) -> None:
    need((off or 1) == left_off(bench, frame), "another number of sides is off")
    need(frame.open_side and frame.contents, f"{frame.name} is not ready to be closed")
    need(how == screwed(bench, frame) and corners == 2, f"two corners: {screwed(bench, frame)}")
    frame.corners += corners
    frame.open_side = False
    need(frame.corners == sides(bench, frame), "a corner is missing")


@line(
    "Press <contents:contents> forward in <frame:frame><each>: <many:number> spring clips[ of "
    "<code:text>] in the channel."
)
def press(bench: Bench, contents: str, frame: Frame, many: int, code: str | None) -> None:
    need(code == joining(bench, frame, "side_foot").get("item"), "these are not the shop's springs")
    need(frame.contents == contents and not frame.open_side and metal(frame), "no channel")
    frame.springs = many
    frame.held_by = "spring clips"
