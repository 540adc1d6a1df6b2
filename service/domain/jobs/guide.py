"""Guide settings of the mat cutter: the distinct borders at which a window is cut."""

from __future__ import annotations

from service.domain.jobs.sizes import Layer
from service.domain.measure.length import Length, Size
from service.domain.shop import Bench


def guide_settings(layer: Layer, package: Size) -> tuple[Length, ...]:
    """Return the settings for a mat's straight sides, smallest first, from the top mat's edges."""
    return tuple(Length(ticks) for ticks in sorted(setting_ticks(layer, package)))


def setting_ticks(layer: Layer, package: Size) -> set[int]:
    """Return the distinct settings of `guide_settings`, in ticks."""
    found: set[int] = set()
    wide, high = package.width.ticks, package.height.ticks
    for window in layer.windows:
        if window.shape == "rectangle":
            left, top, size = window.x.ticks, window.y.ticks, window.size
            right, bottom = wide - left - size.width.ticks, high - top - size.height.ticks
            found.update((top, left, right, bottom))
    return found


def uses_stops(bench: Bench, quantity: int) -> bool:
    """Return True if, at this quantity, stops replace three of the four pencil lines."""
    return bench.stops and quantity >= bench.stops_from_quantity
