"""The size of lettering: from the font that the papers are set in, by its own tables.

A drawing has one text height. Its capitals and figures are 2.5 mm high, the smallest height of
ISO 3098 that is read at arm's length; texts keep their own height away from one another.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from service.domain.measure.rounding import up

FONT = Path(__file__).parents[1] / "parts" / "fonts" / "DejaVuSansCondensed.ttf"
"""The font that drawings are measured by and shown in."""
POINT = 100
"""Units per point: a drawing's coordinates are hundredths of a point."""
UNITS_PER_INCH = 72 * POINT
TEXT = 10 * POINT
"""The size of a drawing's lettering: 10 pt, with capitals of 2.5 mm."""


def millimetres(tenths: int) -> int:
    """Return so many tenths of a millimetre in a drawing's units, rounded up."""
    return up(tenths * UNITS_PER_INCH, 254)


CAPITALS = 73 * TEXT // 100
"""The height of the font's capitals and figures: 2.58 mm."""
APART = CAPITALS
"""The least distance between two texts: their own height."""


@lru_cache(maxsize=1)
def _advances() -> tuple[dict[int, int], int]:
    """Return the advance of each character of the font, and its units per em."""
    from fontTools import ttLib  # type: ignore[import-untyped]  # noqa: PLC0415 — slow to import

    with ttLib.TTFont(FONT, lazy=True) as font:
        widths, glyphs = font["hmtx"].metrics, font.getBestCmap()
        advances = {code: int(widths[glyph][0]) for code, glyph in glyphs.items()}
        return advances, int(font["head"].unitsPerEm)


@lru_cache(maxsize=1_024)
def text_width(text: str, size: int = TEXT) -> int:
    """Return the length of a text of this size, rounded up.

    A character that the font lacks is set from another font and is taken to be an em wide.
    """
    advances, em = _advances()
    return up(sum(advances.get(ord(c), em) for c in text) * size, em)


def longest(texts: list[str]) -> int:
    """Return the length of the longest text; 0 without texts."""
    return max(map(text_width, texts), default=0)
