"""The steps of a card: the cuts of windows as rows of a table, the rest line by line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from service.printing.language.phrases import told
from service.printing.language.spoken import _, spoken
from service.printing.parts.words import Document, clean, mark
from service.printing.tickets.rows import LONGEST_STEP, StepRow, set_line, step_rows, unit

WAY = {"guide": "", "line": "line ", "straightedge": "edge "}


@dataclass(frozen=True, slots=True)
class CutRow:
    """One cut of a window; `changed` names what is set for it: guide, start, stop."""

    window: str
    side: str
    guide: str
    start: str
    stop: str
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardLine:
    """A line of a step, or the cuts of one mat, or places for windows, under what they share."""

    kind: str
    text: str
    cuts: tuple[CutRow, ...] = ()
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CardStep:
    """A step of the card; `again` refers to cautions that an earlier step spelt out."""

    number: str
    work: str
    minutes: str
    again: str
    lines: tuple[CardLine, ...]


def card_steps(ticket: Document) -> Iterator[CardStep]:
    """Yield every step."""
    for step, row in zip(ticket["steps"], step_rows(ticket), strict=True):
        lines = _lines(step, unit(ticket)) if step.get("parts") else _told(row, "set", "do")
        yield CardStep(
            number=row.number,
            work=row.work,
            minutes=row.minutes,
            again=" ".join(line.text for line in _told(row, "again")),
            lines=(*_gathered(lines), *_told(row, "caution")),
        )


def _told(row: StepRow, *kinds: str) -> Iterator[CardLine]:
    yield from (CardLine(line.kind, line.text) for line in row.lines if line.kind in kinds)


def _lines(step: Document, inches: str) -> Iterator[CardLine]:
    """Yield what is set and done, every cut of a window as a row."""
    cuts = list(step["cuts"])
    for part in step["parts"]:
        changes = list(part["changes"])
        for line in part["lines"]:
            cut = cuts[0] if cuts else None
            mat, found, _ = line.partition(
                f", window {cut['window']}, {cut['side']}: " if cut else "\n"
            )
            shown = dict(_changed(cut, changes)) if cut and found else {}
            rest = [change for change in changes if change["what"] not in shown]
            if rest:
                yield CardLine("set", set_line(rest, inches))
            if cut and found:
                yield CardLine("cuts", told(mat), (_row(cut, tuple(shown.values())),))
                del cuts[0]
            else:
                yield _place(clean(line, LONGEST_STEP))
            changes = []


def _changed(cut: Document, changes: list[Document]) -> Iterator[tuple[str, str]]:
    """Yield the changes that a row of a cut shows, each with its column."""
    ends = {
        "guide": ("guide", cut["setting"]),
        "start_stop": ("start", cut["start"]["distance"]),
        "end_stop": ("stop", cut["stop"]["distance"]),
    }
    for change in changes:
        column, at = ends.get(change["what"], ("", None))
        if at == change["to"]:
            yield change["what"], column


def _row(cut: Document, changed: tuple[str, ...]) -> CutRow:
    start, stop = cut["start"], cut["stop"]
    return CutRow(
        window=str(cut["window"]),
        side=_(cut["side"]),
        guide=_(WAY[cut["by"]]) + mark(cut["setting"]),
        start=f"{_(start['side'])} {mark(start['distance'])}",
        stop=f"{_(stop['side'])} {mark(stop['distance'])}",
        changed=changed,
    )


def _place(line: str) -> CardLine:
    """Return a line, or what it says of one window under what it shares with its neighbours."""
    shared, found, place = line.partition(", window ")
    if not found or not place[:1].isdigit() or spoken().sentences:
        return CardLine("do", told(line))
    return CardLine("places", shared, places=(f"window {place}",))


def _gathered(lines: Iterator[CardLine]) -> Iterator[CardLine]:
    """Yield the lines with the cuts of one mat together, and the places of several windows."""
    for (kind, text), same in groupby(lines, key=lambda line: (line.kind, line.text)):
        found = list(same)
        if kind == "cuts":
            yield CardLine(kind, text, cuts=tuple(cut for line in found for cut in line.cuts))
        elif kind == "places" and len(found) > 1:
            yield CardLine(kind, text, places=tuple(line.places[0] for line in found))
        elif kind == "places":
            yield CardLine("do", f"{text}, {found[0].places[0]}")
        else:
            yield from found
