"""The figures a sheet search works on: kinds of piece and of sheet, kerf included, and blocks.

Pieces and sheets are enlarged by one kerf, so that cuts then take nothing: each part carries the
dust of the cut past it. A block is pieces joined edge to edge: a leaf is one piece; two blocks side
by side or stacked are a block again. Every block can be cut apart by cuts from edge to edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

from service.domain.cutting.patterns.master import Task
from service.domain.value import dataclass


class Join(IntEnum):
    """How a block is made: one piece, two blocks side by side, or one above another."""

    LEAF = 0
    BESIDE = 1
    ABOVE = 2


class Block(NamedTuple):
    """Pieces joined so that cuts from edge to edge part them; a leaf names its kind and turn."""

    w: int
    h: int
    join: Join
    first: Block | None
    second: Block | None
    kind: int
    turned: bool


class Way(NamedTuple):
    """One kind of piece laid one way."""

    kind: int
    turned: bool
    w: int
    h: int

    def leaf(self) -> Block:
        """The block of this one piece."""
        return Block(self.w, self.h, Join.LEAF, None, None, self.kind, self.turned)


def beside(a: Block, b: Block) -> Block:
    """Two blocks side by side."""
    return Block(a.w + b.w, max(a.h, b.h), Join.BESIDE, a, b, -1, False)


def above(a: Block, b: Block) -> Block:
    """Two blocks, the second above the first."""
    return Block(max(a.w, b.w), a.h + b.h, Join.ABOVE, a, b, -1, False)


def count_kinds(block: Block, kinds: int) -> tuple[int, ...]:
    """How many of each kind a block holds."""
    counts = [0] * kinds
    stack = [block]
    while stack:
        top = stack.pop()
        if top.first is None or top.second is None:
            counts[top.kind] += 1
        else:
            stack += (top.first, top.second)
    return tuple(counts)


@dataclass(frozen=True, slots=True)
class Sheets:
    """Kinds of piece (width, height, may turn) and of sheet, and what is wanted of them."""

    sizes: tuple[tuple[int, int, bool], ...]
    stock: tuple[tuple[int, int], ...]
    task: Task
    kerf: int
    keep_short: int
    keep_long: int
    unit: int = 1
    reach: int = 0

    def orders(self, w: int, h: int, block_w: int, block_h: int) -> tuple[bool, bool]:
        """Whether a block can be cut out of a rectangle's corner: to its width first, or height."""
        if not self.reach:
            return True, True
        across_w, across_h = block_w == w, block_h == h
        return (
            (across_w or h <= self.reach) and (across_h or block_w <= self.reach),
            (across_h or w <= self.reach) and (across_w or block_h <= self.reach),
        )

    def takes(self, stock: int, w: int, h: int) -> bool:
        """Whether a piece fits a sheet, and can be cut out of it."""
        wide, high = self.stock[stock]
        return w <= wide and h <= high and any(self.orders(wide, high, w, h))

    def ways(self, demands: Sequence[int]) -> list[Way]:
        """Each wanted kind, laid each way that it may lie and that some sheet can take."""
        ways = []
        for kind, (w, h, turns) in enumerate(self.sizes):
            if demands[kind] <= 0:
                continue
            ways.append(Way(kind, False, w, h))
            if turns and w != h:
                ways.append(Way(kind, True, h, w))
        stock = range(len(self.stock))
        return [way for way in ways if any(self.takes(s, way.w, way.h) for s in stock)]

    def kept(self, w: int, h: int) -> int:
        """The area of a leftover (kerf taken off) if it is worth keeping, or 0."""
        w, h = w - self.kerf, h - self.kerf
        good = min(w, h) >= self.keep_short and max(w, h) >= self.keep_long
        return w * h if good else 0
