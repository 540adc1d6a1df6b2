"""Workings of the billed quantity of each material of a job; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.estimates.calculation import JobEstimate
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.jobs.takeoff import Covered, covered, joined_pieces
from service.domain.jobs.use import Use, covering_sheets, stock_sheet, yielding_sheet
from service.domain.materials.catalogue import Board, Glazing, Hardware, Moulding
from service.domain.measure.length import Size
from service.domain.shop import Billing, Shop, SupplyUse

_Formula = tuple[str, dict[str, Value]]
_SUPPLY_MEASURES = {
    "perimeter_foot": ("2 * (width{n} + height{n})", 12),
    "width_foot": ("width{n}", 12),
    "square_foot": ("width{n} * height{n}", 144),
}
"""The measure of one covered rectangle in inches, and how many make a foot."""


def use_workings(done: JobEstimate, shop: Shop) -> Iterator[Working]:
    """Yield the billed quantities of each use of material, on the bases that apply to it."""
    billing = shop.billing
    for use in done.uses:
        if use.size is not None:
            yield from _sized(use, use.size, billing)
        if use.footage is not None:
            yield _run(use, billing)
        elif use.pointer == "/glazing/spacer":
            spacer = SupplyUse("perimeter_foot", Fraction(1), "-", covers="package")
            yield _supply(use, spacer, done, billing)
        elif use.component == "hardware" and use.pointer.startswith("/frames/"):
            yield from _joined(use, done, shop)
        elif (supply := _asked(use, done)) is not None:
            yield _supply(use, supply, done, billing)


def measured(basis: str, size: Size, billing: Billing) -> _Formula:
    """Return the billed quantity of a rectangle on a basis that fees or sheets are measured by."""
    sides: dict[str, Value] = {"width": size.width, "height": size.height}
    if basis == "united_inch":
        if billing.united_inches == "sides":
            return "up(width, 1) + up(height, 1)", sides
        return "up(width + height, 1)", sides
    if basis == "square_foot":
        steps = {"step": billing.square_foot_step, "minimum": billing.square_foot_minimum}
        return "max(up(width * height / 144, step), minimum)", {**sides, **steps}
    if basis == "perimeter_foot":
        step: Value = billing.perimeter_foot_step
        return "up(2 * (width + height) / 12, step)", {**sides, "step": step}
    return "pieces", {"pieces": 1}


def _sized(use: Use, size: Size, billing: Billing) -> Iterator[Working]:
    where = f"materials{use.pointer}"
    for basis in ("united_inch", "square_foot", "perimeter_foot"):
        formula, inputs = measured(basis, size, billing)
        yield Working(f"{where}/{basis}", formula, inputs, use.quantity(basis, billing))
    if not isinstance(use.item, Board | Glazing):
        return
    shares: dict[str, Value] = {f"share_{n}": s for n, s in enumerate(billing.sheet_shares)}
    by_yield = billing.sheet_share_by == "yield"
    found = yielding_sheet(use.item, size, use.kerf) if by_yield else None
    if found:
        formula = f"first(1 / pieces_from_sheet, {', '.join(shares)})"
        inputs = {"pieces_from_sheet": found[1], **shares}
        yield Working(f"{where}/sheet", formula, inputs, use.quantity("sheet", billing))
        return
    # The first share that is sold and large enough; or the sheets that cover it.
    sheet = stock_sheet(use.item, size)
    of = sheet or use.item.by_area[-1]
    sides: dict[str, Value] = {"width": size.width, "height": size.height}
    sides |= {"sheet_width": of.width, "sheet_height": of.height}
    part = "width * height / (sheet_width * sheet_height)"
    formula, inputs = f"first({part}, {', '.join(shares)})", sides | shares
    if sheet is None:
        formula, inputs = _covering(of, size, turned=not use.item.grain), sides
    yield Working(f"{where}/sheet", formula, inputs, use.quantity("sheet", billing))


def _covering(sheet: Size, size: Size, *, turned: bool) -> str:
    """Return the formula of the sheets that cover a piece side by side, the way that takes less."""
    across, down = "sheet_width", "sheet_height"
    straight = covering_sheets(sheet, size, turned=False)
    if turned and covering_sheets(sheet, size, turned=True) < straight:
        across, down = down, across
    return f"up(width / {across}, 1) * up(height / {down}, 1)"


def _run(use: Use, billing: Billing) -> Working:
    inputs: dict[str, Value] = {"run": use.footage or 0, "step": billing.linear_foot_step}
    formula = "up(run / 12, step)"
    if isinstance(use.item, Moulding):
        formula = f"max({formula}, minimum)"
        inputs["minimum"] = billing.linear_foot_minimum
    feet = use.quantity("linear_foot", billing)
    return Working(f"materials{use.pointer}/linear_foot", formula, inputs, feet)


def _asked(use: Use, done: JobEstimate) -> SupplyUse | None:
    """Return the method's entry that a use of supplies came from, or None."""
    methods: Sequence[tuple[str, tuple[SupplyUse, ...]]] = [
        *([("/mounting/method", done.job.mounting.uses)] if done.job.mounting else []),
        *((f"/finishing/{n}", method.uses) for n, method in enumerate(done.job.finishing)),
    ]
    for pointer, asked in methods:
        for each in asked:
            role = use.item.role if isinstance(use.item, Hardware) else ""
            named = each.item == use.item.code or bool(role and each.role == role)
            if pointer == use.pointer and named and _explained(each, use):
                return each
    return None


def _joined(use: Use, done: JobEstimate, shop: Shop) -> Iterator[Working]:
    """Yield the quantity of corner angles, springs and the like, from the frame's sides."""
    frame = done.sizes.frames[int(use.pointer.removeprefix("/frames/"))]
    where, sides = f"materials{use.pointer}/{use.item.code}/piece", frame.inner_sides()
    for asked in shop.joined_with(frame.frame.moulding.material):
        inputs: dict[str, Value] = {"per_unit": asked.per_unit}
        if asked.item != use.item.code or use.pieces != joined_pieces(asked, frame):
            continue
        if asked.measure == "frame":
            yield Working(where, "per_unit", inputs, use.pieces)
        elif asked.measure == "corner":
            inputs["corners"] = frame.frame.sides
            yield Working(where, "corners * per_unit", inputs, use.pieces)
        else:
            inputs |= {"least": asked.least, "many": len(sides) // 2}
            inputs |= {"side_1": sides[0], "side_2": sides[1]}
            feet = "(max(up(side_1 / 12, 1), least) + max(up(side_2 / 12, 1), least))"
            yield Working(where, f"many * {feet} * per_unit", inputs, use.pieces)
        return


def _explained(supply: SupplyUse, use: Use) -> bool:
    """Return True if the quantity follows from a measure, or from the number of openings."""
    if supply.measure == "piece":
        return use.openings > 0
    if supply.measure == "wire_foot" and not supply.per_unit:
        return False
    return use.area is not None if supply.measure == "square_foot" else use.feet is not None


def _supply(use: Use, supply: SupplyUse, done: JobEstimate, billing: Billing) -> Working:
    """Return the working of supplies, by the measure of what they cover."""
    where = f"materials{use.pointer}/{use.item.code}"
    inputs: dict[str, Value] = {"per_unit": supply.per_unit}
    if supply.measure == "piece":
        inputs["openings"] = use.openings
        return Working(f"{where}/piece", "openings * per_unit", inputs, use.pieces)
    basis, step = "linear_foot", billing.linear_foot_step
    if supply.measure == "square_foot":
        basis, step = "square_foot", billing.square_foot_step
    inputs["step"] = step
    if supply.measure == "wire_foot":
        length: Value = (use.feet or Fraction(0)) * 12 / supply.per_unit
        formula, inputs["wire"] = "up(wire / 12 * per_unit, step)", length
    else:
        component = "mounting" if use.pointer == "/mounting/method" else "finishing"
        over, measured = _measure(supply, covered(supply, component, done.job, done.sizes))
        formula, inputs = f"up({over} * per_unit, step)", inputs | measured
    return Working(f"{where}/{basis}", formula, inputs, use.quantity(basis, billing))


def _measure(supply: SupplyUse, over: Covered) -> _Formula:
    """Return the measure of all that a supply covers, in feet or square feet."""
    (one, per), parts = _SUPPLY_MEASURES[supply.measure], []
    inputs: dict[str, Value] = {}
    for at, (size, many) in enumerate(over):
        mark = f"_{at}" if len(over) > 1 else ""
        parts.append(f"many{mark} * {one}".format(n=mark) if many > 1 else one.format(n=mark))
        inputs |= {f"width{mark}": size.width} | ({f"many{mark}": many} if many > 1 else {})
        inputs |= {f"height{mark}": size.height} if "height" in one else {}
    return (parts[0] if len(parts) == 1 else f"({' + '.join(parts)})") + f" / {per}", inputs
