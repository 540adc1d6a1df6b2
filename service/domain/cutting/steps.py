"""A plan as steps a person can follow at the bench: what to set, what to cut, what falls off.

A sheet is cut across first: where its tree allows either order, the cuts across the longer side
come before the cuts along it, since they make it small enough to handle. All the cuts of a part
that measure from the same edge are made in a row, each with its size set on the arm, so that equal
ones keep their setting; then the parts are taken up one by one. Parts are named A, B, C ... as they
come off; pieces, waste and offcuts to keep are said to be so.

Cautions of the trade for whoever prints this: glass is cut with eye protection and handled with
gloves; a saw's blade has stopped before an offcut is taken away.
"""

from __future__ import annotations

from collections import deque
from enum import StrEnum

from service.domain.cutting.plan import Axis, Cut, Fate, Node, Part, Rect, SheetUse, StickUse
from service.domain.cutting.stock import StickRules
from service.domain.value import dataclass


class Outcome(StrEnum):
    """What a part that comes off a cut is."""

    PIECE = "piece"
    KEEP = "keep"
    WASTE = "waste"
    PART = "part"


@dataclass(frozen=True, slots=True)
class Fallen:
    """What comes off: a finished piece (its key and copy), waste, an offcut, or a part to cut on.

    `label` is the name chalked on it: a letter for a part, the piece's key and copy for a piece.
    """

    outcome: Outcome
    label: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One cut: take `take`, measure `setting` along `axis` from its left or lower edge, and cut.

    Attributes:
        number: from 1.
        take: which part is on the bench ("sheet" for the whole).
        axis: X where the arm is set across the width, Y where along the height.
        setting: the size to set on the arm.
        kerf: what the cut takes beyond the setting.
        falls: what is as long as the setting.
        rests: what is left past the cut; nothing where the kerf takes all of it.
    """

    number: int
    take: str
    axis: Axis
    setting: int
    kerf: int
    falls: Fallen
    rests: Fallen | None


@dataclass(frozen=True, slots=True)
class StickStep:
    """One cut of a stick: `setting` from the end last cut; what falls off, and what is left."""

    number: int
    setting: int
    kerf: int
    falls: Fallen
    left: int


def sheet_steps(use: SheetUse) -> tuple[SheetStep, ...]:
    """The cuts of one sheet in the order they are made."""
    return _Bench(use).steps()


class _Bench:
    """Names parts as they come off and lists the steps."""

    def __init__(self, use: SheetUse) -> None:
        self._use = use
        self._named = 0
        self._steps: list[SheetStep] = []

    def steps(self) -> tuple[SheetStep, ...]:
        if self._use.trim:
            self._trim()
        waiting: deque[tuple[Node, str]] = deque(
            [(in_a_row(across_first(self._use.root)), "sheet")]
        )
        while waiting:
            node, label = waiting.popleft()
            if isinstance(node, Part):
                continue
            # Parts of this one are finished before what waits on the bench is taken up.
            waiting.extendleft(reversed(self._run(node, label)))
        return tuple(self._steps)

    def _trim(self) -> None:
        """All four edges: the near ones off at the trim, the far ones by the size that is left."""
        kerf, off = self._use.trim_kerf, self._use.trim - self._use.trim_kerf
        w, h = self._use.width, self._use.height
        for axis in (Axis.X, Axis.Y):
            for far in (False, True):
                if axis is Axis.X:
                    w -= self._use.trim
                    waste = Fallen(Outcome.WASTE, "trim", off, h)
                else:
                    h -= self._use.trim
                    waste = Fallen(Outcome.WASTE, "trim", w, off)
                left = Fallen(Outcome.PART, "sheet", w, h)
                setting = (w if axis is Axis.X else h) if far else off
                falls, rests = (left, waste if off else None) if far else (waste, left)
                number = len(self._steps) + 1
                self._steps.append(SheetStep(number, "sheet", axis, setting, kerf, falls, rests))

    def _run(self, cut: Cut, label: str) -> list[tuple[Node, str]]:
        """All cuts of one part along the same axis, one after another; what is to be cut on."""
        fresh: list[tuple[Node, str]] = []
        axis = cut.axis
        node: Node | None = cut
        while isinstance(node, Cut) and node.axis is axis:
            falls = self._fallen(node.first)
            # What is left keeps the part's name while it goes on being cut the same way.
            same = isinstance(node.second, Cut) and node.second.axis is axis
            rests = self._fallen(node.second, label if same else "") if node.second else None
            self._steps.append(
                SheetStep(len(self._steps) + 1, label, axis, node.at, _kerf(node), falls, rests)
            )
            fresh.append((node.first, falls.label))
            if not same and node.second is not None and rests is not None:
                fresh.append((node.second, rests.label))
            node = node.second
        return fresh

    def _fallen(self, node: Node, label: str = "") -> Fallen:
        rect = node.rect
        if isinstance(node, Cut):
            return Fallen(Outcome.PART, label or self._name(), rect.w, rect.h)
        if node.placement is not None:
            name = f"{node.placement.piece} #{node.placement.copy}"
            return Fallen(Outcome.PIECE, name, rect.w, rect.h)
        outcome = Outcome.KEEP if node.fate is Fate.KEEP else Outcome.WASTE
        return Fallen(outcome, outcome.value, rect.w, rect.h)

    def _name(self) -> str:
        number, letters = self._named, ""
        self._named += 1
        while True:
            letters = chr(ord("A") + number % 26) + letters
            number = number // 26 - 1
            if number < 0:
                return letters


def _kerf(cut: Cut) -> int:
    whole = cut.rect.w if cut.axis is Axis.X else cut.rect.h
    if cut.second is None:
        return whole - cut.at
    rest = cut.second.rect.w if cut.axis is Axis.X else cut.second.rect.h
    return whole - cut.at - rest


def across_first(node: Node) -> Node:
    """The same parts, but cut across the longer side first wherever both orders end the same.

    Two cuts cross freely where a part is cut along its length and both halves are then cut across
    at the same place; the order can be turned round without moving any part.
    """
    if isinstance(node, Part):
        return node
    first = across_first(node.first)
    second = None if node.second is None else across_first(node.second)
    node = Cut(node.rect, node.axis, node.at, first, second)
    along = Axis.Y if node.rect.w >= node.rect.h else Axis.X
    return _turned(node) if node.axis is along else node


def _turned(cut: Cut) -> Cut:
    """A crossing cut the other way round; the same cut where its halves do not cross it."""
    a, b = cut.first, cut.second
    if not isinstance(a, Cut) or not isinstance(b, Cut):
        return cut
    if a.axis is cut.axis or b.axis is cut.axis or a.at != b.at:
        return cut
    if a.second is None or b.second is None:
        return cut
    low = Cut(_around(a.first.rect, b.first.rect), cut.axis, cut.at, a.first, b.first)
    high = Cut(_around(a.second.rect, b.second.rect), cut.axis, cut.at, a.second, b.second)
    return Cut(cut.rect, a.axis, a.at, low, high)


def in_a_row(node: Node) -> Node:
    """The same parts, but every one that is cut off is whole as far as this axis goes.

    Two pieces that come off together and are then parted along the same axis are cut off one by one
    instead: as many cuts, the kerf where it was, and equal pieces keep the setting of the arm.
    """
    if isinstance(node, Part):
        return node
    axis = node.axis
    while isinstance(node.first, Cut) and node.first.axis is axis and node.first.second is not None:
        inner, middle = node.first, node.first.second
        size = middle.rect.w if axis is Axis.X else middle.rect.h
        rest = Cut(_from(node.rect, middle.rect, axis), axis, size, middle, node.second)
        node = Cut(node.rect, axis, inner.at, inner.first, rest)
    second = None if node.second is None else in_a_row(node.second)
    return Cut(node.rect, axis, node.at, in_a_row(node.first), second)


def _from(whole: Rect, part: Rect, axis: Axis) -> Rect:
    """What of a rectangle is left from the beginning of a part of it on."""
    if axis is Axis.X:
        return Rect(part.x, whole.y, whole.x + whole.w - part.x, whole.h)
    return Rect(whole.x, part.y, whole.w, whole.y + whole.h - part.y)


def _around(a: Rect, b: Rect) -> Rect:
    x, y = min(a.x, b.x), min(a.y, b.y)
    return Rect(x, y, max(a.x + a.w, b.x + b.w) - x, max(a.y + a.h, b.y + b.h) - y)


def stick_steps(use: StickUse, rules: StickRules) -> tuple[StickStep, ...]:
    """The cuts of one stick: the head trim where there is one, then rail by rail.

    Settings are from the end last cut. The step of the last rail says what is left past its cut;
    where nothing is, no cut is made for it and its step has a kerf of 0.
    """
    steps: list[StickStep] = []
    if rules.head_trim:
        trim = Fallen(Outcome.WASTE, "trim", rules.head_trim, 0)
        steps.append(StickStep(1, rules.head_trim, 0, trim, use.length - rules.head_trim))
    for rail in use.placements:
        end = rail.start + rail.length
        kerf = min(rules.kerf, use.length - end)
        fallen = Fallen(Outcome.PIECE, f"{rail.piece} #{rail.copy}", rail.length, 0)
        left = use.length - end - kerf
        steps.append(StickStep(len(steps) + 1, rail.length, kerf, fallen, left))
    return tuple(steps)
