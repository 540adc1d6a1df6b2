"""The checks made on every job, as a good framer would make them at the counter.

Each advisory has a stable code, a severity (info, warning, stop) and a pointer. A `stop` prevents
a ticket, never a quote. Cautions about where a picture hangs defer to local building codes and to
licensed installers.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.advice.frame import (
    borders,
    frameless,
    grooves,
    hardware,
    heavy,
    lip,
    rabbet,
    slender,
    wire,
)
from service.domain.jobs.advice.mats import bars, openings, reach, rounds
from service.domain.jobs.advice.package import art, depths, glazing, grades, ordered, stock
from service.domain.jobs.use import Use


def advise(checked: Checked, uses: tuple[Use, ...]) -> tuple[Advisory, ...]:
    """Return every advisory on a job, in the order of the document's parts."""
    found: list[Advisory] = []
    for check in (openings, bars, rounds, reach, ordered, glazing, depths, art, frameless):
        found.extend(check(checked))
    found.extend(grades(checked, uses))
    found.extend(frame_advisories(checked, uses))
    found.extend(stock(checked))
    return tuple(found)


def frame_advisories(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    """Yield the advisories that depend on the moulding."""
    for check in (borders, grooves, rabbet, lip, slender, heavy, wire):
        yield from check(checked)
    yield from hardware(checked, uses)
