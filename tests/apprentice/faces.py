"""Work on a mat's face while the board is whole: grooves and ruled lines, seen from the front."""

from __future__ import annotations

from typing import Any

from tests.apprentice.bench import Bench, Part, need
from tests.apprentice.lines import line
from tests.apprentice.readings import Reading

TOOLS = {"Groove": "V-groove cutter", "Rule": "ruling pen"}


def _round(bench: Bench, part: Part, window: int, verb: str, tool: str, **more: Any) -> None:
    bench.before_glass()
    need(tool == TOOLS[verb], f"{verb} with {tool}")
    need(part.sized() and part.material == "mat board", f"{part.name} is not ready")
    need(part.lies == "face up", "the face must be up")
    need("windows" not in part.facts and part.fixed_to is None, "the board is not whole")
    part.outlines.setdefault((verb, window), []).append(more)


def _words(verb: str) -> None:
    """Teach the words for one kind of outline in its three shapes."""
    start = f"{verb} <part:part><each>, window <window:number>: "

    @line(
        f"{start}top <top:figure>, right <right:figure>, bottom <bottom:figure>, left "
        "<left:figure>, <tool:text>."
    )
    def rectangle(bench: Bench, part: Part, window: int, tool: str, **sides: Reading) -> None:
        _round(bench, part, window, verb, tool, **sides)

    @line(
        f"{start}ellipse, centre <x:figure> from the left, <y:figure> from the top, axis across "
        "<wide:figure>, axis down <high:figure>, <tool:text>."
    )
    def ellipse(bench: Bench, part: Part, window: int, tool: str, **more: Reading) -> None:
        _round(bench, part, window, verb, tool, **more)

    @line(
        f"{start}arch, centre line <x:figure> from the left, spring line <y:figure> from the top, "
        "radius <radius:figure>, foot <foot:figure> from the top, <tool:text>."
    )
    def arch(bench: Bench, part: Part, window: int, tool: str, **more: Reading) -> None:
        _round(bench, part, window, verb, tool, **more)


for _verb in TOOLS:
    _words(_verb)
