"""Measures the rest of the work: art, package, fastening, finishing, hanging, supplies."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from tests.apprentice.bench import Bench, Frame
from tests.apprentice.filling import sheets
from tests.apprentice.hanging import rings, wire
from tests.apprentice.measure import differs
from tests.apprentice.order import Framed, Order, Size, sides_of, up
from tests.apprentice.rails import joining, metal
from tests.apprentice.readings import MM

FOOT = 12 * MM["in"]
MOST_BRIDGED = MM["in"] / 2  # by an offset clip; common practice, no source
LEAST_SPRINGS = 2  # a side; common practice, no source


def faults(bench: Bench, order: Order) -> list[str]:
    """Return what is wrong with the rest of the work."""
    return [
        *_art(bench, order),
        *_mounted(bench, order),
        *_package(bench, order),
        *_held(bench, order),
        *_floated(bench, order),
        *_finishing(bench, order),
        *_hanging(bench, order),
        *_set_ups(bench),
        *_ways(bench),
    ]


def _art(bench: Bench, order: Order) -> Iterator[str]:
    windows = len(order.art_places) or 1
    each = order.quantity * (windows if len(order.arts) == 1 else 1)
    if len(bench.arts) != len(order.arts):
        yield f"{len(bench.arts)} kinds of art taken in, not {len(order.arts)}"
    for taken, size in zip(bench.arts, order.arts, strict=False):
        yield from differs("the art taken in", taken["size"], size)
        if taken["many"] != each:
            yield f"{taken['many']} artworks taken in, not {each}"
    places = bench.facts.get("places", {})
    boards = [part for part in sheets(bench) if part.name in ("Mount", "Backing")]
    mounted = bool(bench.facts.get("mounted")) and bool(order.package)
    wanted = order.art_places if boards and mounted else []
    if set(places) != set(range(1, len(wanted) + 1)):
        yield f"art placed in windows {sorted(places)}, not {len(wanted)}"
        return
    for number, (size, x, y) in enumerate(wanted, start=1):
        yield from _place(places[number], size, x, y, order, f"the art of window {number}")


def _place(
    spot: Mapping[str, Any], size: Size, x: Fraction, y: Fraction, order: Order, name: str
) -> Iterator[str]:
    yield from differs(name, spot["size"], size)
    yield from differs(f"{name}, place", (spot["x"], spot["y"]), (x, y))
    if order.job["presentation"] != "float":
        return
    package = order.package or size
    margins = {
        "top": y,
        "right": package[0] - x - size[0],
        "bottom": package[1] - y - size[1],
        "left": x,
    }
    told = spot.get("margins", {})
    if set(told) != set(margins) or not all(told[s].is_(m) for s, m in margins.items()):
        yield f"{name}: other margins"
    centre = (x + size[0] / 2, y + size[1] / 2)
    yield from differs(f"{name}, centre", spot.get("centre", spot["size"]), centre)


def _method(bench: Bench, order: Order) -> Mapping[str, Any] | None:
    code = order.job.get("mounting", {}).get("method")
    return next((m for m in bench.shop["mounting"] if m["code"] == code), None)


def _mounted(bench: Bench, order: Order) -> Iterator[str]:
    method, board = _method(bench, order), order.job.get("mounting", {}).get("board")
    if method and method["stage"] == "fit":
        method = None
    if not method and not board:
        return
    done = bench.facts.get("mounted")
    if done is None:
        yield "the art is not mounted"
        return
    told = method["description"] if method else ""
    if done["how"] != told:
        yield f"mounted: {done['how']}, not {told}"
    if [part.name for part in done["on"]] != (["Mount"] if board else []):
        yield "mounted on another board"
    if method and method["wait"] and bench.facts.get("waited") != method["wait"]:
        yield "nothing dries or cools"


def _package(bench: Bench, order: Order) -> Iterator[str]:
    yield from _frames_tried(bench, order)
    if not order.package or not sheets(bench):
        return
    if "package" not in bench.facts:
        yield "there is no package"
    spare = bench.facts.get("spare")
    if order.frames and not (spare and spare.is_(order.allowance)):
        yield "the package was not tried in its frame with the allowance"
    deep = bench.facts.get("spacer")
    if bool(deep) != bool(order.spacer) or (deep and not deep.is_(order.spacer)):
        yield f"a spacer of {deep}"
    told = bench.facts.get("objects", [])
    if len(told) != len(order.objects):
        yield f"{len(told)} objects in their space, not {len(order.objects)}"
    for readings, lengths in zip(told, order.objects, strict=False):
        yield from differs("an object's space and thickness", readings, lengths)


def _frames_tried(bench: Bench, order: Order) -> Iterator[str]:
    tried = bench.facts.get("frames tried", [])
    if len(tried) != max(len(order.frames) - 1, 0):
        yield f"{len(tried)} frames tried in others"
    for at, (inner, outer, spare) in enumerate(tried, start=1):
        framed = order.frames[at]
        wanted = framed.rabbet[0] - framed.holds[0]
        if (inner, outer) != (f"frame {at}", f"frame {at + 1}") or not spare.is_(wanted):
            yield f"{inner} was tried in {outer}, not so"


def _held(bench: Bench, order: Order) -> Iterator[str]:
    fit = [m["description"] for m in _fit_methods(bench, order)]
    for at, framed in enumerate(order.frames):
        name = f"frame {at + 1}" if len(order.frames) > 1 else "the frame"
        frame = bench.frames.get(name, Frame(name))
        closes = metal(frame) and not framed.moulding["floater"]
        if at == 0:
            for told in fit:
                if told not in frame.held_by:
                    yield f"{name} is not held by: {told}"
        if not (at == 0 and fit) and not closes and frame.held_by != _usual(bench, order, at):
            yield f"{name} is held by {frame.held_by}, not {_usual(bench, order, at)}"
        if at == 0 and order.package and not fit and not closes:
            yield from _bridged(bench, order, frame)
        if closes:
            springs = _springs(bench, frame, framed)
            if frame.springs != springs:
                yield f"{frame.springs} springs in {name}, not {springs}"


def _floated(bench: Bench, order: Order) -> Iterator[str]:
    if order.frames and not order.package:
        gap = bench.facts.get("gap")
        if gap is None or not gap.is_(order.gap):
            yield f"gap {gap}"
    for frame in bench.frames.values():
        if "shims" in frame.facts:
            yield f"shims are left in {frame.name}"


def _usual(bench: Bench, order: Order, at: int) -> str:
    """Return what holds the contents of a wooden frame where the shop names nothing else.

    Points need wood behind the package, clips bridge half an inch: common practice, no source.
    """
    if at:
        return "screws and offset clips from behind"
    if not order.package:
        return "screws from behind"
    room, behind = _room(order), bench.shop["sizing"]["room_behind"]
    if -MOST_BRIDGED <= room < 0:
        return "offset clips"
    return "points" if room < 0 or room >= behind else "flat clips"


def _room(order: Order) -> Fraction:
    """Return what the rabbet leaves behind the package; below zero the package stands out."""
    room: Fraction = order.frames[0].moulding["rabbet_depth"] - order.depth
    return room


def _bridged(bench: Bench, order: Order, frame: Frame) -> Iterator[str]:
    """Check the depth of clips and extensions: the extension leaves room for points."""
    room, held = _room(order), frame.held_by
    if (frame.bridged is not None) != (held == "offset clips"):
        yield f"{held} without their depth"
    if frame.bridged is not None and not frame.bridged.is_(-room):
        yield "clips of another offset"
    extended = held == "points" and room < 0
    if (frame.extension is not None) != extended:
        yield "a rabbet extension, or none where it is needed"
        return
    wanted = bench.shop["sizing"]["room_behind"] - room
    if frame.extension is not None and not frame.extension.is_(wanted):
        yield "an extension of another depth"


def _springs(bench: Bench, frame: Frame, framed: Framed) -> Fraction:
    """Return the springs of one frame: one for each foot begun of what lies along each side."""
    use = joining(bench, frame, "side_foot")
    least, per = use.get("least", LEAST_SPRINGS), use.get("per_unit", Fraction(1))
    return per * sum(max(up(side / FOOT), least) for side in sides_of(framed))


def _ways(bench: Bench) -> Iterator[str]:
    """Yield what was cut in another way than the shop has said for its material."""
    own = {way["material"].replace("_", " "): way["cut_by"] for way in bench.tools["ways"]}
    beyond = {"blade": {"by blade", "by table"}, "saw": {"by saw", "by order"}}
    beyond["snap"] = {"by snap", "by saw", "by order"}  # thick acrylic does not snap
    for part in bench.parts.values():
        way = own.get(part.material)
        by = {fact for fact in part.facts if fact.startswith("by ")}
        if way and by and not by <= beyond.get(way, {f"by {way}"}):
            yield f"{part.name}: {by}, where the shop says {way}"


def _fit_methods(bench: Bench, order: Order) -> list[Mapping[str, Any]]:
    method = _method(bench, order)
    found = [method] if method and method["stage"] == "fit" else []
    return found + [m for m in _finishing_methods(bench, order) if m["stage"] == "fit"]


def _finishing_methods(bench: Bench, order: Order) -> list[Mapping[str, Any]]:
    by_code = {method["code"]: method for method in bench.shop["finishing"]}
    return [by_code[code] for code in order.job.get("finishing", ())]


def _finishing(bench: Bench, order: Order) -> Iterator[str]:
    left_out = {"fit" if order.frames else "rabbet"} | (set() if sheets(bench) else {"seal"})
    wanted = [
        method["description"]
        for method in _finishing_methods(bench, order)
        if method["stage"] not in left_out
    ]
    done = bench.facts.get("finished", [])
    if sorted(done) != sorted(wanted):
        yield f"finished {done}, not {wanted}"
    if not bench.facts.get("wrapped"):
        yield "the work is not wrapped"


def _hanging(bench: Bench, order: Order) -> Iterator[str]:
    roles = {use["role"] for m in _finishing_methods(bench, order) for use in m["uses"]}
    if not roles & {"hanger", "wire"}:
        if "hangers" in bench.facts:
            yield "hangers that nobody ordered"
        return
    told = bench.facts.get("hangers")
    if told is None:
        yield "no hangers"
        return
    yield from differs("the hangers", told, rings(bench, order))
    if "wire" not in roles:
        return
    if "wire" not in bench.facts:
        yield "no wire"
        return
    long, across, above = bench.facts["wire"]
    wanted, span, rise = wire(bench, order)
    yield from differs("the wire's span and rise", (across, above), (span, rise))
    if not long.is_(wanted):
        yield f"{float(long.middle()):g} mm of wire, not {float(wanted):g}"


def _set_ups(bench: Bench) -> Iterator[str]:
    """The head's count is of the cutter's changes; stops of the rail are not counted in it."""
    of_cutter = ("slip sheet", "guide", "head", "blade depth", "arm stop")
    count = sum(
        each.startswith(of_cutter)
        for step in bench.paper.steps
        for line in step.lines
        if line.kind == "set"
        for each in line.text.split("; ")
    )
    if not bench.paper.head["Set-ups"].startswith(f"{count} changes"):
        yield f"{count} changes are printed, the head says {bench.paper.head['Set-ups']}"
    minutes = [Fraction(step.minutes.lstrip("≈")) for step in bench.paper.steps]
    found = re.fullmatch(r"≈?([\d.]+) min", bench.paper.head["Time"])
    doubt = Fraction(len(minutes) + 1, 20)  # each figure is rounded to a tenth
    if found is None or abs(sum(minutes) - Fraction(found[1])) > doubt:
        yield f"the steps take {float(sum(minutes)):g} min, not {bench.paper.head['Time']}"
