"""Jobs for the invented shop: one plain picture, changed by a word or two."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, Job, JobSpec, MountingSpec
from service.domain.jobs.mat import MatSpec, Placed, PlacedWindow, Shape
from service.domain.measure.length import Sides
from tests.domain.bench_shop import basis, inch, size

SHOP = basis()


def art(text: str = "8 x 10", **more: Any) -> Artwork:
    return Artwork(size(text), **more)


def mat(border: str = "2", board: str = "WHITE", **more: Any) -> MatSpec:
    return MatSpec(board, border=Sides.all(inch(border)), **more)


def under(reveal: str = "1/4", board: str = "BLACK", **more: Any) -> MatSpec:
    return MatSpec(board, reveal=Sides.all(inch(reveal)), **more)


def placed(*windows: tuple[str, str, str], shape: Shape = "rectangle") -> Placed:
    """Windows by the size of their art and where they lie: ("8 x 10", "2", "3")."""
    return Placed(tuple(PlacedWindow(art(text), inch(x), inch(y), shape) for text, x, y in windows))


PLAIN = JobSpec(
    artwork=art(),
    presentation="overlap",
    overlap=inch("1/8"),
    mats=(mat(),),
    glazing=GlazingSpec("CLEAR"),
    mounting=MountingSpec("hinged", "WHITE"),
    backing="FOAM",
    frames=(FrameSpec("OAK"),),
)
"""An 8 x 10 under one white mat of 2 in, glass, oak."""
BARE = JobSpec(artwork=art(), presentation="full_bleed", frames=(FrameSpec("OAK"),))
"""An 8 x 10 in oak and nothing else."""
CANVAS = JobSpec(
    artwork=art("16 x 20", kind="canvas"), presentation="floater", frames=(FrameSpec("FLOAT"),)
)
"""A canvas in a floater."""


def spec(start: JobSpec = PLAIN, **more: Any) -> JobSpec:
    return replace(start, **more)


def job(start: JobSpec = PLAIN, *, shop: Basis = SHOP, **more: Any) -> Job:
    return assemble(spec(start, **more), shop.shop, shop.catalogue)


def done(start: JobSpec = PLAIN, *, shop: Basis = SHOP, **more: Any) -> JobEstimate:
    return estimate_job(job(start, shop=shop, **more), shop)


def faults(start: JobSpec = PLAIN, *, shop: Basis = SHOP, **more: Any) -> list[Fault]:
    """The faults that a job is refused for; empty where it is not."""
    try:
        done(start, shop=shop, **more)
    except JobRefused as refused:
        return list(refused.faults())
    return []


def refusals(start: JobSpec = PLAIN, **more: Any) -> dict[str, str]:
    """The codes that a job is refused for, by their pointers."""
    return {fault.pointer: fault.code for fault in faults(start, **more)}


def advisories(start: JobSpec = PLAIN, *, shop: Basis = SHOP, **more: Any) -> dict[str, str]:
    """What is said about a job: severity by code and pointer, "code /pointer"."""
    said = done(start, shop=shop, **more).advisories
    return {f"{a.code} {a.pointer}".strip(): a.severity for a in said}
