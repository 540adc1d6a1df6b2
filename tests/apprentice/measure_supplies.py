"""Counts the supplies and the hardware that the paper asks for, against the shop's methods."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from tests.apprentice.bench import Bench
from tests.apprentice.hanging import wire
from tests.apprentice.order import Order, Size, sides_of, up
from tests.apprentice.readings import MM

FOOT = 12 * MM["in"]
HUNDREDTH = Fraction(1, 100)


def faults(bench: Bench, order: Order) -> Iterator[str]:
    """Yield what the paper asks for too much or too little of."""
    wanted = list(_wanted(bench, order))
    told = [_read(text) for text in bench.paper.supplies]
    supplies = [(code, unit, many) for code, unit, many in wanted if code]
    if sorted(code for code, _, _ in supplies) != sorted(code for code, _, _ in told):
        yield f"supplies {told}, not {supplies}"
    else:
        for (code, unit, many), (_, printed, figure) in zip(
            sorted(supplies), sorted(told), strict=True
        ):
            if unit != printed or abs(figure - many) > HUNDREDTH / 2:
                yield f"{float(figure):g} {printed} of {code}, not {float(many):g} {unit}"
    yield from _hardware(bench, [many for code, _, many in wanted if not code])


def _hardware(bench: Bench, asked: list[Fraction]) -> Iterator[str]:
    printed = []
    for text in bench.paper.hardware:
        found = re.fullmatch(
            r"≈?([\d.]+) (?:x|ft) (\S+) .*: rated ([\d.]+) kg, asked for ≈?([\d.]+) kg x "
            r"factor ([\d.]+) = ≈?([\d.]+) kg(; NOT ENOUGH, .*)?",
            text,
        )
        if found is None:
            yield f"not understood: {text}"
            continue
        printed.append(Fraction(found[1]))
        each, factor, load = Fraction(found[4]), Fraction(found[5]), Fraction(found[6])
        if abs(each * factor - load) > factor * HUNDREDTH / 2 + Fraction(1, 20):
            yield f"the load is not the weight by the factor: {text}"
        if (Fraction(found[3]) + Fraction(1, 20) < load) != bool(found[7]) and not _close(found):
            yield f"does it carry? {text}"
    alike = len(printed) == len(asked) and all(
        abs(one - other) <= HUNDREDTH / 2
        for one, other in zip(sorted(printed), sorted(asked), strict=True)
    )
    if not alike:
        yield f"hardware {printed}, not {asked}"


def _close(found: re.Match[str]) -> bool:
    return abs(Fraction(found[3]) - Fraction(found[6])) <= Fraction(1, 10)


def _read(text: str) -> tuple[str, str, Fraction]:
    found = re.fullmatch(r"≈?([\d.]+) ?(ft|sq ft|) (\S+)(?: .*)?", text)
    if found is None:
        return text, "", Fraction(0)
    return found[3], found[2], Fraction(found[1])


def _wanted(bench: Bench, order: Order) -> Iterator[tuple[str, str, Fraction]]:
    """Yield item, unit and quantity; no item for hardware, which is chosen by weight."""
    job, shop = order.job, bench.shop
    code = job.get("mounting", {}).get("method")
    mounting = [m for m in shop["mounting"] if m["code"] == code]
    by_code = {method["code"]: method for method in shop["finishing"]}
    finishing = [by_code[code] for code in job.get("finishing", ())]
    for method in mounting:
        for use in method["uses"]:
            yield _use(bench, use, use["covers"] or "art", order)
    for method in finishing:
        for use in method["uses"]:
            yield _use(bench, use, use["covers"] or "outside", order)
    yield from _joined(bench, order)
    if order.spacer and order.package:
        feet = 2 * sum(order.package) / FOOT * order.quantity
        spacers = [
            code
            for code, item in bench.items.items()
            if item.get("group") == "spacer" and item.get("thickness") == order.spacer
        ]
        yield spacers[0], "ft", feet


def _joined(bench: Bench, order: Order) -> Iterator[tuple[str, str, Fraction]]:
    """Yield what frames are joined and closed with, by the material of each moulding."""
    for frame in order.frames:
        for each in bench.shop["joining"]:
            if each["material"].strip().lower() != frame.moulding["material"].strip().lower():
                continue
            for use in each["uses"]:
                many = {
                    "frame": Fraction(1),
                    "corner": Fraction(0 if frame.supply == "join" else frame.sides),
                    "side_foot": sum(max(up(s / FOOT), use["least"]) for s in sides_of(frame)),
                }[use["measure"]]
                if many:
                    yield use["item"], "", use["per_unit"] * many * order.quantity


def _use(
    bench: Bench, use: Mapping[str, Any], covers: str, order: Order
) -> tuple[str, str, Fraction]:
    per: Fraction = use["per_unit"] * order.quantity
    over = _covered(covers, order)
    if use["measure"] == "piece":
        return use["item"], "", per * len(over)
    if use["measure"] == "square_foot":
        return use["item"], "sq ft", per * sum(w * h for w, h in over) / FOOT**2
    if use["measure"] == "wire_foot":
        return use["item"], "ft", per * wire(bench, order)[0] / FOOT
    run = sum(2 * (w + h) if use["measure"] == "perimeter_foot" else w for w, h in over)
    return use["item"], "ft", per * run / FOOT


def _covered(covers: str, order: Order) -> list[Size]:
    if covers == "art":
        windows = len(order.art_places) or 1
        return order.arts if len(order.arts) > 1 else order.arts * windows
    if covers == "rabbet" and order.frames:
        return [order.frames[0].rabbet]
    if covers == "outside" or not order.frames:
        return [order.outside]
    return [order.frames[0].holds]
