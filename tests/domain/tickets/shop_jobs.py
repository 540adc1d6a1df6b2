"""Jobs worked out in the invented shop, for tests of tickets, drawings and printing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec, MountingSpec
from service.domain.jobs.mat import Grid, MatSpec
from service.domain.materials.catalogue import Catalogue, Glazing, ItemCost
from service.domain.measure.length import Length, Sides
from service.domain.measure.parse import read_length
from service.domain.shop import Method
from service.domain.tickets.instructions import Step
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from tests.domain.bench_shop import basis, board, inch, moulding, size


def sides(text: str) -> Sides:
    """Four lengths in inches, round from the top: "3 | 2 1/2 | 3 1/2 | 2"."""
    return Sides(*(inch(part) for part in text.split("|")))


def spec(**more: Any) -> JobSpec:
    """A job with two mats, its border unequal on all four sides, with all its parts."""
    given: dict[str, Any] = {
        "artwork": Artwork(size("16 3/8 x 20"), inch("1/64")),
        "presentation": "overlap",
        "overlap": inch("1/8"),
        "label": "Harbour etching",
        "mats": (
            MatSpec("WHITE", border=sides("3 | 2 1/2 | 3 1/2 | 2")),
            MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
        ),
        "glazing": GlazingSpec("CLEAR"),
        "mounting": MountingSpec("hinged", "WHITE"),
        "backing": "FOAM",
        "frames": (FrameSpec("OAK"),),
        "finishing": ("dust_cover", "wire"),
    }
    return JobSpec(**{**given, **more})


def six_windows(**more: Any) -> JobSpec:
    """Two rows of three 5 x 7 photographs in a single mat, bars of 3/4."""
    given: dict[str, Any] = {
        "artwork": Artwork(size("5 x 7"), inch("1/64"), "photograph"),
        "openings": Grid(2, 3, inch("3/4")),
        "mats": (MatSpec("WHITE", border=sides("2 | 2 1/4 | 2 1/2 | 1 3/4")),),
    }
    return spec(**{**given, **more})


MATERIALS = (
    board("FIBRE", thickness=inch("1/8"), uses=("backing",), ply=None, cut_by="saw"),
    board("CARD", uses=("backing",), ply=None, worked_as="mat_board"),
    board("FOAM12", thickness=inch("1/2"), uses=("backing",), ply=None),
    *(
        Glazing(
            code=code,
            description=f"Invented glazing {code}",
            kind=kind,
            thickness=read_length(thickness, "mm"),
            sheets=(size("48 x 96"),),
            finish=finish,
            build=build,
        )
        for code, kind, thickness, finish, build in (
            ("COATED", "glass", "2 mm", "clear", "coated"),
            ("LAMINATED", "glass", "4.4 mm", "clear", "laminated"),
            ("LAMCOAT", "glass", "4.4 mm", "anti-reflective", "laminated"),
            ("MIRROR", "glass", "3 mm", "", "mirror"),
            ("THICKAC", "acrylic", "4.5 mm", "clear", "plain"),
            ("POLY", "polycarbonate", "3 mm", "clear", "plain"),
        )
    ),
    moulding("ALU", "3/8", "1/4", material="aluminium"),
    moulding("WRAPPED", "1", "1/4", material="fibreboard"),
    moulding("ALUFLOAT", "3/8", "0", material="aluminium", floater=True),
)
"""Items of every material that the bench works in a way of its own."""
METHODS = (
    Method("sealed", "edge tape", "", stage="seal"),
    Method("rabbet_tape", "foil tape", "", stage="rabbet"),
    Method("clips", "turn buttons", "", stage="fit"),
)


def every_material(**shop: Any) -> Basis:
    """The invented shop with items of every material, and methods of every stage."""
    plain = basis(**shop)
    own = replace(
        plain.shop,
        finishing=(*plain.shop.finishing, *METHODS),
        mounting=(
            *plain.shop.mounting,
            Method("screwed", "four screws from behind", "stretched_mounts", stage="fit"),
            Method("pasted", "hinges and paste", "hinged_mounts", wait="the paste is dry"),
        ),
    )
    items = {**plain.catalogue.items, **{item.code: item for item in MATERIALS}}
    costs = dict(plain.catalogue.costs)
    for item in MATERIALS:
        costs[item.code] = (ItemCost(item.code, "square_foot", Fraction(1)),)
    return replace(plain, shop=own, catalogue=Catalogue(items, costs))


def worked(asked: JobSpec, shop: Basis | None = None) -> tuple[JobEstimate, Basis]:
    """The job worked out, and the shop."""
    shop = shop or basis()
    return estimate_job(assemble(asked, shop.shop, shop.catalogue), shop), shop


def ticket(asked: JobSpec, shop: Basis | None = None) -> CutTicket:
    """The job's ticket."""
    made, shop = worked(asked, shop)
    return make_ticket(made, shop.shop)


def steps(made: CutTicket, work: str) -> list[Step]:
    """The steps of one kind of work."""
    return [step for step in made.steps if step.work == work]


def changes(made: CutTicket, work: str, what: str = "") -> list[Length | str]:
    """What is set, in order, in the steps of one kind of work: all components, or one of them."""
    return [
        change.to
        for step in steps(made, work)
        for part in step.parts
        for change in part.changes
        if what in ("", change.what)
    ]


def lines(made: CutTicket, work: str) -> list[str]:
    """The printed lines of the steps of one kind of work."""
    return [line for step in steps(made, work) for line in step.lines]
