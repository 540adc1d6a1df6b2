"""New sheet patterns at given prices, built from the bottom up.

Blocks are joined pairwise, side by side and stacked; at each step the blocks worth most for the
area they take are kept (after P. Y. Wang, "Two algorithms for constrained two-dimensional cutting
stock problems", Operations Research 31 (1983), from memory, with prices for its areas and a beam
for its waste limit). Each block is then put on each sheet and both rectangles left are filled with
more blocks.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.sheets.kinds import Block, Join, Sheets, above, beside
from service.domain.value import dataclass

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Beam:
    """How wide a search is: blocks kept per step, steps, and sheets tried per stock."""

    width: int = 400
    steps: int = 4
    tries: int = 40


@dataclass(slots=True)
class _Blocks:
    """Blocks as columns: size, worth, counts, a signature of the counts, and what they join."""

    w: Ints
    h: Ints
    worth: Floats
    counts: NDArray[np.int16]
    sign: Ints
    join: Ints
    first: Ints
    second: Ints

    def take(self, rows: Ints) -> _Blocks:
        return _Blocks(*(getattr(self, name)[rows] for name in self.__slots__))

    def join_with(self, other: _Blocks) -> _Blocks:
        return _Blocks(
            *(np.concatenate([getattr(self, n), getattr(other, n)]) for n in self.__slots__)
        )


class Builder:
    """Blocks of what is wanted, at the prices of the moment."""

    def __init__(self, sheets: Sheets, demands: Sequence[int], beam: Beam) -> None:
        self._sheets, self._beam = sheets, beam
        self._demands = np.array(demands, dtype=np.int16)
        self._ways = sheets.ways(demands)
        open_stock = [wh for wh, q in zip(sheets.stock, sheets.task.limits, strict=True) if q != 0]
        # A sheet that lies within another takes no block that the other does not.
        self._frames = [
            f
            for f in dict.fromkeys(open_stock)
            if not any(g != f and f[0] <= g[0] and f[1] <= g[1] for g in open_stock)
        ]
        rng = np.random.default_rng(11)
        self._signs = rng.integers(1, 1 << 61, len(demands), dtype=np.int64)

    def _leaves(self, prices: Floats) -> _Blocks:
        kinds = np.array([way.kind for way in self._ways], dtype=np.int64)
        counts = np.zeros((len(kinds), len(self._demands)), dtype=np.int16)
        counts[np.arange(len(kinds)), kinds] = 1
        return _Blocks(
            np.array([way.w for way in self._ways], dtype=np.int64),
            np.array([way.h for way in self._ways], dtype=np.int64),
            prices[kinds].astype(np.float64),
            counts,
            self._signs[kinds],
            np.zeros(len(kinds), dtype=np.int64),
            np.arange(len(kinds), dtype=np.int64),
            np.full(len(kinds), -1, dtype=np.int64),
        )

    def build(self, prices: Floats) -> None:
        """Grow the blocks for these prices."""
        blocks = self._leaves(prices)
        self._area = max(w * h for w, h in self._frames)
        fresh = 0
        for _ in range(self._beam.steps):
            grown = self._grow(blocks, fresh)
            if not len(grown.w):
                break
            fresh = len(blocks.w)
            blocks = blocks.join_with(grown)
        order = np.argsort(-blocks.worth, kind="stable")
        self._blocks = blocks
        self._order = order
        self._sorted = blocks.take(order)

    def _grow(self, blocks: _Blocks, fresh: int) -> _Blocks:
        n = len(blocks.w)
        a, b = np.triu_indices(n)
        if fresh:
            new = b >= fresh
            a, b = a[new], b[new]
        parts = []
        for join in (Join.BESIDE, Join.ABOVE):
            if join is Join.BESIDE:
                w, h = blocks.w[a] + blocks.w[b], np.maximum(blocks.h[a], blocks.h[b])
            else:
                w, h = np.maximum(blocks.w[a], blocks.w[b]), blocks.h[a] + blocks.h[b]
            fits = np.zeros(len(w), dtype=bool)
            for fw, fh in self._frames:
                fits |= (w <= fw) & (h <= fh)
            if self._sheets.reach:
                fits &= (h if join is Join.BESIDE else w) <= self._sheets.reach
            keep = np.flatnonzero(fits)
            ak, bk = a[keep], b[keep]
            parts.append((w[keep], h[keep], ak, bk, np.full(len(keep), int(join))))
        w, h, ai, bi, joins = (np.concatenate(column) for column in zip(*parts, strict=True))
        return self._best(blocks, w, h, ai, bi, joins)

    def _best(self, blocks: _Blocks, w: Ints, h: Ints, ai: Ints, bi: Ints, joins: Ints) -> _Blocks:
        worth = blocks.worth[ai] + blocks.worth[bi]
        area = w * h
        score = worth / area
        quarter = np.minimum(3, (4 * area) // (self._area + 1))
        chosen = []
        share = self._beam.width // 4
        for q in range(4):
            rows = np.flatnonzero(quarter == q)
            if len(rows) > 6 * share:
                rows = rows[np.argpartition(-score[rows], 6 * share)[: 6 * share]]
            if not len(rows):
                continue
            counts = blocks.counts[ai[rows]] + blocks.counts[bi[rows]]
            rows = rows[(counts <= self._demands).all(axis=1)]
            rows = rows[np.lexsort((rows, -score[rows]))]
            sign = blocks.sign[ai[rows]] + blocks.sign[bi[rows]] + w[rows] * 7919 + h[rows] * 104729
            _, firsts = np.unique(sign, return_index=True)
            rows = rows[np.sort(firsts)][:share]
            chosen.append(rows)
        rows = np.concatenate(chosen) if chosen else np.zeros(0, dtype=np.int64)
        ai, bi = ai[rows], bi[rows]
        return _Blocks(
            w[rows],
            h[rows],
            worth[rows],
            blocks.counts[ai] + blocks.counts[bi],
            blocks.sign[ai] + blocks.sign[bi],
            joins[rows],
            ai,
            bi,
        )

    def patterns(self, stock: int) -> list[tuple[float, tuple[int, ...], Block]]:
        """The best fillings of one stock: worth, counts, block; best first."""
        frame_w, frame_h = self._sheets.stock[stock]
        blocks = self._sorted
        rows = np.flatnonzero((blocks.w <= frame_w) & (blocks.h <= frame_h))
        if not len(rows):
            return []
        hopes = self._hopes(rows, frame_w, frame_h)
        found = []
        flat = np.lexsort((np.arange(hopes.size), -hopes.ravel()))[: self._beam.tries]
        for pick in flat.tolist():
            row, across = int(rows[pick // 2]), pick % 2
            size = int(blocks.w[row]), int(blocks.h[row])
            if not self._sheets.orders(frame_w, frame_h, *size)[across]:
                continue
            found.append(self._laid(row, bool(across), frame_w, frame_h))
        found.sort(key=lambda f: (-f[0], f[1]))
        return found

    def _hopes(self, rows: Ints, frame_w: int, frame_h: int) -> Floats:
        """Worth of each block and, without minding demands, of the best in both rectangles left."""
        blocks = self._sorted
        w, h = blocks.w[rows], blocks.h[rows]
        right_w, top_h = frame_w - w, frame_h - h
        full_w, full_h = np.full_like(w, frame_w), np.full_like(h, frame_h)
        one = self._ideal(right_w, full_h) + self._ideal(w, top_h)
        two = self._ideal(right_w, h) + self._ideal(full_w, top_h)
        return blocks.worth[rows][:, None] + np.stack([one, two], axis=1)

    def _ideal(self, w: Ints, h: Ints) -> Floats:
        blocks = self._sorted
        fits = (blocks.w[None, :] <= w[:, None]) & (blocks.h[None, :] <= h[:, None])
        first = fits.argmax(axis=1)
        return np.where(fits[np.arange(len(w)), first], blocks.worth[first], 0.0)

    def _laid(
        self, row: int, across: bool, frame_w: int, frame_h: int
    ) -> tuple[float, tuple[int, ...], Block]:
        blocks = self._sorted
        left = self._demands - blocks.counts[row]
        block, worth = self._block(int(self._order[row])), float(blocks.worth[row])
        w, h = int(blocks.w[row]), int(blocks.h[row])
        rects = [(frame_w - w, h if across else frame_h), (frame_w if across else w, frame_h - h)]
        order = (0, 1) if across else (1, 0)
        for side in order:
            filled = self._fill(*rects[side], left)
            if filled is None:
                continue
            more, left, gain = filled
            worth += gain
            block = beside(block, more) if side == 0 else above(block, more)
        return worth, tuple((self._demands - left).tolist()), block

    def _fill(
        self, w: int, h: int, left: NDArray[np.int16]
    ) -> tuple[Block, NDArray[np.int16], float] | None:
        blocks = self._sorted
        fits = (blocks.w <= w) & (blocks.h <= h)
        if self._sheets.reach:
            fits &= self._reached(w, h)
        rows = np.flatnonzero(fits)
        if not len(rows):
            return None
        good: NDArray[np.bool_] = np.all(blocks.counts[rows] <= left, axis=1)
        at = int(good.argmax())
        if not good[at] or blocks.worth[rows[at]] <= 0:
            return None
        row = int(rows[at])
        left = left - blocks.counts[row]
        block, worth = self._block(int(self._order[row])), float(blocks.worth[row])
        bw, bh = int(blocks.w[row]), int(blocks.h[row])
        right_first = (w - bw) * h >= (h - bh) * w
        if not self._sheets.orders(w, h, bw, bh)[0 if right_first else 1]:
            right_first = not right_first
        for side in (1, 0) if right_first else (0, 1):
            if side == 0:
                more = self._fill(w - bw, bh if not right_first else h, left)
            else:
                more = self._fill(bw if right_first else w, h - bh, left)
            if more is not None:
                inner, left, gain = more
                worth += gain
                block = beside(block, inner) if side == 0 else above(block, inner)
        return block, left, worth

    def _reached(self, w: int, h: int) -> NDArray[np.bool_]:
        """Which blocks can be cut out of a rectangle of this size; see `Sheets.orders`."""
        blocks, reach = self._sorted, self._sheets.reach
        wide, high = blocks.w == w, blocks.h == h
        width_first = (wide | (h <= reach)) & (high | (blocks.w <= reach))
        height_first = (high | (w <= reach)) & (wide | (blocks.h <= reach))
        reached: NDArray[np.bool_] = width_first | height_first
        return reached

    def _block(self, row: int) -> Block:
        join = int(self._blocks.join[row])
        if join == Join.LEAF:
            return self._ways[int(self._blocks.first[row])].leaf()
        first = self._block(int(self._blocks.first[row]))
        second = self._block(int(self._blocks.second[row]))
        return beside(first, second) if join == Join.BESIDE else above(first, second)
