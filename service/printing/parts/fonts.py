"""The fonts of paper: Inter, DejaVu for Hebrew and Arabic, and what the machine has beside them.

Most papers need the shipped fonts only, so that they come out alike everywhere. A text with other
letters looks for them in the folder of `font_folder`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import typst
from fontTools.ttLib import TTFont, TTLibError  # type: ignore[import-untyped]

from service.printing.parts.font_folder import FOLDER

SHIPPED = Path(__file__).parent / "fonts"
FAMILIES = ("Inter", "DejaVu Sans")
INVISIBLE = frozenset({0x200C, 0x200D, *range(0xFE00, 0xFE10)})
"""Joiners and variation selectors: they shape their neighbours and need no glyph."""


@dataclass(frozen=True, slots=True)
class Case:
    """Fonts as the typesetter takes them, and the characters that they have."""

    fonts: typst.Fonts
    has: frozenset[int]


def fonts_for(text: str) -> tuple[typst.Fonts, str]:
    """Return fonts for a text, and the text with the code points of what no font has.

    A run of such characters becomes [U+65E5 U+672C].
    """
    if text.isascii():
        return _shipped().fonts, text
    case = _with_more(*FOLDER) if _lacking(text, _shipped()) else _shipped()
    return case.fonts, named(text, _lacking(text, case))


def in_the_first_font(text: str) -> tuple[typst.Fonts, str]:
    """Return the shipped fonts, and the text with the code points of what Inter does not have."""
    known = _characters(SHIPPED / "Inter-Regular.otf", 0)
    return _shipped().fonts, named(text, {c for c in text if ord(c) > 126 and ord(c) not in known})


def named(text: str, lacking: set[str]) -> str:
    """Return the text with each run of these characters as their code points.

    >>> named("日本 frame", {"日", "本"})
    '[U+65E5 U+672C] frame'
    """
    if not lacking:
        return text
    runs = re.compile(f"[{re.escape(''.join(sorted(lacking)))}]+")
    return runs.sub(lambda run: f"[{' '.join(f'U+{ord(c):04X}' for c in run[0])}]", text)


def _lacking(text: str, case: Case) -> set[str]:
    return {c for c in set(text) if ord(c) > 126 and ord(c) not in case.has | INVISIBLE}


@lru_cache(maxsize=1)
def _shipped() -> Case:
    return _case(())


@lru_cache(maxsize=1)
def _with_more(*folders: Path) -> Case:
    return _case([folder for folder in folders if folder.is_dir()])


def _case(folders: Sequence[Path]) -> Case:
    fonts = typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[SHIPPED, *folders],
    )
    files = {(font.path, font.index) for font in fonts.fonts() if font.path}
    return Case(fonts, frozenset().union(*(_characters(Path(p), n) for p, n in sorted(files))))


def _characters(path: Path, number: int) -> frozenset[int]:
    """Return the characters of a font; none if its table cannot be read."""
    try:
        with TTFont(path, fontNumber=number, lazy=True) as font:
            return frozenset(font.getBestCmap() or ())
    except (TTLibError, OSError):
        return frozenset()
