"""The apprentice at work: every line of a paper, literally, in its order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.apprentice import boards, faces, filling, finishing, glass, rails, under_mats, windows
from tests.apprentice.bench import Bench, Refused
from tests.apprentice.lines import understood
from tests.apprentice.paper import Paper

KNOWN = (boards, faces, windows, under_mats, glass, rails, filling, finishing)
"""The modules that teach the words; importing them fills the table."""


class CannotFollow(Exception):
    """The step and line at which the apprentice stopped, and why."""


def follow(paper: Paper, shop: Mapping[str, Any], items: Mapping[str, Any]) -> Bench:
    """Return the bench after the whole paper.

    Raises:
        CannotFollow: a line that is not understood, or that cannot be done as the bench stands.
    """
    try:
        bench = Bench(paper, shop, items)
    except Refused as refused:
        raise CannotFollow(f"pieces: {refused}") from refused
    for at, step in enumerate(paper.steps, start=1):
        where = f"step {step.number} ({step.work})"
        if step.number != at:
            raise CannotFollow(f"{where}: step {at} is missing")
        if not any(line.kind == "do" for line in step.lines):
            raise CannotFollow(f"{where}: nothing to do")
        for line in step.lines:
            try:
                _line(bench, line.kind, line.text)
            except (Refused, ValueError) as refused:
                raise CannotFollow(f"{where}: {line.text} -- {refused}") from refused
    return bench


def _line(bench: Bench, kind: str, text: str) -> None:
    if kind == "caution":
        return  # read, not done
    if "wrapped" in bench.facts:
        raise Refused("the work is wrapped")
    if kind == "set":
        bench.change(text)
        return
    found = understood(text)
    if found is None:
        raise Refused("not understood")
    do, kinds, texts = found
    for batch in ("each", "every"):
        if batch in kinds:
            many = texts.pop(batch) or ("1" if batch == "each" else bench.quantity)
            if int(many) != bench.quantity:
                raise Refused(f"for {many}, where {bench.quantity} are made")
    broken, last = bench.last
    do(bench, **{name: bench.argument(kinds[name], value) for name, value in texts.items()})
    if broken.startswith(("scribed", "first", "second", "scored")) and bench.last == (broken, last):
        raise Refused("a scribed line is broken at once")
