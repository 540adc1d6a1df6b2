"""An independent check of cutting plans: simple on purpose, and sharing nothing with the planner.

A wrong cut destroys material, so every plan is checked before it is answered. The check knows the
stock, the pieces, the rules and the plan; it does not know how the plan was found. It trusts no
figure in the plan: it cuts each sheet again on paper, and counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from service.domain.cutting.plan import (
    Axis,
    Cut,
    Fate,
    Node,
    Part,
    Placement,
    Rect,
    SheetPlan,
    SheetUse,
    StickPlan,
    StickUse,
    Unplaced,
)
from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    SheetStock,
    StickPiece,
    StickRules,
    StickStock,
)
from service.domain.errors import PlanRejected


def check_sheets(
    stock: Sequence[SheetStock], pieces: Sequence[SheetPiece], rules: SheetRules, plan: SheetPlan
) -> None:
    """Accept a sheet plan or say what is wrong with it.

    Raises:
        PlanRejected: with the first fault found.
    """
    sheets, wanted = {s.key: s for s in stock}, {p.key: p for p in pieces}
    made: list[tuple[str, int]] = []
    for n, use in enumerate(plan.uses):
        where = f"/uses/{n}"
        sheet = sheets.get(use.stock)
        _need(sheet is not None, where, f"there is no sheet {use.stock!r}")
        if sheet is None:
            continue
        trim = sheet.trim
        whole = Rect(trim, trim, sheet.width - 2 * trim, sheet.height - 2 * trim)
        _need(use.trim == trim, where, "wrong edge trim")
        _need((use.width, use.height) == (sheet.width, sheet.height), where, "wrong sheet size")
        _need(use.cost == sheet.cost, where, "wrong sheet cost")
        ends: list[Part] = []
        _cut_again(use.root, whole, rules.kerf, where, ends)
        _check_reach(use, whole, list(sheets.values()), wanted, rules, where)
        _check_apart(ends, whole, where)
        for part in ends:
            made += _check_part(part, wanted, rules, where)
    _check_quantities({s.key: s.quantity for s in stock}, plan.uses)
    _check_made({p.key: p.quantity for p in pieces}, made, plan.unplaced)
    cost = sum(sheets[use.stock].cost for use in plan.uses)
    _check_cost(cost, plan.summary.cost, plan.summary.bound)


def _need(good: bool, where: str, message: str) -> None:
    if not good:
        raise PlanRejected(f"the cutting plan is not sound: {message}", where)


def _cut_again(node: Node, region: Rect, kerf: int, where: str, ends: list[Part]) -> None:
    """Cut the region as the tree says; every rectangle named must be the one that comes off."""
    _need(node.rect == region, where, f"{node.rect} is named where {region} is cut")
    if isinstance(node, Part):
        ends.append(node)
        return
    along = region.w if node.axis is Axis.X else region.h
    _need(0 < node.at < along, where, f"a cut at {node.at} misses a part {along} long")
    rest = along - node.at - kerf
    _need((rest > 0) == (node.second is not None), where, "kerf is not counted at a cut")
    first, second = _halves(node, region, rest)
    _cut_again(node.first, first, kerf, where, ends)
    if node.second is not None:
        _cut_again(node.second, second, kerf, where, ends)


def _check_reach(
    use: SheetUse,
    whole: Rect,
    stock: Sequence[SheetStock],
    wanted: dict[str, SheetPiece],
    rules: SheetRules,
    where: str,
) -> None:
    """No cut is longer than the bench reaches, save for pieces that it can cut out of no sheet."""
    if not rules.reach:
        return
    if not use.beyond:
        for node in _nodes(use.root):
            if isinstance(node, Cut):
                long = node.rect.h if node.axis is Axis.X else node.rect.w
                _need(long <= rules.reach, where, f"a cut of {long} is beyond the bench")
        return
    for node in _nodes(use.root):
        if isinstance(node, Part) and node.placement is not None:
            piece = wanted[node.placement.piece]
            alone = any(_cut_alone(sheet, piece, rules.reach) for sheet in stock)
            _need(not alone, where, f"{piece.key!r} is left to the supplier, yet the bench cuts it")


def _cut_alone(sheet: SheetStock, piece: SheetPiece, reach: int) -> bool:
    """Whether two cuts within reach, in one order or the other, free a piece from a sheet."""
    wide, high = sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim
    sizes = [(piece.width, piece.height), (piece.height, piece.width)][: 1 + piece.may_turn]
    for w, h in sizes:
        if w > wide or h > high or sheet.quantity == 0:
            continue
        upright, level = w < wide, h < high
        if not (upright and high > reach) and not (level and w > reach):
            return True
        if not (level and wide > reach) and not (upright and h > reach):
            return True
    return False


def _nodes(root: Node) -> list[Node]:
    found, waiting = [], [root]
    while waiting:
        node = waiting.pop()
        found.append(node)
        if isinstance(node, Cut):
            waiting += [half for half in (node.first, node.second) if half is not None]
    return found


def _halves(cut: Cut, region: Rect, rest: int) -> tuple[Rect, Rect]:
    x, y, w, h = region.x, region.y, region.w, region.h
    if cut.axis is Axis.X:
        return Rect(x, y, cut.at, h), Rect(x + w - rest, y, rest, h)
    return Rect(x, y, w, cut.at), Rect(x, y + h - rest, w, rest)


def _check_apart(ends: Sequence[Part], whole: Rect, where: str) -> None:
    """No part leaves the sheet and no two overlap, whatever tree they came from."""
    rects = sorted((part.rect for part in ends), key=lambda rect: rect.x)
    for n, a in enumerate(rects):
        inside = a.x >= whole.x and a.y >= whole.y
        inside &= a.x + a.w <= whole.x + whole.w and a.y + a.h <= whole.y + whole.h
        _need(inside, where, f"{a} leaves the sheet")
        for b in rects[n + 1 :]:
            if b.x >= a.x + a.w:  # and so are all that follow
                break
            apart = a.y + a.h <= b.y or b.y + b.h <= a.y
            _need(apart, where, f"{a} and {b} overlap")


def _check_part(
    part: Part, wanted: dict[str, SheetPiece], rules: SheetRules, where: str
) -> list[tuple[str, int]]:
    rect, placed = part.rect, part.placement
    if part.fate is not Fate.PIECE or placed is None:
        _need(placed is None and part.fate is not Fate.PIECE, where, "a part without its piece")
        keep = rules.worth_keeping(rect.w, rect.h)
        _need(keep == (part.fate is Fate.KEEP), where, f"{rect} is wrongly kept or thrown away")
        return []
    piece = wanted.get(placed.piece)
    _need(piece is not None, where, f"nobody asked for a piece {placed.piece!r}")
    if piece is not None:
        _check_size(piece, placed, rect, where)
    return [(placed.piece, placed.copy)]


def _check_size(piece: SheetPiece, placed: Placement, rect: Rect, where: str) -> None:
    same = (placed.x, placed.y, placed.w, placed.h) == (rect.x, rect.y, rect.w, rect.h)
    _need(same, where, f"{piece.key!r} is not where it is cut")
    size = (piece.height, piece.width) if placed.rotated else (piece.width, piece.height)
    _need((rect.w, rect.h) == size, where, f"{piece.key!r} is cut to the wrong size")
    _need(piece.may_turn or not placed.rotated, where, f"{piece.key!r} may not be turned")


def _check_quantities(
    limits: dict[str, int | None], uses: Sequence[SheetUse] | Sequence[StickUse]
) -> None:
    numbers: dict[str, list[int]] = {}
    for use in uses:
        numbers.setdefault(use.stock, []).append(use.number)
    for key, used in numbers.items():
        limit = limits[key]
        _need(limit is None or len(used) <= limit, "/uses", f"more of {key!r} than there are")
        _need(sorted(used) == list(range(1, len(used) + 1)), "/uses", f"{key!r} is misnumbered")


def _check_made(
    wanted: dict[str, int], made: Sequence[tuple[str, int]], unplaced: Sequence[Unplaced]
) -> None:
    for (key, copy), times in Counter(made).items():
        _need(times == 1, "/uses", f"copy {copy} of {key!r} is made {times} times")
        _need(1 <= copy <= wanted[key], "/uses", f"nobody asked for copy {copy} of {key!r}")
    counts = Counter(key for key, _ in made)
    named = Counter({u.piece: 0 for u in unplaced})
    for absent in unplaced:
        _need(absent.quantity > 0, "/unplaced", f"{absent.piece!r} is named for nothing")
        _need(absent.piece in wanted, "/unplaced", f"nobody asked for {absent.piece!r}")
        named[absent.piece] += absent.quantity
    for key, quantity in wanted.items():
        total = counts[key] + named[key]
        _need(total == quantity, "/uses", f"{key!r}: {quantity} wanted, {total} accounted for")


def _check_cost(cost: int, claimed: int, bound: int) -> None:
    _need(cost == claimed, "/summary", f"the cost is {cost}, not {claimed}")
    _need(0 <= bound <= cost, "/summary", f"a bound of {bound} cannot be right at cost {cost}")


def check_sticks(
    stock: Sequence[StickStock], pieces: Sequence[StickPiece], rules: StickRules, plan: StickPlan
) -> None:
    """Accept a stick plan or say what is wrong with it.

    Raises:
        PlanRejected: with the first fault found.
    """
    sticks, wanted = {s.key: s for s in stock}, {p.key: p for p in pieces}
    made: list[tuple[str, int]] = []
    homes: dict[str, set[tuple[str, int]]] = {}
    for n, use in enumerate(plan.uses):
        where = f"/uses/{n}"
        stick = sticks.get(use.stock)
        _need(stick is not None, where, f"there is no stick {use.stock!r}")
        if stick is None:
            continue
        _need((use.length, use.cost) == (stick.length, stick.cost), where, "wrong length or cost")
        _check_stick(use, wanted, rules, where)
        for rail in use.placements:
            made.append((rail.piece, rail.copy))
            homes.setdefault(wanted[rail.piece].group, set()).add((use.stock, use.number))
    _check_quantities({s.key: s.quantity for s in stock}, plan.uses)
    _check_made({p.key: p.quantity for p in pieces}, made, plan.unplaced)
    _check_groups(stock, pieces, rules, plan.split_groups, homes)
    cost = sum(sticks[use.stock].cost for use in plan.uses)
    _check_cost(cost, plan.summary.cost, plan.summary.bound)


def _check_stick(
    use: StickUse, wanted: dict[str, StickPiece], rules: StickRules, where: str
) -> None:
    end = use.length - rules.tail_trim
    free = rules.head_trim
    for rail in use.placements:
        piece = wanted.get(rail.piece)
        _need(piece is not None, where, f"nobody asked for a piece {rail.piece!r}")
        good = piece is not None and rail.length == piece.length
        _need(good, where, f"{rail.piece!r} is cut to the wrong length")
        _need(rail.start >= free, where, f"{rail.piece!r} overlaps, or kerf is not counted")
        _need(rail.start + rail.length <= end, where, f"{rail.piece!r} runs off the stick")
        free = rail.start + rail.length + rules.kerf
    _need(use.leftover == max(0, end - free), where, f"the leftover is {max(0, end - free)}")
    keep = use.leftover >= rules.keep_length
    _need(use.keep == keep, where, "the leftover is wrongly kept or thrown away")


def _check_groups(
    stock: Sequence[StickStock],
    pieces: Sequence[StickPiece],
    rules: StickRules,
    split: Sequence[str],
    homes: dict[str, set[tuple[str, int]]],
) -> None:
    """Every group on one stick, save those named as split, which must fit no stick at all."""
    longest = max((s.length for s in stock if s.quantity != 0), default=0)
    room = longest - rules.head_trim - rules.tail_trim
    members: dict[str, list[StickPiece]] = {}
    for piece in pieces:
        if piece.group:
            members.setdefault(piece.group, []).append(piece)
    for group, alike in members.items():
        rails = [p for p in alike for _ in range(p.quantity)]
        needs = sum(p.length for p in rails) + rules.kerf * (len(rails) - 1)
        if group in split:
            _need(needs > room, "/split_groups", f"{group!r} is split, yet a stick takes it")
        else:
            _need(len(homes.get(group, ())) <= 1, "/uses", f"{group!r} is on several sticks")
