"""Random orders for the apprentice: jobs of all kinds, in every material, in inches and metric."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from service.demo import (
    demo_catalogue,
    demo_jobs,
    demo_labour_standard,
    demo_price_list,
    demo_shop,
)
from service.domain.bench.materials import MATERIALS
from service.domain.errors import DomainError
from service.domain.estimates.calculation import Basis
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import GlazingSpec, JobSpec, MountingSpec
from service.domain.materials.catalogue import Board, Glazing
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import MaterialWay
from tests.apprentice.press import Printed, document_of, print_ticket
from tests.domain.bench_shop import inch
from tests.domain.random_jobs import job_specs
from tests.domain.tickets.random_jobs import benches, lengths, specs
from tests.domain.tickets.shop_jobs import every_material

RULERS = (
    Ruler("in", inch("1/16")),
    Ruler("in", inch("1/32")),
    Ruler("mm", Length.millimetres(1)),
    Ruler("cm", Length.millimetres(1)),
)
REFUSED: Counter[str] = Counter()
"""Orders that were refused, or stopped before the bench, by the name of the refusal."""
SPACERS = st.sampled_from([None, None, inch("1/8")])


@st.composite
def shops(draw: st.DrawFn) -> Basis:
    """A shop with every material; its ruler, its cutter and some of its ways differ."""
    bench = draw(benches())
    if draw(st.integers(0, 3)) == 0:
        bench = replace(bench, ways=draw(_ways()))
    return every_material(bench=bench, ruler=draw(st.sampled_from(RULERS)))


def _ways() -> st.SearchStrategy[tuple[MaterialWay, ...]]:
    code = st.sampled_from(sorted(MATERIALS))
    one = code.flatmap(
        lambda code: st.builds(MaterialWay, st.just(code), st.sampled_from(MATERIALS[code].cut_by))
    )
    return st.lists(one, max_size=3, unique_by=lambda way: way.material).map(tuple)


def shop_of(unit: str) -> Basis:
    """Return a shop with every material whose ruler reads inches or millimetres."""
    return every_material(ruler=RULERS[0] if unit == "in" else RULERS[2])


def demo_tickets() -> list[tuple[str, Printed]]:
    """Return the tickets of the demo's jobs in the demo's shop."""
    shop = demo_shop()
    basis = Basis(shop, demo_catalogue(), demo_labour_standard(), demo_price_list())
    return [
        (name, print_ticket(job, basis, document["units"]))
        for name, document in demo_jobs().items()
        for job in document["jobs"]
    ]


@st.composite
def asked(draw: st.DrawFn, shop: Basis) -> JobSpec:
    """A job: drawn by the tests of the domain, with more mountings, boards and spacers."""
    spec = draw(specs(shop) | specs(shop) | job_specs())
    if spec.mats and draw(st.integers(0, 3)) == 0:
        away = st.lists(lengths(16, 48), max_size=2, unique=True).map(tuple)
        first = replace(spec.mats[0], grooves=draw(away), ruled_lines=draw(away))
        spec = replace(spec, mats=(first, *spec.mats[1:]))
    if draw(st.booleans()) or spec.presentation == "floater":
        return spec
    lites = [item.code for item in shop.catalogue.of_type(Glazing)]
    boards = [item for item in shop.catalogue.of_type(Board) if "backing" in item.uses]
    methods = ["", *(method.code for method in shop.shop.mounting if method.code != "screwed")]
    more: dict[str, Any] = {
        "glazing": draw(st.none() | st.builds(GlazingSpec, st.sampled_from(lites), SPACERS)),
        "mounting": draw(
            st.none()
            | st.builds(MountingSpec, st.sampled_from(methods), st.sampled_from(["", "WHITE"]))
        ),
        "backing": draw(st.sampled_from(["", *(board.code for board in boards)])),
    }
    if spec.artwork is not None:
        kind = draw(st.sampled_from([spec.artwork.kind, "object", "textile"]))
        more["artwork"] = Artwork(spec.artwork.size, spec.artwork.thickness, kind)
    return replace(spec, **more)


@st.composite
def tickets(draw: st.DrawFn) -> Printed:
    """A printed ticket; jobs that are refused, or stopped before the bench, are passed over."""
    shop = draw(shops())
    document = document_of(draw(asked(shop)))
    try:
        return print_ticket(document, shop)
    except DomainError as refused:
        REFUSED[type(refused).__name__] += 1
        assume(False)
        raise
