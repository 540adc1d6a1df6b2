"""From a chosen pattern to real cuts: sizes without kerf, and which piece is where."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.cutting.master import Pattern
from service.domain.cutting.plan import Axis, Cut, Fate, Node, Part, Placement, Rect
from service.domain.cutting.sheet_kinds import Block, Sheets
from service.domain.cutting.sheet_layout import Laid, Layout, Layouts, Parted, scored_blocks
from service.domain.cutting.stock import SheetPiece, SheetRules


class Copies:
    """The pieces of each kind that are still to be given a place, one copy at a time."""

    def __init__(self, alike: Sequence[Sequence[SheetPiece]]) -> None:
        self._waiting = [
            [(piece, copy) for piece in reversed(kind) for copy in range(piece.quantity, 0, -1)]
            for kind in alike
        ]

    def take(self, kind: int) -> tuple[SheetPiece, int]:
        """The next piece of a kind and its copy, counted from 1."""
        return self._waiting[kind].pop()

    def left(self) -> dict[str, int]:
        """How many of each piece have no place."""
        counts: dict[str, int] = {}
        for kind in self._waiting:
            for piece, _ in reversed(kind):
                counts[piece.key] = counts.get(piece.key, 0) + 1
        return counts


def draw(
    sheets: Sheets, pattern: Pattern, size: tuple[int, int], copies: Copies, rules: SheetRules
) -> Node:
    """The cut tree of one sheet, in real lengths, its pieces taken from `copies`."""
    blocks = [pattern.form] if isinstance(pattern.form, Block) else []
    layout = scored_blocks(Layouts(sheets), pattern.stock, blocks).layout
    return _Pen(sheets.unit, copies, rules).node(layout, Rect(0, 0, *size))


class _Pen:
    def __init__(self, unit: int, copies: Copies, rules: SheetRules) -> None:
        self.unit, self.copies, self.rules = unit, copies, rules

    def node(self, layout: Layout, rect: Rect) -> Node:
        if isinstance(layout, Laid):
            return self._piece(layout, rect)
        if not isinstance(layout, Parted):
            keep = self.rules.worth_keeping(rect.w, rect.h)
            return Part(rect, Fate.KEEP if keep else Fate.WASTE)
        at = layout.at * self.unit - self.rules.kerf
        past = at + self.rules.kerf
        if layout.axis is Axis.X:
            first = Rect(rect.x, rect.y, at, rect.h)
            second = Rect(rect.x + past, rect.y, rect.w - past, rect.h)
        else:
            first = Rect(rect.x, rect.y, rect.w, at)
            second = Rect(rect.x, rect.y + past, rect.w, rect.h - past)
        some = second.w > 0 and second.h > 0
        return Cut(
            rect,
            layout.axis,
            at,
            self.node(layout.first, first),
            self.node(layout.second, second) if some else None,
        )

    def _piece(self, laid: Laid, rect: Rect) -> Part:
        piece, copy = self.copies.take(laid.kind)
        rotated = (rect.w, rect.h) != (piece.width, piece.height)
        placed = Placement(piece.key, copy, rect.x, rect.y, rect.w, rect.h, rotated)
        return Part(rect, Fate.PIECE, placed)
