"""What the cutting planner is measured against: plain first-fit-decreasing, and rectpack.

First-fit-decreasing puts the largest piece that is left into the first open sheet or stick that
takes it. rectpack is a general rectangle packing library; it is optional and only measured here.
"""

from __future__ import annotations

from service.domain.cutting.stock import SheetStock
from tests.bench.cutting_instances import SheetJob, StickJob

Rect = tuple[int, int]


def sticks_first_fit(job: StickJob) -> int:
    """Cost of first-fit-decreasing: offcuts first, then the stick cheapest for its length."""
    kerf = job.rules.kerf
    order = sorted(job.stock, key=lambda s: (not s.offcut, s.cost / s.length))
    left = {s.key: s.quantity for s in order}
    room: list[int] = []
    cost = 0
    lengths = sorted((p.length for p in job.pieces for _ in range(p.quantity)), reverse=True)
    for length in lengths:
        at = next((i for i, free in enumerate(room) if free >= length + kerf), None)
        if at is None:
            stick = next(s for s in order if s.length >= length and left[s.key] != 0)
            cost += stick.cost
            if left[stick.key] is not None:
                left[stick.key] -= 1
            room.append(stick.length + kerf)
            at = len(room) - 1
        room[at] -= length + kerf
    return cost


def sheets_first_fit(job: SheetJob) -> int:
    """Cost of first-fit-decreasing with edge-to-edge splits, the longer leftover kept whole."""
    kerf = job.rules.kerf
    order = sorted(job.stock, key=lambda s: (not s.offcut, s.cost / s.area))
    left = {s.key: s.quantity for s in order}
    free: list[Rect] = []
    cost = 0
    sizes = [(p.width, p.height, p.may_turn) for p in job.pieces for _ in range(p.quantity)]
    for width, height, turns in sorted(sizes, key=lambda z: -z[0] * z[1]):
        ways = [(width, height), (height, width)][: 1 + turns]
        spot = _first(free, ways)
        if spot is None:
            sheet = _open(order, left, ways)
            cost += sheet.cost
            free.append((sheet.width, sheet.height))
            spot = _first(free, ways)
        at, (w, h) = spot
        wide, high = free.pop(at)
        right, top = wide - w - kerf, high - h - kerf
        if right * high >= top * wide:
            free += [r for r in ((right, high), (w, top)) if min(r) > 0]
        else:
            free += [r for r in ((right, h), (wide, top)) if min(r) > 0]
    return cost


def _first(free: list[Rect], ways: list[Rect]) -> tuple[int, Rect] | None:
    for at, (wide, high) in enumerate(free):
        for w, h in ways:
            if w <= wide and h <= high:
                return at, (w, h)
    return None


def _open(order: list[SheetStock], left: dict[str, int | None], ways: list[Rect]) -> SheetStock:
    for sheet in order:
        if left[sheet.key] != 0 and any(w <= sheet.width and h <= sheet.height for w, h in ways):
            if left[sheet.key] is not None:
                left[sheet.key] -= 1
            return sheet
    raise ValueError("no sheet takes a piece of the job")


def sheets_rectpack(job: SheetJob) -> int:
    """Cost by rectpack's guillotine packer, offcuts first.

    Raises:
        ImportError: rectpack is not installed.
    """
    import rectpack  # noqa: PLC0415 - optional

    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=rectpack.GuillotineBssfSas,
        rotation=True,
    )
    costs = {}
    for sheet in sorted(job.stock, key=lambda s: (not s.offcut, s.cost / s.area)):
        count = float("inf") if sheet.quantity is None else sheet.quantity
        packer.add_bin(sheet.width, sheet.height, count=count, bid=sheet.key)
        costs[sheet.key] = sheet.cost
    for piece in job.pieces:
        for _ in range(piece.quantity):
            packer.add_rect(piece.width, piece.height)
    packer.pack()
    wanted = sum(p.quantity for p in job.pieces)
    if len(packer.rect_list()) != wanted:
        raise ValueError("rectpack left pieces out")
    return sum(costs[abin.bid] for abin in packer)
