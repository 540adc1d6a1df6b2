"""Reading a cutting plan as a person at the bench would: cut on paper what the steps say."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from fractions import Fraction
from typing import Any

Answer = dict[str, Any]


ROOT_2 = Fraction(Decimal(2).sqrt())
"""To 28 digits."""


def inches(length: dict[str, str]) -> Fraction:
    """A length of an answer, by its millimetres, which are exact."""
    return Fraction(length["mm"]) / Fraction("25.4")


def size(one: Answer) -> tuple[Fraction, Fraction]:
    return inches(one["width"]), inches(one["height"])


def cut_by_the_steps(use: Answer, kerf: Fraction) -> Counter[tuple[str, Fraction, Fraction]]:
    """Follow a sheet's steps; returns the pieces that come off, by label and size."""
    bench: dict[str, tuple[Fraction, Fraction]] = {"sheet": size(use)}
    made: Counter[tuple[str, Fraction, Fraction]] = Counter()
    if not use["steps"]:
        (only,) = use["placements"]
        made[(f"{only['piece']} #{only['copy']}", *bench["sheet"])] += 1
    for step in use["steps"]:
        wide, high = bench.pop(step["take"])
        setting = inches(step["setting"])
        if step["across"] == "width":
            parts = [(setting, high), (wide - setting - kerf, high)]
        else:
            parts = [(wide, setting), (wide, high - setting - kerf)]
        for told, part in zip((step["falls"], step["rests"]), parts, strict=True):
            if told is None:
                assert min(part) <= 0, "something is left that the step does not tell of"
                continue
            assert size(told) == part
            if told["outcome"] == "part":
                assert told["label"] not in bench
                bench[told["label"]] = part
            elif told["outcome"] == "piece":
                made[(told["label"], *part)] += 1
    assert bench == {}, "parts are left on the bench"
    return made


def check_sheet(use: Answer, kerf: Fraction) -> None:
    """The steps give just the placements; these lie on the sheet and apart from each other."""
    wide, high = size(use)
    told = Counter(
        (f"{p['piece']} #{p['copy']}", *size(p)) for p in use["placements"]
    )  # fmt: skip
    assert cut_by_the_steps(use, kerf) == told
    places = [
        (inches(p["x"]), inches(p["y"]), *size(p)) for p in (*use["placements"], *use["leftovers"])
    ]
    for n, (x, y, w, h) in enumerate(places):
        assert x >= 0 <= y
        assert x + w <= wide
        assert y + h <= high
        for x2, y2, w2, h2 in places[n + 1 :]:
            assert x + w <= x2 or x2 + w2 <= x or y + h <= y2 or y2 + h2 <= y


def check_stick(use: Answer, blade: Fraction, trim: Fraction) -> None:
    """Rails one after the other, at least blade times the root of 2 between two; ends trimmed."""
    kerf = blade * ROOT_2  # a blade at 45 degrees: plain geometry
    free = trim
    for rail in use["placements"]:
        assert inches(rail["start"]) >= free
        free = inches(rail["start"]) + inches(rail["length"]) + kerf
    assert free - kerf <= inches(use["length"]) - trim


def check_plan(plan: Answer) -> None:
    """Every piece is made, or named as unplaced; every sheet and stick is sound."""
    made: Counter[str] = Counter()
    for item in plan["items"]:
        for use in item["uses"]:
            made.update(p["piece"] for p in use["placements"])
            if item["kind"] == "sheet":
                check_sheet(use, inches(item["kerf"]))
            else:  # the demo shop's blade is 1/8 in, its end trim 1/2 in
                check_stick(use, Fraction(1, 8), Fraction(1, 2))
    missing = Counter({u["piece"]: u["quantity"] for u in plan["unplaced"]})
    for piece in plan["pieces"]:
        assert made[piece["piece"]] == piece["planned"]
        assert piece["planned"] + missing[piece["piece"]] == piece["quantity"]
