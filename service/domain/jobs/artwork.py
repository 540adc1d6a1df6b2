"""The artwork: its size, thickness and kind."""

from __future__ import annotations

from service.domain.errors import BadValue
from service.domain.measure.length import ZERO, Length, Size
from service.domain.value import dataclass

ART_KINDS = {
    "paper": "a work on paper",
    "pastel": "pastel, charcoal or other loose media",
    "photograph": "a photograph",
    "reproduction": "a poster or print that can be had again",
    "canvas": "a canvas on bars",
    "panel": "a painting on a rigid panel",
    "textile": "needlework or another textile",
    "object": "an object with depth",
}
REPLACEABLE = frozenset({"reproduction"})
"""Kinds that may be mounted permanently; all others need a reversible mounting."""
LOOSE_MEDIA = frozenset({"pastel"})
"""Kinds that ordinary plastic glazing, which holds static, would lift off the sheet."""


@dataclass(frozen=True, slots=True)
class Artwork:
    """One artwork.

    Raises:
        BadValue: a zero width or height, or an unknown kind.
    """

    size: Size
    thickness: Length = ZERO
    kind: str = "paper"

    def __post_init__(self) -> None:
        if self.size.width.ticks <= 0:
            raise BadValue("the width must be more than nothing", "/width")
        if self.size.height.ticks <= 0:
            raise BadValue("the height must be more than nothing", "/height")
        if self.kind not in ART_KINDS:
            raise BadValue(f"the kind is one of {', '.join(ART_KINDS)}", "/kind")
