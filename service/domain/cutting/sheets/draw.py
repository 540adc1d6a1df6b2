"""From a chosen pattern to real cuts: sizes without kerf, and which piece is where."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.cutting.patterns.master import Pattern
from service.domain.cutting.plan import Axis, Cut, Fate, Node, Part, Placement, Rect
from service.domain.cutting.sheets.kinds import Block, Sheets
from service.domain.cutting.sheets.layout import Laid, Layout, Layouts, Parted, scored_blocks
from service.domain.cutting.sheets.tiles import Tile
from service.domain.cutting.stock import SheetPiece, SheetRules


class Copies:
    """The pieces of each kind that are still to be given a place, one copy at a time."""

    def __init__(self, alike: Sequence[Sequence[SheetPiece]], kinds: Sequence[Tile]) -> None:
        self.kinds = kinds
        self._waiting = [
            [(piece, copy) for piece in reversed(kind) for copy in range(piece.quantity, 0, -1)]
            for kind in alike
        ]

    def take(self, base: int) -> tuple[SheetPiece, int]:
        """The next of these equal pieces and its copy, counted from 1."""
        return self._waiting[base].pop()

    def left(self) -> dict[str, int]:
        """How many of each piece have no place."""
        counts: dict[str, int] = {}
        for kind in self._waiting:
            for piece, _ in reversed(kind):
                counts[piece.key] = counts.get(piece.key, 0) + 1
        return counts


def draw(sheets: Sheets, pattern: Pattern, rect: Rect, copies: Copies, rules: SheetRules) -> Node:
    """The cut tree of one sheet, in real lengths, its pieces taken from `copies`.

    `rect` is what trimming leaves of the sheet.
    """
    blocks = [pattern.form] if isinstance(pattern.form, Block) else []
    layout = scored_blocks(Layouts(sheets), pattern.stock, blocks).layout
    return _Pen(sheets.unit, copies, rules).node(layout, rect)


class _Pen:
    def __init__(self, unit: int, copies: Copies, rules: SheetRules) -> None:
        self.unit, self.copies, self.rules = unit, copies, rules

    def node(self, layout: Layout, rect: Rect) -> Node:
        if isinstance(layout, Laid):
            tile = self.copies.kinds[layout.kind]
            grid = (tile.up, tile.across) if layout.turned else (tile.across, tile.up)
            return self._grid(tile.base, *grid, rect)
        if not isinstance(layout, Parted):
            keep = self.rules.worth_keeping(rect.w, rect.h)
            return Part(rect, Fate.KEEP if keep else Fate.WASTE)
        at = layout.at * self.unit - self.rules.kerf
        first, second = self._parted(rect, layout.axis, at)
        some = second.w > 0 and second.h > 0
        return Cut(
            rect,
            layout.axis,
            at,
            self.node(layout.first, first),
            self.node(layout.second, second) if some else None,
        )

    def _parted(self, rect: Rect, axis: Axis, at: int) -> tuple[Rect, Rect]:
        past = at + self.rules.kerf
        if axis is Axis.X:
            first = Rect(rect.x, rect.y, at, rect.h)
            return first, Rect(rect.x + past, rect.y, rect.w - past, rect.h)
        first = Rect(rect.x, rect.y, rect.w, at)
        return first, Rect(rect.x, rect.y + past, rect.w, rect.h - past)

    def _grid(self, base: int, across: int, up: int, rect: Rect) -> Node:
        """Equal pieces side by side and above each other, cut apart row by row."""
        if across == up == 1:
            return self._piece(base, rect)
        axis, many, side = (Axis.Y, up, rect.h) if up > 1 else (Axis.X, across, rect.w)
        at = (side - (many - 1) * self.rules.kerf) // many
        first, second = self._parted(rect, axis, at)
        rest = (across, up - 1) if up > 1 else (across - 1, up)
        part = (across, 1) if up > 1 else (1, 1)
        return Cut(rect, axis, at, self._grid(base, *part, first), self._grid(base, *rest, second))

    def _piece(self, base: int, rect: Rect) -> Part:
        piece, copy = self.copies.take(base)
        rotated = (rect.w, rect.h) != (piece.width, piece.height)
        placed = Placement(piece.key, copy, rect.x, rect.y, rect.w, rect.h, rotated)
        return Part(rect, Fate.PIECE, placed)
