"""A drawing as the typesetter takes it."""

from __future__ import annotations

from dataclasses import dataclass

from service.printing.drawing.sheet import Drawing
from service.printing.language.spoken import _
from service.printing.parts.svg import svg


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, its width in hundredths of a point, its words for who cannot see it, its notes."""

    svg: str
    width: int
    told: str
    notes: tuple[str, ...]


def picture(drawing: Drawing) -> Picture:
    """Return a drawing at its own size, at which its scale holds."""
    told = "; ".join((drawing.title, *drawing.notes))
    under = (
        _("{title}, scale {scale}", title=drawing.title, scale=drawing.scale),
        *drawing.notes,
    )
    return Picture(svg(drawing), drawing.width, told, under)
