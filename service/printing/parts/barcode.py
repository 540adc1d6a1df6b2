"""The quote's number as a QR code (ISO/IEC 18004), for paper and for a page."""

from __future__ import annotations

from functools import lru_cache

import segno


@lru_cache(maxsize=256)
def modules(number: str) -> tuple[tuple[bool, ...], ...]:
    """The dark and light modules, without the quiet zone; a quarter of them may be spoilt."""
    code = segno.make_qr(number, error="q", boost_error=False)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


QUIET = 4
"""Modules of white that the standard asks for on every side."""


def svg(number: str) -> str:
    """The code as SVG, its quiet zone with it; a module is one unit."""
    rows = modules(number)
    size = len(rows) + 2 * QUIET
    path = "".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z"
        for y, row in enumerate(rows)
        for x, dark in enumerate(row)
        if dark
    )
    return (
        f'<svg class="code" role="img" viewBox="0 0 {size} {size}">'
        f"<title>QR code of the quote's number</title>"
        f'<path fill="#fff" d="M0 0h{size}v{size}h-{size}z"/><path d="{path}"/></svg>'
    )
