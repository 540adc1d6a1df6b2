"""Where the cuts of a block go on its sheet, so that what is left over is most use.

A block on a larger rectangle leaves its excess in one strip, or lets its parts keep theirs, and the
strip can be cut first along either axis. Each way is weighed at each join: the largest offcut worth
keeping counts first, then all such offcuts, then fewer cuts. Sizes still include one kerf.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from service.domain.cutting.plan import Axis
from service.domain.cutting.sheets.kinds import Block, Join, Sheets, above, beside


class Rest(NamedTuple):
    """A rectangle left over."""


class Laid(NamedTuple):
    """A piece that fills its rectangle."""

    kind: int
    turned: bool


class Parted(NamedTuple):
    """A rectangle cut in two at `at` along the axis."""

    axis: Axis
    at: int
    first: Laid | Rest | Parted
    second: Laid | Rest | Parted


Layout = Laid | Rest | Parted


class Scored(NamedTuple):
    """A layout with what it is worth: largest offcut, all offcuts, cuts."""

    largest: int
    total: int
    cuts: int
    layout: Layout

    @property
    def rank(self) -> tuple[int, int, int]:
        """Smaller is better."""
        return (-self.largest, -self.total, self.cuts)


NOT_TO_BE_CUT = Scored(-1 << 62, -1 << 62, 1 << 62, Rest())
"""Where the bench does not reach what it would have to cut; worse than any layout."""


@dataclass(slots=True)
class Layouts:
    """Lays blocks, remembering each block in each rectangle it has met."""

    sheets: Sheets
    _known: dict[tuple[Block, int, int], Scored] = field(default_factory=dict)

    def lay(self, block: Block, w: int, h: int) -> Scored:
        """The best layout of a block in a rectangle at least as large."""
        key = (block, w, h)
        known = self._known.get(key)
        if known is None:
            known = min(self._ways(block, w, h), key=lambda s: s.rank, default=NOT_TO_BE_CUT)
            self._known[key] = known
        return known

    def _ways(self, block: Block, w: int, h: int) -> list[Scored]:
        ways = []
        reach = self.sheets.reach
        across_x, across_y = not reach or h <= reach, not reach or w <= reach
        if w > block.w and across_x:
            ways.append(self._part(Axis.X, block.w, self.lay(block, block.w, h), w - block.w, h))
        if h > block.h and across_y:
            ways.append(self._part(Axis.Y, block.h, self.lay(block, w, block.h), w, h - block.h))
        if block.first is None or block.second is None:
            whole = (w, h) == (block.w, block.h)
            return [Scored(0, 0, 0, Laid(block.kind, block.turned))] if whole else ways
        if block.join is Join.BESIDE:
            if not across_x:
                return ways
            at = block.first.w
            first, second = self.lay(block.first, at, h), self.lay(block.second, w - at, h)
            ways.append(_both(Axis.X, at, first, second))
        elif across_y:
            at = block.first.h
            first, second = self.lay(block.first, w, at), self.lay(block.second, w, h - at)
            ways.append(_both(Axis.Y, at, first, second))
        return ways

    def _part(self, axis: Axis, at: int, laid: Scored, w: int, h: int) -> Scored:
        kept = self.sheets.kept(w, h)
        return _both(axis, at, laid, Scored(kept, kept, 0, Rest()))


def can_be_cut(layouts: Layouts, stock: int, block: Block) -> bool:
    """Whether the bench reaches all that it takes to cut a block out of a sheet."""
    return layouts.lay(block, *layouts.sheets.stock[stock]).cuts < NOT_TO_BE_CUT.cuts


def _both(axis: Axis, at: int, first: Scored, second: Scored) -> Scored:
    if first.cuts + second.cuts >= NOT_TO_BE_CUT.cuts:
        return NOT_TO_BE_CUT
    return Scored(
        max(first.largest, second.largest),
        first.total + second.total,
        first.cuts + second.cuts + 1,
        Parted(axis, at, first.layout, second.layout),
    )


def without(block: Block, drop: list[int]) -> list[Block]:
    """The block with as many pieces of each kind left out as `drop` says; counts `drop` down."""
    if block.first is None or block.second is None:
        if drop[block.kind] > 0:
            drop[block.kind] -= 1
            return []
        return [block]
    parts = [*without(block.first, drop), *without(block.second, drop)]
    if len(parts) < 2:
        return parts
    join = beside if block.join is Join.BESIDE else above
    return [join(parts[0], parts[1])]


def empty_layout(sheets: Sheets, stock: int) -> Scored:
    """A sheet nothing is cut from."""
    kept = sheets.kept(*sheets.stock[stock])
    return Scored(kept, kept, 0, Rest())


def scored_blocks(layouts: Layouts, stock: int, blocks: Sequence[Block]) -> Scored:
    """The best layout of one or no block on a sheet."""
    if not blocks:
        return empty_layout(layouts.sheets, stock)
    return layouts.lay(blocks[0], *layouts.sheets.stock[stock])
