"""What a cutting plan cuts from what: wanted pieces gathered by item, with all stock of each.

New stock is reckoned at what it costs: the cost of just that size before a rate. An offcut is
reckoned at a twentieth of what as much new material costs, so that offcuts go first, and a small
one before a large one. Where the cost of a size is not known, the whole item is reckoned in
material: the least area, or length, is taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from schemas.cutting.records import (
    Colour,
    GivenStock,
    ItemWork,
    LeftOut,
    Material,
    PlanOptions,
    Wish,
)
from schemas.materials.records import CostBasis, Offcut, StockLevel, StockSize
from service.app.materials.stock import stock_sizes
from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    StickPiece,
    StickRules,
    kerf_at_mitre,
)
from service.domain.materials.catalogue import Board, Catalogue, Glazing, ItemCost, Moulding
from service.domain.measure.length import TICKS_PER_FOOT, TICKS_PER_INCH, ZERO, Length, Size
from service.domain.measure.money import Currency
from service.domain.measure.rounding import half_up
from service.domain.shop import Bench, Shop

OFFCUT_SHARE = Fraction(1, 20)
"""What an offcut is reckoned at, as a share of as much new material."""
MOST_OFFCUTS = 40
"""So many offcuts of an item are looked at in a plan, the smallest that take any piece of it."""
_PER_FRAME = 2
_BASES: Mapping[str, CostBasis] = {
    "sheet": "sheet",
    "square_foot": "square_foot",
    "linear_foot": "linear_foot",
}
_NEAREST = (
    ("sheet", True),
    ("sheet", False),
    ("square_foot", False),
    ("square_foot", True),
    ("linear_foot", False),
    ("linear_foot", True),
)
_FINE = 16
"""Material is reckoned in sixteenths of an inch, square or along."""


@dataclass(frozen=True, slots=True)
class Supplies:
    """What a shop has: its settings and catalogue, what is on its rack, and what it counts."""

    shop: Shop
    catalogue: Catalogue
    offcuts: tuple[Offcut, ...] = ()
    levels: tuple[StockLevel, ...] = ()


@dataclass(frozen=True, slots=True)
class Gathered:
    """The materials, how a piece's key leads to its wish's, and what is left out."""

    materials: tuple[Material, ...]
    wish_of: Mapping[str, str]
    left_out: tuple[LeftOut, ...]


def gather(
    wishes: Sequence[Wish],
    given: Sequence[GivenStock],
    options: PlanOptions,
    supplies: Supplies,
) -> Gathered:
    """The wishes by item, in the order in which the items come."""
    by_item: dict[tuple[str, bool], list[Wish]] = {}
    for wish in wishes:
        by_item.setdefault((wish.item, bool(wish.height)), []).append(wish)
    materials: list[Material] = []
    wish_of: dict[str, str] = {}
    left_out: list[LeftOut] = []
    for (code, is_sheet), wanted in by_item.items():
        sizes = _sizes(code, wanted, given, options, supplies)
        if not sizes:
            left_out += [LeftOut(w, "unknown_item", _unknown(code, is_sheet)) for w in wanted]
            continue
        make = _sheets if is_sheet else _sticks
        materials.append(make(code, wanted, sizes, options, supplies, wish_of))
    return Gathered(tuple(materials), wish_of, tuple(left_out))


def _unknown(code: str, is_sheet: bool) -> str:
    what = "a sheet size" if is_sheet else "a stick length"
    return f"the catalogue has no {code} with {what}; give its stock with the request"


def _sizes(
    code: str,
    wanted: Sequence[Wish],
    given: Sequence[GivenStock],
    options: PlanOptions,
    supplies: Supplies,
) -> tuple[StockSize, ...]:
    """All that an item may be cut from: new stock and what is on the rack."""
    is_sheet = bool(wanted[0].height)
    mine = [g for g in given if g.item == code and bool(g.height) == is_sheet]
    new = _given(mine, supplies.shop) if mine else _new(code, is_sheet, options, supplies)
    if not new:
        return ()
    in_money = all(size.money is not None for size in new)
    sizes = [
        replace(s, cost=(s.money or 0) if in_money else _material(s.width, s.height)) for s in new
    ]
    if options.use_offcuts and _colour(code, options, supplies) != "batch":
        rates = (Fraction(s.cost, _ticks(s.width, s.height)) for s in sizes)
        rate = min(rates) * OFFCUT_SHARE
        racked = (o for o in supplies.offcuts if o.item == code and bool(o.height) == is_sheet)
        sizes += [_on_rack(offcut, rate) for offcut in _looked_at(racked, wanted)]
    return tuple(sizes)


def _looked_at(offcuts: Iterable[Offcut], wanted: Sequence[Wish]) -> list[Offcut]:
    """The smallest offcuts that any piece fits on; a plan's time grows with their number."""
    fitting = [o for o in offcuts if any(_lies_on(w, o) for w in wanted)]
    fitting.sort(key=lambda o: (_ticks(o.width, o.height), o.serial))
    return sorted(fitting[:MOST_OFFCUTS], key=lambda o: o.serial)


def _lies_on(wish: Wish, offcut: Offcut) -> bool:
    """Whether a piece fits, one way or the other; whether it may be turned is asked later."""
    piece = sorted((wish.width.ticks, wish.height.ticks))
    rest = sorted((offcut.width.ticks, offcut.height.ticks))
    return piece[0] <= rest[0] and piece[1] <= rest[1]


def _ticks(width: Length, height: Length) -> int:
    return width.ticks * (height.ticks or 1)


def _material(width: Length, height: Length) -> int:
    """A size in whole sixteenths of an inch, square or along; at least one."""
    unit = TICKS_PER_INCH // _FINE
    return max(1, half_up(_ticks(width, height), unit * (unit if height else 1)))


def _on_rack(offcut: Offcut, rate: Fraction) -> StockSize:
    cost = half_up(*(rate * _ticks(offcut.width, offcut.height)).as_integer_ratio())
    return StockSize(
        key=offcut.label,
        source="rack",
        width=offcut.width,
        height=offcut.height,
        cost=max(cost, 1 if rate else 0),
        quantity=1,
        offcut=offcut,
    )


def _given(mine: Iterable[GivenStock], shop: Shop) -> tuple[StockSize, ...]:
    currency = Currency(shop.currency)
    return tuple(
        StockSize(
            key=f"given {number}",
            source="given",
            width=one.width,
            height=one.height,
            cost=0,
            quantity=one.quantity,
            money=None if one.cost is None else currency.half_up(one.cost).minor,
            cost_basis="" if one.cost is None else "given",
        )
        for number, one in enumerate(mine, start=1)
    )


def _new(
    code: str, is_sheet: bool, options: PlanOptions, supplies: Supplies
) -> tuple[StockSize, ...]:
    levels = {(o.width, o.height): o.quantity for o in supplies.levels if o.item == code}
    sizes: list[StockSize] = []
    for width, height in stock_sizes(supplies.catalogue.items.get(code)):
        if bool(height) != is_sheet:
            continue
        level = levels.get((width, height))
        money, basis = _money(code, width, height, supplies)
        size = StockSize(
            key=f"new {len(sizes) + 1}",
            source="new",
            width=width,
            height=height,
            cost=0,
            quantity=None if options.buy else level or 0,
            money=money,
            cost_basis=basis,
            level=level,
        )
        if level and (options.stock_on_hand or supplies.shop.bench.stock_on_hand) == "free":
            on_hand = replace(
                size, key=f"on hand {len(sizes) + 1}", quantity=level, money=0, cost_basis="on_hand"
            )
            sizes.append(on_hand)
            if not options.buy:
                continue
            size = replace(size, key=f"new {len(sizes) + 1}", level=None)
        sizes.append(size)
    return tuple(sizes)


def _money(
    code: str, width: Length, height: Length, supplies: Supplies
) -> tuple[int | None, CostBasis]:
    """What one new sheet or stick costs, in minor units, and by which cost; None where unknown.

    The cost of just this size comes first, then one that all sheets have, then a rate.
    """
    best: tuple[int, Fraction, CostBasis] | None = None
    for known in supplies.catalogue.costs.get(code, ()):
        units = _units(known, width, height)
        if units is not None:
            near = _NEAREST.index((known.basis, known.sheet is not None))
            if best is None or near < best[0]:
                basis: CostBasis = "size" if near == 0 else _BASES[known.basis]
                best = near, known.cost * units, basis
    if best is None:
        return None, ""
    return Currency(supplies.shop.currency).half_up(best[1]).minor, best[2]


def _units(known: ItemCost, width: Length, height: Length) -> Fraction | None:
    """How many of a cost's basis a sheet or a stick is."""
    if height and known.basis == "sheet" and known.sheet in (None, Size(width, height)):
        return Fraction(1)
    if height and known.basis == "square_foot":
        return Fraction(width.ticks * height.ticks, TICKS_PER_FOOT**2)
    if not height and known.basis == "linear_foot":
        return Fraction(width.ticks, TICKS_PER_FOOT)
    return None


def _described(code: str, supplies: Supplies) -> tuple[str, bool]:
    item = supplies.catalogue.items.get(code)
    return (code, False) if item is None else (item.description, True)


def _in_money(sizes: Iterable[StockSize]) -> bool:
    return all(size.money is not None for size in sizes if size.source != "rack")


def _sheets(
    code: str,
    wanted: Sequence[Wish],
    sizes: tuple[StockSize, ...],
    options: PlanOptions,
    supplies: Supplies,
    wish_of: dict[str, str],
) -> Material:
    bench = supplies.shop.bench
    work = _work(code, options, supplies)
    pieces = []
    for wish in wanted:
        wish_of[wish.key] = wish.key
        turns = work.may_turn is not False and wish.may_turn is not False
        size = wish.width.ticks, wish.height.ticks
        pieces.append(SheetPiece(wish.key, *size, wish.quantity, turns))
    keep = (options.offcut_short or bench.offcut_short, options.offcut_long or bench.offcut_long)
    short, long = sorted(length.ticks for length in keep)
    description, known = _described(code, supplies)
    return Material(
        item=code,
        description=description,
        kind="sheet",
        in_catalogue=known,
        in_money=_in_money(sizes),
        sizes=sizes,
        sheet_pieces=tuple(pieces),
        sheet_rules=_sheet_rules(work, bench, max(short, 1), max(long, 1)),
        cut_by=work.cut_by or "scored",
        edge_trim=max(work.edge_trim, work.kerf or ZERO) if work.edge_trim else ZERO,
        colour=_colour(code, options, supplies),
    )


def _work(code: str, options: PlanOptions, supplies: Supplies) -> ItemWork:
    """How an item is cut: as the request says, else as the catalogue and the shop do."""
    item = supplies.catalogue.items.get(code)
    asked = next((one for one in options.items if one.item == code), None)
    flat = item if isinstance(item, Board | Glazing) else None
    cut_by = (asked and asked.cut_by) or (flat.cut_by if flat else "scored")
    bench = supplies.shop.bench
    kerfs = {"scored": ZERO, "saw": bench.panel_kerf, "table": bench.table_kerf}
    kerf = asked.kerf if asked else options.sheet_kerf
    trim = asked.edge_trim if asked else None
    turns = asked.may_turn if asked else None
    return ItemWork(
        item=code,
        cut_by=cut_by,
        kerf=kerfs[cut_by] if kerf is None else kerf,
        edge_trim=(flat.edge_trim if flat else ZERO) if trim is None else trim,
        may_turn=not (flat and flat.grain) if turns is None else turns,
    )


def _colour(code: str, options: PlanOptions, supplies: Supplies) -> Colour:
    """How an item's colour is kept; a pattern that runs is kept by cutting from one stick."""
    asked = next((one.colour for one in options.items if one.item == code), None)
    item = supplies.catalogue.items.get(code)
    runs = isinstance(item, Moulding) and item.pattern_runs
    return asked or ("stick" if runs else "any")


def _sheet_rules(work: ItemWork, bench: Bench, short: int, long: int) -> SheetRules:
    reaches = {"scored": bench.rail, "saw": bench.panel_reach, "table": bench.table_reach}
    reach = reaches[work.cut_by or "scored"].ticks
    return SheetRules((work.kerf or ZERO).ticks, short, long, reach)


def _sticks(
    code: str,
    wanted: Sequence[Wish],
    sizes: tuple[StockSize, ...],
    options: PlanOptions,
    supplies: Supplies,
    wish_of: dict[str, str],
) -> Material:
    bench = supplies.shop.bench
    colour = _colour(code, options, supplies)
    pieces = tuple(_rails(wanted, colour == "stick", wish_of))
    # One blade serves all: the widest kerf that any of these mitres takes.
    kerf = max(kerf_at_mitre(bench.saw_kerf.ticks, sides) for sides in {w.sides for w in wanted})
    trim = bench.stick_end_trim.ticks
    keep = (options.offcut_stick or bench.offcut_stick).ticks
    description, known = _described(code, supplies)
    return Material(
        item=code,
        description=description,
        kind="stick",
        in_catalogue=known,
        in_money=_in_money(sizes),
        sizes=sizes,
        stick_pieces=pieces,
        stick_rules=StickRules(kerf, trim, trim, max(keep, 1)),
        colour=colour,
    )


def _rails(wanted: Sequence[Wish], together: bool, wish_of: dict[str, str]) -> Iterable[StickPiece]:
    """Rails on their own, or `together` frame by frame in their order round it."""
    frames: dict[str, list[Wish]] = {}
    for wish in wanted:
        if wish.frame and wish.side and together:
            frames.setdefault(wish.frame, []).append(wish)
            continue
        wish_of[wish.key] = wish.key
        size = wish.width.ticks, wish.quantity
        if wish.side:
            yield StickPiece(wish.key, *size, frame=wish.frame, of_frame=_each(wish))
        else:
            yield StickPiece(wish.key, *size, group=wish.frame)
    for frame, rails in frames.items():
        yield from _frame_by_frame(frame, rails, wish_of)


def _frame_by_frame(
    frame: str, rails: Sequence[Wish], wish_of: dict[str, str]
) -> Iterable[StickPiece]:
    """Top, right, bottom, left of one frame, then of the next, until all rails are shared out."""
    left = {wish.key: wish.quantity for wish in rails}
    copy = 0
    while any(left.values()):
        copy += 1
        for turn in range(_turns(rails)):
            for wish in rails:
                if left[wish.key] and turn < _each(wish):
                    key = f"{wish.key} {copy}.{turn + 1}"
                    left[wish.key] -= 1
                    wish_of[key] = wish.key
                    yield StickPiece(key, wish.width.ticks, 1, f"{frame} {copy}")


def _each(wish: Wish) -> int:
    """How many of such rails a frame has."""
    return wish.sides if wish.side == "each" else _PER_FRAME


def _turns(rails: Sequence[Wish]) -> int:
    return max(_each(wish) for wish in rails)
