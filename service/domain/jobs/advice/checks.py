"""The checks made on every job, as a good framer would make them at the counter.

Each advisory has a stable code, a severity (info, warning, stop) and a pointer. A job with a
`stop` is priced and may be kept as a draft, but it is not offered, promised or made, unless the
shop sets the stop aside with a reason. Cautions about where a picture hangs defer to local building
codes and to licensed installers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.advice.frame import (
    borders,
    contents,
    frameless,
    grooves,
    hardware,
    heavy,
    lip,
    rabbet,
    slender,
    stacked,
    wire,
)
from service.domain.jobs.advice.mats import bars, openings, reach, rounds
from service.domain.jobs.advice.package import art, depths, glazing, grades, ordered, stock
from service.domain.jobs.job import Job
from service.domain.jobs.use import Use


def advise(checked: Checked, uses: tuple[Use, ...]) -> tuple[Advisory, ...]:
    """Return every advisory on a job, in the order of the document's parts."""
    found: list[Advisory] = []
    for check in (openings, bars, rounds, reach, ordered, glazing, depths, art, frameless):
        found.extend(check(checked))
    found.extend(grades(checked, uses))
    found.extend(frame_advisories(checked, uses))
    found.extend(stock(checked))
    found.extend(contents(checked, uses))
    return tuple([_set_aside(_about(each, checked.job), checked.job) for each in found])


def _about(advisory: Advisory, job: Job) -> Advisory:
    """Return an advisory on a customer's frame with that frame's pointer."""
    if job.own_frame is None or not advisory.pointer.startswith("/frames/0"):
        return advisory
    return replace(advisory, pointer="/own_frame")


def frame_advisories(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    """Yield the advisories that depend on the moulding."""
    for check in (borders, grooves, rabbet, stacked, lip, slender, heavy, wire):
        for each in check(checked):
            yield _set_aside(each, checked.job)
    yield from hardware(checked, uses)


def _set_aside(advisory: Advisory, job: Job) -> Advisory:
    """Return a stop with the reason why the shop sets it aside, if it does."""
    if advisory.severity == "stop":
        for each in job.overrides:
            if each.stop == advisory.code:
                return replace(advisory, overridden=each.reason)
    return advisory
