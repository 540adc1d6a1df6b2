"""The words of a ticket's lines, and what each asks of the bench.

A pattern is the printed line with its figures left open: `<name:kind>`. `[…]` may be missing,
`<each>` is the batch, which a line must name; a line with `<every>` may leave it out, since it can
mean nothing but all. A line that fits no pattern is a failure, never passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tests.apprentice.readings import NUMBER

UNITS = "(?:in|mm|cm)"
KINDS = {
    "figure": f"{NUMBER} {UNITS}",
    "mark": NUMBER,
    "size": f"{NUMBER} x {NUMBER} {UNITS}",
    "part": r"[A-Z][^():]*? \(\d+\)",
    "parts": r"[A-Z][^():]*? \(\d+\)(?:, [A-Z][^():]*? \(\d+\))*",
    "frame": r"the frame|frame \d+",
    "contents": r"the package|the art|frame \d+",
    "number": r"\d+",
    "degrees": r"[\d.]+°",
    "side": "left|right|top|bottom",
    "across": "width|height",
    "side_up": "colour side down",
    "text": r".+?",
    "all": r".+",
}
Do = Callable[..., None]
TABLE: list[tuple[re.Pattern[str], dict[str, str], Do]] = []


def line(pattern: str) -> Callable[[Do], Do]:
    """Register what a line does; the names in the pattern are its arguments."""
    kinds: dict[str, str] = {}
    regex = ""
    for word in re.split(r"(<[^>]+>|\[|\])", pattern):
        if word in ("<each>", "<every>"):
            regex += rf"(?:, (?P<{word[1:-1]}>\d+) of each)?"
            kinds[word[1:-1]] = "batch"
        elif word in ("[", "]"):
            regex += "(?:" if word == "[" else ")?"
        elif word.startswith("<"):
            name, _, kind = word[1:-1].partition(":")
            kinds[name] = kind
            regex += f"(?P<{name}>{KINDS[kind]})"
        else:
            regex += re.escape(word)

    def register(do: Do) -> Do:
        TABLE.append((re.compile(regex), kinds, do))
        return do

    return register


def understood(text: str) -> tuple[Do, dict[str, str], dict[str, str | None]] | None:
    """Return what to do for a line, its arguments' kinds and texts; None for an unknown line.

    Two patterns may not fit one line.
    """
    fits: list[Any] = []
    for pattern, kinds, do in TABLE:
        found = pattern.fullmatch(text)
        if found:
            fits.append((do, kinds, found.groupdict()))
    if len(fits) > 1:
        raise ValueError(f"{len(fits)} readings of: {text}")
    return fits[0] if fits else None
