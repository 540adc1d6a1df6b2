"""The golden jobs as requests, each with the shop, items and prices of its own."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tests.golden.case import Case
from tests.golden.frame_cases import FRAMES
from tests.golden.mat_cases import MATS
from tests.golden.test_whole_jobs import WHOLE

GOLDEN = tuple(
    replace(case, facts={name: round(fact, 6) for name, fact in case.facts.items()})
    for case in (*FRAMES, *MATS, WHOLE)
)
"""The cases, their weights and rates with the six decimals that an item or a rule may have."""


def golden_request(case: Case) -> dict[str, Any]:
    """The case as the document of a quote."""
    given, mats = case.given, int(case.given.get("mats", "0"))
    job: dict[str, Any] = {
        "label": case.name[:120],
        "artwork": _artwork(case),
        "presentation": "overlap" if mats else "full_bleed",
    }
    if mats:
        job["overlap"] = given.get("overlap", "0")
        top: dict[str, Any] = {"board": "BOARD"}
        if "fit_to" not in given:
            top["border"] = _sides(given["border"])
        under = [{"board": "BOARD", "reveal": each} for each in given.get("reveals", "").split()]
        job["mats"] = [top, *under]
    for name in ("fit_to", "bottom_weight"):
        if name in given:
            job[name] = given[name]
    if "glazing" in given:
        job["glazing"] = {"sheet": "GLAZING"}
    if "backing" in given:
        job["backing"] = {"board": "BACKING"}
    if "face" in given:
        job["frames"] = [{"moulding": "MOULDING", "sides": int(given.get("sides", "4"))}]
    return {"units": case.unit, "jobs": [job]}


def _artwork(case: Case) -> dict[str, str]:
    width, height = case.given["art"].split(" x ")
    unit = height.split(" ")[-1] if height.split(" ")[-1].isalpha() else ""
    if unit and not width.endswith(unit):
        width = f"{width} {unit}"
    return {
        "width": width,
        "height": height,
        "thickness": case.given.get("thickness", "0"),
    }


def _sides(text: str) -> Any:
    parts = text.split("/ ")
    return dict(zip(("top", "right", "bottom", "left"), parts, strict=True)) if parts[1:] else text
