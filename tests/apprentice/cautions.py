"""Which warnings must stand beside which lines: spelt out, or by the step that spells them out.

Common practice, no source; dust of fibreboard counts as that of hardwood (HSE EH40).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from tests.apprentice.bench import Bench

MUST: tuple[tuple[str, str, str], ...] = (
    (r"Oil and scribe ", "glass", "eye protection"),
    (r"(Score|Snap) ", "snap", "eye protection"),
    (r"Saw Glazing ", "chips", "eye protection"),
    (r"(Saw|Chop) |Turn Glazing .* over", "trained", "trained"),
    (r"Saw (Rails|Backing|Mount)", "saw", "eye and ear protection"),
    (r"Chop Rails", "chopper", "guard"),
    (r"(Cut|Groove) (Top mat|Mat|Mount|Backing)", "blade", "away from the body"),
    (r"Fix .*: points\.", "points", "point driver"),
    (r"Join .*glue and pins", "joiner", "joiner"),
    (r"Seal .*: .*foil", "foil", "sharp edges"),
    (r"Clean .*: both faces", "solvents", "ventilate"),
    (r"(Screw on|Set) the hangers", "hanging", "wood"),
    (r"Measure the art", "pests", "Insects"),
)
"""The line, the caution's short name, and words of it that must be spelt out once."""


def faults(bench: Bench) -> Iterator[str]:
    """Yield each line that stands without its warning in the same step."""
    told: dict[str, int] = {}
    for step in bench.paper.steps:
        warned = " ".join(f"! {line.text}" for line in step.lines if line.kind == "caution")
        for _, name, words in MUST:
            if words in warned:
                told.setdefault(name, step.number)
        for pattern, name, words in MUST:
            if not any(re.match(pattern, line.text) for line in step.lines if line.kind == "do"):
                continue
            if words not in warned and f"! {name}: step {told.get(name)}" not in warned:
                yield f"step {step.number} ({step.work}) does not warn: {name}"
    wood = {"wood", "composite"}
    for step in bench.paper.steps:
        texts = " ".join(line.text for line in step.lines)
        sawn = [p for p in bench.parts.values() if f"Saw {p.name} ({p.number})" in texts]
        dusty = any(p.material in wood | {"wood panel"} for p in sawn)
        if dusty and not re.search(r"dust mask|dust: step", texts):
            yield f"step {step.number} does not warn of dust"
        if any(p.material == "metal" for p in sawn) and not re.search(
            r"Sawing aluminium|metal saw: step", texts
        ):
            yield f"step {step.number} does not warn of hot chips"
