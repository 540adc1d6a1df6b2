"""The most a sheet of any size can hold at given prices, if each piece may be used freely.

The exact recursion for guillotine cuts (P. C. Gilmore and R. E. Gomory, "Multistage cutting stock
problems of two and more dimensions", Operations Research 13 (1965), from memory): a rectangle
holds one piece, or is cut in two along either axis at a sum of piece sizes. Dropping the demands
only lets a sheet hold more, so its values prove bounds; a filling that keeps to the demands is a
pattern.

The table is worked out tile by tile. A cut takes off at least the smallest piece, so a tile as wide
and as high as that depends only on earlier tiles, and is one array operation per cut.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.patterns.points import reachable
from service.domain.cutting.sheets.kinds import Block, Sheets, Way, above, beside

Ints = NDArray[np.int64]

_MOST_POINTS = 1200


class Table:
    """The most that each sheet there is can hold.

    One table serves all sheets where it can be exact within `work`; else each has one of its own,
    of fewer points.
    """

    def __init__(self, sheets: Sheets, work: int) -> None:
        frames = [wh for wh, q in zip(sheets.stock, sheets.task.limits, strict=True) if q != 0]
        widest, highest = max(w for w, _ in frames), max(h for _, h in frames)
        whole = FrameTable(sheets, (widest, highest), work, raster=False)
        self._frames: dict[tuple[int, int], FrameTable] = dict.fromkeys(frames, whole)
        if not whole.exact:
            for wh in sorted(set(frames), key=lambda size: size[0] * size[1]):
                self._frames[wh] = FrameTable(sheets, wh, work)
                work -= self._frames[wh].work
        self._tables = list(dict.fromkeys(self._frames.values()))
        self.work = sum(table.work for table in self._tables)

    def solve(self, prices: Sequence[int]) -> None:
        """Work all sheets out for whole prices of each kind."""
        for table in self._tables:
            table.solve(prices)

    def exact(self, w: int, h: int) -> bool:
        """Whether a sheet's worth is that of a filling that fits it."""
        return (w, h) in self._frames and self._frames[w, h].exact

    def value(self, w: int, h: int) -> int:
        """A worth that no filling of this sheet exceeds; 0 where there is none of it."""
        return self._frames[w, h].value(w, h) if (w, h) in self._frames else 0

    def fillings(self, w: int, h: int, prices: Sequence[int], worth: int, most: int) -> list[Block]:
        """Fillings of a sheet worth more than `worth`; see `FrameTable.fillings`."""
        known = self._frames.get((w, h))
        return [] if known is None else known.fillings(w, h, prices, worth, most)


class FrameTable:
    """Best values for every size of rectangle within one sheet.

    Sizes that pieces can add up to are counted exactly; with `raster` only as many of these as what
    is left beside others can tell apart (the raster points of G. Scheithauer and J. Terno, "The
    G4-heuristic for the pallet loading problem", Journal of the Operational Research Society 47
    (1996), from memory). Where there are too many for `work`, sizes are rounded down to a coarser
    grid, pieces and sheets alike. More then fits than in truth (the floors of some lengths never
    add up to more than the floor of their sum), so values still prove bounds, but `exact` is False
    and no pattern can be read off.
    """

    def __init__(
        self, sheets: Sheets, frame: tuple[int, int], work: int, *, raster: bool = True
    ) -> None:
        demands = sheets.task.demands
        width, height = frame
        self._ways = [w for w in sheets.ways(demands) if w.w <= width and w.h <= height]
        self._grid_x = self._grid_y = 1
        xs, good_x = self._sums([(y.w, demands[y.kind]) for y in self._ways], width)
        ys, good_y = self._sums([(y.h, demands[y.kind]) for y in self._ways], height)
        if raster and good_x and good_y:
            xs, ys = _raster(xs, width), _raster(ys, height)
        self.exact = good_x and good_y and self._work(xs, ys, 1, 1) <= work
        if not self.exact:
            xs, ys = self._coarse(xs, ys, width, height, work)
        self._xs, self._ys = xs, ys
        self.work = self._work(xs, ys, self._grid_x, self._grid_y)
        self._read: dict[tuple[int, int], list[Block]] = {}
        self._cells = [(way, *self._grid(way)) for way in self._ways]
        self._value = np.zeros((len(xs), len(ys)), dtype=np.int64)
        self._other = np.zeros((len(ys), len(xs)), dtype=np.int64)
        self._tiles_x = _tiles(xs, min((w for _, w, _ in self._cells), default=width))
        self._tiles_y = _tiles(ys, min((h for _, _, h in self._cells), default=height))

    @staticmethod
    def _sums(sizes: list[tuple[int, int]], longest: int) -> tuple[Ints, bool]:
        return reachable([s for s, _ in sizes], [n for _, n in sizes], longest, _MOST_POINTS)

    def _work(self, xs: Ints, ys: Ints, grid_x: int, grid_y: int) -> int:
        # Array elements touched, and a fixed charge for each array operation.
        small_w = max(1, min((way.w for way in self._ways), default=grid_x) // grid_x)
        small_h = max(1, min((way.h for way in self._ways), default=grid_y) // grid_y)
        tiles = (int(xs[-1]) // small_w + 1) * (int(ys[-1]) // small_h + 1)
        cuts = (len(xs) + len(ys)) // 4 + 1
        return cuts * (len(xs) * len(ys) + 4000 * tiles)

    def _coarse(self, xs: Ints, ys: Ints, width: int, height: int, work: int) -> tuple[Ints, Ints]:
        cells = 240
        while True:
            self._grid_x, self._grid_y = -(-width // cells), -(-height // cells)
            xs = np.arange(width // self._grid_x + 1, dtype=np.int64)
            ys = np.arange(height // self._grid_y + 1, dtype=np.int64)
            if cells <= 12 or self._work(xs, ys, self._grid_x, self._grid_y) <= work:
                return xs, ys
            cells = cells * 4 // 5

    def _grid(self, way: Way) -> tuple[int, int]:
        return max(1, way.w // self._grid_x), max(1, way.h // self._grid_y)

    def solve(self, prices: Sequence[int]) -> None:
        """Fill the table for whole prices of each kind."""
        value = self._value
        value[:] = 0
        self._read.clear()
        for way in self._ways:
            w, h = self._grid(way)
            i, j = self._at(self._xs, w, True), self._at(self._ys, h, True)
            if i < len(self._xs) and j < len(self._ys):
                value[i, j] = max(int(value[i, j]), prices[way.kind])
        np.maximum.accumulate(value, axis=0, out=value)
        np.maximum.accumulate(value, axis=1, out=value)
        # The same table twice, so that cuts along either axis run along memory.
        other = self._other
        other[:] = value.T
        for x0, x1, cuts_x in self._tiles_x:
            for y0, y1, cuts_y in self._tiles_y:
                _cut_tile(value[x0:x1, y0:y1], value[:, y0:y1], cuts_x)
                other[y0:y1, x0:x1] = value[x0:x1, y0:y1].T
                _cut_tile(other[y0:y1, x0:x1], other[:, x0:x1], cuts_y)
                value[x0:x1, y0:y1] = other[y0:y1, x0:x1].T

    @staticmethod
    def _at(points: Ints, size: int, up: bool = False) -> int:
        if up:
            return int(np.searchsorted(points, size, "left"))
        return int(np.searchsorted(points, size, "right")) - 1

    def value(self, w: int, h: int) -> int:
        """A worth that no filling of this rectangle exceeds."""
        i = self._at(self._xs, w // self._grid_x)
        return int(self._value[i, self._at(self._ys, h // self._grid_y)])

    def fillings(self, w: int, h: int, prices: Sequence[int], worth: int, most: int) -> list[Block]:
        """Fillings worth more than `worth`, by different first cuts, the best of each; best first.

        Only an exact table's fillings fit their sheet.
        """
        i, j = self._at(self._xs, w), self._at(self._ys, h)
        found = []
        for axis, points, line, top in (
            (0, self._xs, self._value[:, j], i),
            (1, self._ys, self._value[i], j),
        ):
            places = np.arange(1, top)
            rest = np.searchsorted(points, points[top] - points[1:top], "right") - 1
            both = line[1:top] + line[rest]
            good = (both > worth) & (rest > 0) & (places <= rest)
            for at in np.flatnonzero(good).tolist():
                found.append((-int(both[at]), axis, at + 1, int(rest[at])))
        blocks = []
        for _, axis, a, b in sorted(found)[:most]:
            cells = ((a, j), (b, j)) if axis == 0 else ((i, a), (i, b))
            blocks += self._halves(cells, prices, axis == 0)
        if not blocks and self._value[i, j] > worth:
            return self._filling(i, j, prices)
        return blocks

    def _filling(self, i: int, j: int, prices: Sequence[int]) -> list[Block]:
        known = self._read.get((i, j))
        if known is None:
            known = self._read[i, j] = self._fresh_filling(i, j, prices)
        return known

    def _fresh_filling(self, i: int, j: int, prices: Sequence[int]) -> list[Block]:
        xs, ys, value = self._xs, self._ys, self._value
        best = int(value[i, j])
        if best == 0:
            return []
        wide, high = int(xs[i]), int(ys[j])
        for way, w, h in self._cells:
            if w <= wide and h <= high and prices[way.kind] == best:
                return [way.leaf()]
        for axis, points, line, top in ((0, xs, value[:, j], i), (1, ys, value[i], j)):
            rest = np.searchsorted(points, points[top] - points[1:top], "right") - 1
            match = np.flatnonzero((line[1:top] + line[rest] == best) & (rest > 0))
            if match.size:
                a, b = int(match[0]) + 1, int(rest[match[0]])
                cells = ((a, j), (b, j)) if axis == 0 else ((i, a), (i, b))
                return self._halves(cells, prices, axis == 0)
        return []

    def _halves(
        self, cells: tuple[tuple[int, int], tuple[int, int]], prices: Sequence[int], side: bool
    ) -> list[Block]:
        parts = [block for i, j in cells for block in self._filling(i, j, prices)]
        if len(parts) < 2:
            return parts
        return [beside(*parts) if side else above(*parts)]


def _raster(points: Ints, longest: int) -> Ints:
    """The points that tell apart what is left of a length beside any of them."""
    raster: Ints = np.unique(points[np.searchsorted(points, longest - points, "right") - 1])
    return raster


def _cut_tile(tile: Ints, table: Ints, cuts: list[tuple[int, int, Ints]]) -> None:
    """Cut a tile along its first axis at every point that leaves two parts of any use."""
    for a, low, rest in cuts:
        both = table[rest]
        both += table[a]
        np.maximum(tile[low:], both, out=tile[low:])


def _tiles(points: Ints, size: int) -> list[tuple[int, int, list[tuple[int, int, Ints]]]]:
    """Runs of points no wider than `size`, each with its cuts: where, from which row, the rest."""
    tiles = []
    start = 0
    while start < len(points):
        end = int(np.searchsorted(points, points[start] + size, "left"))
        inside = points[start:end]
        cuts = []
        for a in range(1, len(points)):
            if 2 * points[a] > inside[-1]:
                break
            low = int(np.searchsorted(inside, 2 * points[a], "left"))
            rest = np.searchsorted(points, inside[low:] - points[a], "right") - 1
            cuts.append((a, low, rest))
        tiles.append((start, end, cuts))
        start = end
    return tiles
