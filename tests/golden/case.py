"""What a golden case is, and how it is run: a minimal job through the whole calculation.

A case says where its figures stand, how sure that source is, and why our conventions give them.
Where the source counts otherwise (an overlap in total, a border to the art) the case converts it
openly, in `because`. The shop of the run has no habits of its own but those that the case names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec
from service.domain.jobs.mat import MatSpec
from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import Board, Catalogue, Glazing, Moulding
from service.domain.measure.length import Length, Sides
from service.domain.measure.money import Currency
from service.domain.measure.parse import read_length, read_size
from service.domain.measure.ruler import Ruler
from service.domain.prices.lists import PriceList, PriceRule
from service.domain.shop import Billing, Shop, Sizing
from tests.golden.figures import FIGURES

PUBLISHED = "published"
DERIVED = "worked out here from a published rule"
MEMORY = "value from memory"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class Case:
    """One golden job.

    Attributes:
        name: what the case is called.
        source: where the figures were read.
        mark: PUBLISHED, DERIVED, MEMORY or PRACTICE.
        because: why our conventions give this figure, with every conversion.
        given: what the job and the shop are made of, as text (see `run`).
        expected: figures by name (see `FIGURES`), as text in the case's unit.
        near: how far a figure may lie from the printed one, where the source rounds.
    """

    name: str
    source: str
    mark: str
    because: str
    given: Mapping[str, str]
    expected: Mapping[str, str]
    unit: str = "in"
    near: str = "0"
    facts: Mapping[str, Fraction] = field(default_factory=dict)


def run(case: Case) -> JobEstimate:
    """The case's job, worked out.

    `given` knows: art, presentation, overlap, border (one, or top/right/bottom/left), fit_to,
    bottom_weight, mats (how many), reveals (of the under mats), board, glazing (kind, thickness),
    backing (thickness), face, rabbet, depth, sides, allowance.
    """
    basis = basis_of(case)
    return estimate_job(assemble(_spec(case), basis.shop, basis.catalogue), basis)


def basis_of(case: Case) -> Basis:
    """The shop, items and prices that the case is worked out in."""
    given, unit = case.given, case.unit
    shop = Shop(
        code="golden",
        name="Invented shop without habits",
        currency="USD",
        time_zone="Etc/UTC",
        ruler=Ruler("in", read_length("1/64", "in")),
        sizing=Sizing(
            allowance=read_length(given.get("allowance", "0"), unit), plastic_clearance=()
        ),
        billing=Billing(
            linear_foot_step=Fraction(given.get("feet_step", "0.000001")),
            linear_foot_minimum=Fraction(given.get("feet_minimum", "0")),
        ),
    )
    return Basis(shop, _catalogue(case), LabourStandard("none", Fraction(0), ()), _prices(case))


def _spec(case: Case) -> JobSpec:
    given, unit = case.given, case.unit
    mats = int(given.get("mats", "0"))
    reveals = given.get("reveals", "").split()
    fit_to = read_size(given["fit_to"], unit) if "fit_to" in given else None
    border = None if fit_to or not mats else _sides(given["border"], unit)
    under = [MatSpec("BOARD", reveal=Sides.all(read_length(each, unit))) for each in reveals]
    return JobSpec(
        artwork=Artwork(
            read_size(given["art"], unit), read_length(given.get("thickness", "0"), unit)
        ),
        presentation="overlap" if mats else "full_bleed",
        overlap=read_length(given.get("overlap", "0"), unit) if mats else None,
        mats=(MatSpec("BOARD", border=border), *under) if mats else (),
        fit_to=fit_to,
        bottom_weight=_maybe(given, "bottom_weight", unit),
        glazing=GlazingSpec("GLAZING") if "glazing" in given else None,
        backing="BACKING" if "backing" in given else "",
        frames=(FrameSpec("MOULDING", sides=int(given.get("sides", "4"))),)
        if "face" in given
        else (),
    )


def _maybe(given: Mapping[str, str], name: str, unit: str) -> Length | None:
    return read_length(given[name], unit) if name in given else None


def _sides(text: str, unit: str) -> Sides:
    read = [read_length(part, unit) for part in text.split("/ ")]
    return Sides(*read) if len(read) == 4 else Sides.all(*read)


def _catalogue(case: Case) -> Catalogue:
    given, unit, facts = case.given, case.unit, case.facts
    huge = (read_size("10 x 10 ft", "in"),)
    kind, thickness = given.get("glazing", "glass 2 mm").split(" ", 1)
    items = (
        Moulding(
            code="MOULDING",
            description="As the case gives it",
            face_width=read_length(given.get("face", "2"), unit),
            rabbet_width=read_length(given.get("rabbet", "1/4"), unit),
            rabbet_depth=read_length(given.get("depth", "1"), unit),
            stick_lengths=(read_length("9 ft", "in"),),
            weight_kg_per_m=facts.get("moulding_kg_per_m", Fraction(0)),
        ),
        Board(
            code="BOARD",
            description="Mat board",
            thickness=read_length(given.get("board", "1/16 in"), unit),
            sheets=huge,
            weight_kg_per_m2=facts.get("board_kg_per_m2", Fraction(0)),
        ),
        Board(
            code="BACKING",
            description="Backing",
            thickness=read_length(given.get("backing", "1 mm"), unit),
            sheets=huge,
            uses=("backing",),
            weight_kg_per_m2=facts.get("backing_kg_per_m2", Fraction(0)),
        ),
        Glazing(
            code="GLAZING",
            description="Glazing",
            kind=kind,  # type: ignore[arg-type]
            thickness=read_length(thickness, unit),
            sheets=huge,
        ),
    )
    return Catalogue({item.code: item for item in items}, {})


def _prices(case: Case) -> PriceList:
    """Mouldings by the foot at the case's rate; nothing else costs anything here."""
    rate = case.facts.get("per_foot", Fraction(0))
    rules = [
        PriceRule(code=part, component=part, basis="piece", method="rate", rate=Fraction(0))
        for part in ("mat", "glazing", "backing")
    ]
    frame = PriceRule(
        code="frame", component="frame", basis="linear_foot", method="rate", rate=rate
    )
    return PriceList("golden", Currency("USD"), date(2026, 1, 1), [frame, *rules])


PER_UNIT = {"in": Fraction(1), "mm": Fraction(10, 254), "cm": Fraction(100, 254)}
"""Inches a unit."""


def plain(text: str) -> Fraction:
    """The number that a figure's text says: 16 3/8, 8.28427."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def misses(case: Case) -> list[str]:
    """The figures that come out otherwise than expected; empty where all is well."""
    done, found = run(case), []
    for name, text in case.expected.items():
        figure = FIGURES[name](done)
        if isinstance(figure, Length):
            figure = figure.in_inches() / PER_UNIT[case.unit]
        if abs(figure - plain(text)) > Fraction(case.near):
            found.append(f"{case.name}: {name} is {float(figure)}, not {text}")
    return found
