"""Tickets and quotes as printable HTML: one file, no script, nothing fetched from elsewhere.

Every text is escaped; the only markup let through is the drawings and codes made here.
"""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from service.printing.drawing.sheet import Drawing
from service.printing.language.spoken import _, spoken
from service.printing.parts import barcode
from service.printing.parts.svg import svg
from service.printing.parts.words import clean

PICTURE = (255, 260)
"""The most that a drawing takes of a page, in points: two stand side by side on A4."""


@lru_cache(maxsize=1)
def templates() -> Environment:
    """Return the pages' templates, which escape every text."""
    made = Environment(
        loader=PackageLoader("service.printing.parts"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    made.filters["svg"] = _drawn
    made.globals["_"] = _
    made.globals["spoken"] = spoken
    made.filters["clean"] = clean
    return made


def _drawn(drawing: Drawing) -> Markup:
    return Markup(svg(drawing, standalone=False))  # noqa: S704 — escaped there  # nosec B704


def _code(number: str) -> Markup:
    return Markup(barcode.svg(number))  # noqa: S704 — a path of squares  # nosec B704
