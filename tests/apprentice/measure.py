"""Measures what lies on the bench at the end against the order; each fault is one sentence."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from tests.apprentice.bench import Bench, Part
from tests.apprentice.order import Framed, Mat, Order, Size, side_of
from tests.apprentice.readings import Reading

SHEETS = ("Top mat", "Glazing", "Mount", "Backing")
MITRES = {4: "45°", 8: "22.5°", 12: "15°"}
"""180° over the number of sides: plane geometry."""


def faults(bench: Bench, order: Order) -> list[str]:
    """Return what is wrong with the head, the pieces, the sheets and the frames."""
    return [
        *_head(bench, order),
        *_pieces(bench, order),
        *_sheets(bench, order),
        *_frames(bench, order),
    ]


def _head(bench: Bench, order: Order) -> Iterator[str]:
    head = bench.paper.head
    if bench.quantity != order.quantity:
        yield f"{bench.quantity} made, {order.quantity} ordered"
    first = order.frames[0] if order.frames else None
    wanted = {
        "Package": order.package,
        "Rabbet": first and first.rabbet,
        "Frame sight": first and first.sight,
        "Outside": order.outside,
    }
    for name, size in wanted.items():
        if (name in head) != bool(size):
            yield f"the head has {head.get(name)} for {name}"
        elif size:
            yield from differs(name, bench.argument("size", head[name]), size)
    if "Depth" in head and first:
        deep, _, room = head["Depth"].removesuffix(" deep").partition(", rabbet ")
        if not bench.figure(deep).is_(order.depth):
            yield f"depth {deep}, not {float(order.depth):g} mm"
        if not bench.figure(room).is_(first.moulding["rabbet_depth"]):
            yield f"the rabbet is not {room} deep"


def differs(name: str, made: tuple[Reading, Reading], wanted: Size) -> Iterator[str]:
    """Yield a fault for a width or a height that is not as wanted."""
    for side, reading, length in zip(("width", "height"), made, wanted, strict=True):
        if not reading.is_(length):
            told = f"{float(reading.middle()):g}, not {float(length):g} mm"
            yield f"{name}: {side} {told}"


def _rows(order: Order) -> Iterator[tuple[str, str, int]]:
    """Yield name, item and number of every piece ordered, in the usual order of a cut list."""
    job, many = order.job, order.quantity
    for at, mat in enumerate(order.mats):
        yield f"Mat {at + 1}" if at else "Top mat", mat.board, many
    if order.package and job.get("glazing"):
        yield "Glazing", job["glazing"]["sheet"], many
    for name, field in (("Mount", "mounting"), ("Backing", "backing")):
        if order.package and job.get(field, {}).get("board"):
            yield name, job[field]["board"], many
    for at, frame in enumerate(order.frames):
        of = f" of frame {at + 1}" if len(order.frames) > 1 else ""
        code = job["frames"][at]["moulding"]
        if frame.sides != 4:
            yield f"Rails{of}, all sides", code, frame.sides * many
            continue
        yield f"Rails{of}, top and bottom", code, 2 * many
        yield f"Rails{of}, left and right", code, 2 * many
    yield from _fillets(order)


def _fillets(order: Order) -> Iterator[tuple[str, str, int]]:
    lined = [
        (f"Fillet of mat {at + 1}", mat.fillet, list(Counter(sizes(mat)).values()))
        for at, mat in enumerate(order.mats)
    ]
    lined += [
        (f"Fillet of frame {at + 1}", frame.fillet, [1]) for at, frame in enumerate(order.frames)
    ]
    for name, fillet, alike in lined:
        for many in alike if fillet else ():
            yield f"{name}, top and bottom", fillet["code"], 2 * many * order.quantity
            yield f"{name}, left and right", fillet["code"], 2 * many * order.quantity


def _pieces(bench: Bench, order: Order) -> Iterator[str]:
    printed = [(row.name, row.item, row.quantity) for row in bench.paper.pieces]
    wanted = list(_rows(order))
    if printed != wanted:
        yield f"pieces {printed}, not {wanted}"
    for row in bench.paper.pieces:
        part = bench.parts[row.number]
        if row.name.startswith(("Rails", "Fillet")):
            found = re.fullmatch(
                r"(.+) long point, (.+) along the (?:rabbet|inner edge), mitre (.+)", row.size
            )
            if not found:
                yield f"{row.name}: not understood: {row.size}"
            elif "long" in part.made and part.made["long"] != bench.figure(found[1]):
                yield f"{row.name}: cut otherwise than listed"
            elif part.made.get("inner", bench.figure(found[2])) != bench.figure(found[2]):
                yield f"{row.name}: listed with another length along the rabbet"
        else:
            listed = bench.argument("size", row.size)
            if (part.made.get("width"), part.made.get("height")) != listed:
                yield f"{row.name}: made otherwise than listed, {row.size}"


def named(bench: Bench, name: str) -> list[Part]:
    """Return the parts of a name, in the order of the list of pieces."""
    return [part for part in bench.parts.values() if part.name == name]


def _sheets(bench: Bench, order: Order) -> Iterator[str]:
    sheets: list[tuple[str, Size]] = [
        (f"Mat {at + 1}" if at else "Top mat", mat.blank) for at, mat in enumerate(order.mats)
    ]
    if order.package:
        sheets += [(name, order.package) for name in ("Glazing", "Mount", "Backing")]
    sides = order.frames[0].sides if order.frames and order.package else 4
    for name, size in sheets:
        for part in named(bench, name):
            if not part.sized():
                yield f"{name} is not sized"
                continue
            yield from differs(name, (part.made["width"], part.made["height"]), size)
            if (sides != 4) != ("corners" in part.facts):
                yield f"{name}: corners cut off or not"
            elif sides != 4:
                cut = part.made["corner side"].is_(side_of(size[0], sides))
                if not cut or f"{sides} sides" not in part.facts:
                    yield f"{name}: {sides} sides are wanted"


def _frames(bench: Bench, order: Order) -> Iterator[str]:
    sheets = any(
        part.name in SHEETS or part.name.startswith("Mat ") for part in bench.parts.values()
    )
    for at, frame in enumerate(order.frames):
        name = f"frame {at + 1}" if len(order.frames) > 1 else "the frame"
        made = bench.frames.get(name)
        if made is None or made.corners != frame.sides or made.open_side:
            yield f"{name} is not joined"
            continue
        if "squared" not in made.facts:
            yield f"{name} was not squared"
        if made.rabbet:
            yield from differs(f"{name}, rabbet", made.rabbet, frame.rabbet)
        if frame.supply != "join":
            for rail in made.rails:
                yield from _rail(rail, frame)
        inner = f"frame {at}" if at else ("the package" if sheets else "the art")
        if made.contents != inner or not made.held_by:
            yield f"{name} holds {made.contents or 'nothing'}, not {inner}"
    if len(bench.frames) != len(order.frames):
        yield f"{len(bench.frames)} frames, not {len(order.frames)}"


def _rail(rail: Part, frame: Framed) -> Iterator[str]:
    across = 1 if "left and right" in rail.name else 0
    long, inner = frame.outside[across], frame.rabbet[across]
    if frame.sides != 4:
        long, inner = side_of(long, frame.sides), side_of(inner, frame.sides)
    if not rail.made["long"].is_(long):
        yield f"{rail.name}: long point not {float(long):g} mm"
    if "inner" in rail.made and not rail.made["inner"].is_(inner):
        yield f"{rail.name}: along the rabbet not {float(inner):g} mm"
    if f"mitre {MITRES[frame.sides]}" not in rail.facts:
        yield f"{rail.name}: the mitre is not {MITRES[frame.sides]}"


def sizes(mat: Mat) -> list[Size]:
    """Return the sizes of a mat's windows."""
    return [(window.width, window.height) for window in mat.windows]
