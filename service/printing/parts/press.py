"""Papers as PDF, set by Typst from the templates in `typst/`.

A template is a layout: it reads one JSON document (`Sheet` and what a paper adds to it) and works
out no figure. Every PDF is tagged, PDF/UA-1, and has a language, a title and the document's date;
the same document gives the same bytes. Templates have no loop but over what they are given, so the
time that a paper takes grows with its document, whose size is limited. They read no file but each
other, and no package.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

import msgspec
import typst

from service.printing.language.spoken import _, spoken
from service.printing.parts.fonts import FAMILIES, fonts_for, in_the_first_font

TEMPLATES = Path(__file__).parent / "typst"
_SAID = re.compile(r'\bsay\("([^"]+)"\)')
NOWHERE = TEMPLATES / "packages"
"""Where Typst would look for packages: there are none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What every paper has: its title, its foot, its day ("2026-11-28" or none), its size.

    `paper` is "letter" or "a4", `unit` the unit of its figures.
    """

    title: str
    foot: str
    shop: str
    day: str = ""
    paper: str = "letter"
    unit: str = "in"
    language: str = "en"
    words: Mapping[str, str] = field(default_factory=dict)
    fonts: tuple[str, ...] = FAMILIES


def press(template: str, sheet: Sheet) -> bytes:
    """Return the PDF of a sheet by its template, in the language being spoken."""
    words = {word: _(word) for word in words_of(template)}
    sheet = replace(sheet, language=spoken().speaks, words=words)
    data = msgspec.json.encode(sheet).decode()
    try:
        return _compiled(template, *fonts_for(data))
    except typst.TypstError as wrong:
        if "could not be displayed" not in wrong.message:
            raise
        return _compiled(template, *in_the_first_font(data))


@lru_cache(maxsize=16)
def words_of(template: str) -> tuple[str, ...]:
    """Return the words that a template says by itself: say("Cut by")."""
    text = (TEMPLATES / f"{template}.typ").read_text(encoding="utf-8")
    return tuple(dict.fromkeys(_SAID.findall(text)))


def _compiled(template: str, fonts: typst.Fonts, data: str) -> bytes:
    return typst.compile(
        TEMPLATES / f"{template}.typ",
        root=TEMPLATES,
        font_paths=fonts,
        sys_inputs={"data": data},
        pdf_standards=["ua-1"],
        package_path=NOWHERE,
        package_cache_path=NOWHERE,
    )
