"""Sheet plans: pieces from sheets of several sizes by straight cuts from edge to edge.

Kerf is 0 where boards and glass are scored. A piece turns unless grain or texture forbids it.
Offcuts of the rack are stock with a quantity and their own, lower cost, so they go first where
that is cheaper.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import gcd

from service.domain.cutting.check import check_sheets
from service.domain.cutting.patterns.choice import Choice
from service.domain.cutting.patterns.master import Pattern, Task
from service.domain.cutting.plan import (
    Buy,
    Fate,
    Offcut,
    Reason,
    Rect,
    SheetPlan,
    SheetUse,
    Summary,
    Unplaced,
)
from service.domain.cutting.sheets.batches import is_large, search_in_batches
from service.domain.cutting.sheets.bound import area_floor
from service.domain.cutting.sheets.draw import Copies, draw
from service.domain.cutting.sheets.kinds import Sheets
from service.domain.cutting.sheets.search import search
from service.domain.cutting.sheets.tiles import Tile, tiles
from service.domain.cutting.sticks.plan import refuse_twice
from service.domain.cutting.stock import SheetPiece, SheetRules, SheetStock
from service.domain.cutting.watch import Watch

Size = tuple[int, int, bool]


def plan_sheets(
    stock: Sequence[SheetStock],
    pieces: Sequence[SheetPiece],
    rules: SheetRules | None = None,
    watch: Watch | None = None,
) -> SheetPlan:
    """Plan pieces on sheets at the least cost found, with a proven bound, and check the plan.

    Raises:
        BadValue: a key that is used twice.
        PlanCancelled: the caller stopped it.
        PlanRejected: the plan failed its own independent check (a fault of the planner).
    """
    rules, watch = rules or SheetRules(), watch or Watch()
    refuse_twice("sheet", (s.key for s in stock))
    refuse_twice("piece", (p.key for p in pieces))
    there = [s for s in stock if s.quantity != 0]
    wanted = [p for p in pieces if p.quantity]
    oversize = [p for p in wanted if not any(_takes(s, p) for s in there)]
    fitting = [p for p in wanted if any(_takes(s, p, rules.reach) for s in there)]
    beyond = [p for p in wanted if p not in fitting and p not in oversize]
    uses: tuple[SheetUse, ...] = ()
    missing: dict[str, int] = {}
    bound = 0
    if fitting:
        uses, missing, bound = _plan(there, fitting, rules, watch)
    if beyond:
        more, short, least = _at_the_supplier(there, beyond, rules, watch, uses)
        uses, missing, bound = (*uses, *more), missing | short, max(bound, least)
    unplaced = (
        *(
            Unplaced(
                p.key,
                p.quantity,
                Reason.OVERSIZE,
                "larger than every sheet, either way round"
                if p.may_turn
                else "larger than every sheet the way its grain runs",
            )
            for p in oversize
        ),
        *(
            Unplaced(key, n, Reason.STOCK_EXHAUSTED, "no sheet that takes it is left")
            for key, n in missing.items()
        ),
    )
    plan = SheetPlan(uses, unplaced, _summary(stock, uses, bound))
    check_sheets(stock, pieces, rules, plan)
    return plan


def _at_the_supplier(
    there: list[SheetStock],
    pieces: list[SheetPiece],
    rules: SheetRules,
    watch: Watch,
    used: tuple[SheetUse, ...],
) -> tuple[list[SheetUse], dict[str, int], int]:
    """Sheets of their own for what the bench cannot cut out of any sheet there is."""
    counts = Counter(use.stock for use in used)
    left = [
        s if s.quantity is None else replace(s, quantity=s.quantity - counts[s.key]) for s in there
    ]
    left = [s for s in left if s.quantity != 0]
    fitting = [p for p in pieces if any(_takes(s, p) for s in left)]
    missing = {p.key: p.quantity for p in pieces if p not in fitting}
    if not fitting:
        return [], missing, 0
    uses, short, bound = _plan(left, fitting, replace(rules, reach=0), watch)
    again = [replace(use, number=use.number + counts[use.stock], beyond=True) for use in uses]
    return again, missing | short, bound


def _room(sheet: SheetStock) -> Rect:
    """What trimming leaves of a sheet."""
    trim = sheet.trim
    return Rect(trim, trim, sheet.width - 2 * trim, sheet.height - 2 * trim)


def _takes(sheet: SheetStock, piece: SheetPiece, reach: int = 0) -> bool:
    """Whether a piece can be cut out of a sheet by cuts no longer than the reach, 0 for any."""
    room = _room(sheet)
    ways = {(piece.width, piece.height)}
    if piece.may_turn:
        ways.add((piece.height, piece.width))
    return any(
        w <= room.w and h <= room.h and (not reach or _reached(room, w, h, reach)) for w, h in ways
    )


def _reached(room: Rect, w: int, h: int, reach: int) -> bool:
    width_first = (w == room.w or room.h <= reach) and (h == room.h or w <= reach)
    height_first = (h == room.h or room.w <= reach) and (w == room.w or h <= reach)
    return width_first or height_first


def _plan(
    there: list[SheetStock], fitting: list[SheetPiece], rules: SheetRules, watch: Watch
) -> tuple[tuple[SheetUse, ...], dict[str, int], int]:
    alike: dict[Size, list[SheetPiece]] = {}
    for piece in fitting:
        alike.setdefault(_size(piece, rules.kerf), []).append(piece)
    sizes = sorted(alike, key=lambda z: (-z[0] * z[1], z))
    usable = [s for s in there if any(_takes(s, p, rules.reach) for p in fitting)]
    kinds = _tiles(sizes, [sum(p.quantity for p in alike[size]) for size in sizes], usable, rules)
    penalty = 2 * max(s.cost for s in usable) + 1
    task = Task(
        tuple(tile.demand for tile in kinds),
        tuple(penalty * tile.pieces for tile in kinds),
        tuple(s.cost for s in usable),
        tuple(s.quantity for s in usable),
    )
    sheets = _scaled([_tiled(sizes[t.base], t) for t in kinds], usable, rules, task)
    find = search_in_batches if is_large(sheets) else search
    found = find(sheets, watch)
    copies = Copies([alike[size] for size in sizes], kinds)
    uses = _uses(sheets, found.choice, usable, copies, rules)
    missing = copies.left()
    bound = found.bound
    if len(kinds) > len(sizes):  # single pieces could lie otherwise than in tiles
        bound = 0 if missing else area_floor(sheets, sum(use.cost for use in uses))
    return uses, missing, max(0, bound - penalty * sum(missing.values()))


def _tiles(
    sizes: list[Size], demands: list[int], usable: list[SheetStock], rules: SheetRules
) -> list[Tile]:
    wide = max(_room(s).w for s in usable) + rules.kerf
    high = max(_room(s).h for s in usable) + rules.kerf
    return [
        tile
        for base, (demand, (w, h, _)) in enumerate(zip(demands, sizes, strict=True))
        for tile in tiles(base, demand, (w, h), (wide, high))
    ]


def _tiled(size: Size, tile: Tile) -> Size:
    w, h = size[0] * tile.across, size[1] * tile.up
    return w, h, size[2] and (w != h or tile.pieces > 1)


def _size(piece: SheetPiece, kerf: int) -> Size:
    w, h = piece.width + kerf, piece.height + kerf
    if piece.may_turn:
        w, h = min(w, h), max(w, h)
    return w, h, piece.may_turn and w != h


def _scaled(sizes: list[Size], usable: list[SheetStock], rules: SheetRules, task: Task) -> Sheets:
    """Divide every length by what they all share, so that the search works on small numbers."""
    rooms = [_room(s) for s in usable]
    stock = [(room.w + rules.kerf, room.h + rules.kerf) for room in rooms]
    lengths = [n for w, h, _ in sizes for n in (w, h)] + [n for wh in stock for n in wh]
    unit = gcd(*lengths, rules.kerf)
    return Sheets(
        tuple((w // unit, h // unit, turns) for w, h, turns in sizes),
        tuple((w // unit, h // unit) for w, h in stock),
        task,
        rules.kerf // unit,
        -(-rules.keep_short // unit),
        -(-rules.keep_long // unit),
        unit,
        (rules.reach + rules.kerf) // unit if rules.reach else 0,
    )


def _uses(
    sheets: Sheets,
    choice: Choice,
    usable: list[SheetStock],
    copies: Copies,
    rules: SheetRules,
) -> tuple[SheetUse, ...]:
    plan: list[Pattern] = [pattern for pattern, times in choice.uses for _ in range(times)]
    plan.sort(key=lambda p: (not usable[p.stock].offcut, p.stock, p.largest, p.counts))
    numbers = [0] * len(usable)
    uses = []
    for pattern in plan:
        numbers[pattern.stock] += 1
        sheet = usable[pattern.stock]
        root = draw(sheets, pattern, _room(sheet), copies, rules)
        uses.append(
            SheetUse(
                sheet.key,
                numbers[pattern.stock],
                sheet.width,
                sheet.height,
                sheet.offcut,
                sheet.cost,
                root,
                sheet.trim,
                min(sheet.trim, rules.kerf),
            )
        )
    return tuple(uses)


def _summary(stock: Sequence[SheetStock], uses: tuple[SheetUse, ...], bound: int) -> Summary:
    cost = sum(use.cost for use in uses)
    taken = sum(use.width * use.height for use in uses)
    made = sum(p.w * p.h for use in uses for p in use.placements)
    kept = [
        Offcut(n, part.rect.w, part.rect.h)
        for n, use in enumerate(uses)
        for part in use.leftovers
        if part.fate is Fate.KEEP
    ]
    counts = Counter(use.stock for use in uses)
    return Summary(
        cost,
        min(cost, bound),
        Fraction(made, taken) if taken else Fraction(0),
        tuple(
            Buy(s.key, counts[s.key], s.cost * counts[s.key], s.offcut)
            for s in stock
            if counts[s.key]
        ),
        tuple(sorted(kept, key=lambda o: -o.width * o.height)),
        sum(use.cut_count for use in uses),
    )
