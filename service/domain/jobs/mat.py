"""Mats: boards with windows, from the glazing inwards, and the bevel of their cut.

The sight edge of a standard bevel is its lower edge, at the back of the board; the face opening is
wider by t/tan β on each side, which at β = 45° is the board's thickness t. A reverse bevel is the
other way round; a straight cut has none.
"""

from __future__ import annotations

from math import isqrt
from typing import Literal

from service.domain.materials.catalogue import Board, Fillet
from service.domain.measure.length import NO_SIDES, ZERO, Length, Sides, Size
from service.domain.value import dataclass

Bevel = Literal["standard", "reverse", "straight"]
BEVELS = ("standard", "reverse", "straight")


@dataclass(frozen=True, slots=True)
class Mat:
    """One mat: its board, its bevel, how much of it shows inside the mat over it, its fillet.

    `reveal` is nothing for the top mat.
    """

    board: Board
    bevel: Bevel = "standard"
    reveal: Sides = NO_SIDES
    fillet: Fillet | None = None

    def fillet_width(self) -> Length:
        """How far the window's fillet, if it has one, narrows what shows."""
        return self.fillet.width if self.fillet else ZERO

    def face_opening(self, sight: Size) -> Size:
        """The window at the board's face, for a window whose sight edge measures `sight`."""
        if self.bevel == "standard":
            return sight.grown(2 * self.board.thickness)
        return sight

    def back_opening(self, sight: Size) -> Size:
        """The window at the board's back, which is the side that is marked and cut."""
        if self.bevel == "reverse":
            return sight.grown(2 * self.board.thickness)
        return sight

    def bevel_slope(self) -> Length:
        """How long the 45° slope is, t·√2, to the nearest tick; nothing for a straight cut."""
        if self.bevel == "straight":
            return ZERO
        doubled = 8 * self.board.thickness.ticks**2
        return Length((isqrt(doubled) + 1) // 2)
