"""Small faults put into printed lines, one at a time; each that matters must be noticed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction

from tests.apprentice.paper import Line, Paper
from tests.apprentice.readings import NUMBER

_AFTER = "(?:(?<=left )|(?<=right )|(?<=top )|(?<=bottom ))"
_FIGURE = re.compile(rf"{NUMBER}(?= (?:in|mm|cm)\b| x )|{_AFTER}{NUMBER}")
_COUNT = re.compile(r"\b\d+(?= (?:of|corners|sides|spring|cut to size|passes)\b)|(?<=\()\d+(?=\))")
WORDS = {
    "face down": "face up",
    "face up": "face down",
    "slip sheet in": "slip sheet out",
    "slip sheet out": "slip sheet in",
    "guide off": "guide 1 in",
    "width": "height",
    "height": "width",
    "head bevel head": "head straight blade",
    "head straight blade": "head bevel head",
    "from the left": "from the right",
    "left:": "right:",
    "right:": "left:",
    "top:": "bottom:",
    "bottom:": "top:",
    "once": "twice",
    "points": "staples",
    "glue and pins": "screws",
    "45°": "30°",
    "22.5°": "45°",
    "blade depth standard board": "blade depth 3/16 in foam board",
    "blade depth 3/16 in foam board": "blade depth standard board",
    "wood blade": "non-ferrous blade",
    "non-ferrous blade": "wood blade",
}
READ_ONLY = re.compile(r".*: do not .*|Other work: .*")
"""Lines that ask for nothing that could be missed at the bench."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """A paper with one fault in it."""

    kind: str
    told: str
    paper: Paper


def mutants(paper: Paper, marks: str) -> Iterator[Mutant]:
    """Yield every mutant of a paper; `marks` is what a wrong figure is wrong by: "1/4" or "7"."""
    for at, step in enumerate(paper.steps):
        yield Mutant("missing step", f"{step.number} {step.work}", _without(paper, at))
        for place, line in enumerate(step.lines):
            if line.kind == "caution":
                continue
            if not READ_ONLY.fullmatch(line.text):
                yield Mutant("missing line", line.text, _without(paper, at, place))
            following = step.lines[place + 1 : place + 2]
            if line.kind == "set" and following and following[0].kind == "do":
                yield Mutant("set too late", line.text, _swapped(paper, at, place))
            for kind, text in _changed(line, marks):
                yield Mutant(kind, f"{line.text} -> {text}", _with(paper, at, place, text))


def step_swaps(paper: Paper) -> Iterator[Mutant]:
    """Yield the paper with two neighbouring steps in the wrong order; some may be in any order."""
    for at in range(len(paper.steps) - 1):
        other = deepcopy(paper)
        steps = other.steps
        steps[at], steps[at + 1] = steps[at + 1], steps[at]
        steps[at].number, steps[at + 1].number = steps[at + 1].number, steps[at].number
        told = f"{steps[at].work} before {steps[at + 1].work}"
        yield Mutant("swapped steps", told, other)


def line_swaps(paper: Paper) -> Iterator[Mutant]:
    """Yield the paper with two neighbouring lines in the wrong order; some may be in any order."""
    for at, step in enumerate(paper.steps):
        for place, (line, after) in enumerate(zip(step.lines, step.lines[1:], strict=False)):
            if line.kind == after.kind == "do":
                told = f"{after.text} | {line.text}"
                yield Mutant("swapped lines", told, _swapped(paper, at, place))


def _changed(line: Line, marks: str) -> Iterator[tuple[str, str]]:
    text = line.text
    for found in _FIGURE.finditer(text):
        yield "wrong figure", text[: found.start()] + _more(found[0], marks) + text[found.end() :]
    if line.kind == "do":
        for found in _COUNT.finditer(text):
            many = str(int(found[0]) + 1)
            yield "wrong number", text[: found.start()] + many + text[found.end() :]
    for word, other in WORDS.items():
        for found in re.finditer(re.escape(word), text):
            yield "wrong word", text[: found.start()] + other + text[found.end() :]
    if line.kind == "set" and "; " in text:
        each = text.split("; ")
        for place in range(len(each)):
            yield "missing setting", "; ".join(each[:place] + each[place + 1 :])


def _more(figure: str, marks: str) -> str:
    """Return a figure that is wrong by so much: 16 3/8 by 1/4 is 16 5/8."""
    about, number = ("≈", figure[1:]) if figure.startswith("≈") else ("", figure)
    if "/" not in marks and "/" not in number:
        whole, _, part = number.partition(".")
        return f"{about}{int(whole) + int(marks)}{'.' if part else ''}{part}"
    value = sum((Fraction(part) for part in number.split()), Fraction(marks))
    over, part = divmod(value, 1)
    shown = " ".join(str(each) for each in (over, part) if each)
    return about + shown


def _without(paper: Paper, at: int, place: int | None = None) -> Paper:
    other = deepcopy(paper)
    if place is not None:
        del other.steps[at].lines[place]
        return other
    del other.steps[at]
    for number, step in enumerate(other.steps, start=1):
        step.number = number
    return other


def _swapped(paper: Paper, at: int, place: int) -> Paper:
    other = deepcopy(paper)
    lines = other.steps[at].lines
    lines[place], lines[place + 1] = lines[place + 1], lines[place]
    return other


def _with(paper: Paper, at: int, place: int, text: str) -> Paper:
    other = deepcopy(paper)
    other.steps[at].lines[place].text = text
    return other
