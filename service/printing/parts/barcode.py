"""A number as a QR code (ISO/IEC 18004), for paper and pages."""

from __future__ import annotations

from functools import lru_cache

import segno


@lru_cache(maxsize=256)
def modules(number: str) -> tuple[tuple[bool, ...], ...]:
    """Return the modules without the quiet zone; up to a quarter may be damaged."""
    code = segno.make_qr(number, error="q", boost_error=False)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


QUIET = 4
"""The quiet zone that the standard requires on every side, in modules."""


def svg(number: str) -> str:
    """Return the code as SVG with its quiet zone; one module is one unit."""
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
        f"<title>QR code of the number</title>"
        f'<path fill="#fff" d="M0 0h{size}v{size}h-{size}z"/><path d="{path}"/></svg>'
    )
