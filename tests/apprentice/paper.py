"""A ticket as it lies on the bench: sections, pieces, steps and their lines, read from its text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

_STEP = re.compile(r" {0,2}(\d+)  \[ \] (.+), (≈?[\d.]+) min")
_PIECE = re.compile(r" {0,2}(\d+)  (.+)")
_PIECE_TEXT = re.compile(
    r"(?P<name>.+?), (?P<item>\S+) (?P<told>.*): (?P<many>\d+) of (?P<size>.+)"
)
_SECTION = re.compile(r"([A-Z]+) -+")

HEAD = (
    "Quantity",
    "Package",
    "Rabbet",
    "Frame sight",
    "Outside",
    "Depth",
    "Weight",
    "Set-ups",
    "Time",
)


@dataclass(slots=True)
class Line:
    """One line of a step: what to set, what to do, or what to mind."""

    kind: str
    text: str


@dataclass(slots=True)
class Step:
    """One step: its number, its work, its minutes, its lines in order."""

    number: int
    work: str
    minutes: str
    lines: list[Line] = field(default_factory=list)


@dataclass(slots=True)
class Piece:
    """One row of the list of pieces."""

    number: int
    name: str
    item: str
    quantity: int
    size: str
    remarks: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Paper:
    """All that is printed; `head` by the word in front of each figure."""

    head: dict[str, str] = field(default_factory=dict)
    pieces: list[Piece] = field(default_factory=list)
    windows: list[str] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    hardware: list[str] = field(default_factory=list)
    supplies: list[str] = field(default_factory=list)
    mind: list[str] = field(default_factory=list)


class Unreadable(Exception):
    """Something is printed that the apprentice cannot read."""


def read_terminal(text: str) -> Paper:
    """Return the paper that the terminal prints.

    Raises:
        Unreadable: a part of the ticket has another form.
    """
    paper, section = Paper(), ""
    for block in _joined(text.splitlines()):
        found = _SECTION.fullmatch(block)
        if found:
            section = found[1]
        elif section:
            _READERS[section](paper, block)
        elif block[:12].strip() in HEAD:
            paper.head[block[:12].strip()] = block[12:].strip()
    if not paper.steps or not paper.head:
        raise Unreadable("no steps, or no head")
    return paper


def _joined(lines: Iterable[str]) -> list[str]:
    """Return lines with what was wrapped put back behind the line that it belongs to."""
    blocks: list[str] = []
    ruled = False
    for line in lines:
        if not line.strip():
            continue
        ruled = ruled or line.startswith("===")
        new = not ruled or not blocks or _begins(line, blocks[-1])
        if new:
            blocks.append(line)
        else:
            gap = "" if re.search(r"\w-$", blocks[-1]) else " "
            blocks[-1] += gap + line.strip()
    return blocks


def _begins(line: str, before: str) -> bool:
    if not line.startswith("   "):
        return True
    stripped = line.strip()
    if line.startswith("    "):
        return (
            line.startswith("     ")
            and not line.startswith("      ")
            and (stripped.startswith(("- ", "! ", "Set: ")) and not before.startswith("  - "))
        )
    return bool(_STEP.match(line) or _PIECE.match(line))


def _piece(paper: Paper, block: str) -> None:
    if block.startswith("     - "):
        paper.pieces[-1].remarks.append(block[7:])
        return
    found = _PIECE.fullmatch(block)
    told = _PIECE_TEXT.fullmatch(found[2]) if found else None
    if found is None or told is None:
        raise Unreadable(block)
    if told["name"].startswith(("Rails", "Fillet")):
        name, item = _rod_name(found[2])
    else:
        name, item = told["name"], told["item"]
    paper.pieces.append(Piece(int(found[1]), name, item, int(told["many"]), told["size"]))


def _rod_name(text: str) -> tuple[str, str]:
    sides = re.match(r"(.+?, (?:top and bottom|left and right|all sides)), (\S+) ", text)
    if sides is None:
        raise Unreadable(text)
    return sides[1], sides[2]


def _step(paper: Paper, block: str) -> None:
    found = _STEP.fullmatch(block)
    if found:
        paper.steps.append(Step(int(found[1]), found[2], found[3]))
        return
    text = block.strip()
    for kind, lead in (("do", "- "), ("set", "Set: "), ("caution", "! ")):
        if text.startswith(lead):
            paper.steps[-1].lines.append(Line(kind, text[len(lead) :]))
            return
    raise Unreadable(block)


def _listed(paper: Paper, name: str, block: str) -> None:
    if not block.startswith("  - "):
        raise Unreadable(block)
    getattr(paper, name).append(block[4:])


_READERS = {
    "PIECES": _piece,
    "WINDOWS": lambda paper, block: paper.windows.append(block),
    "STEPS": _step,
    "HARDWARE": lambda paper, block: _listed(paper, "hardware", block),
    "SUPPLIES": lambda paper, block: _listed(paper, "supplies", block),
    "MIND": lambda paper, block: _listed(paper, "mind", block),
}
