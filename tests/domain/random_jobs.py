"""Random jobs for the invented shop: most make sense, some are refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st

from service.domain.jobs.artwork import ART_KINDS, Artwork
from service.domain.jobs.job import (
    Conditions,
    Discount,
    FrameSpec,
    GlazingSpec,
    JobSpec,
    MountingSpec,
)
from service.domain.jobs.mat import BEVELS, Grid, Layout, MatSpec, Placed, PlacedWindow, Single
from service.domain.jobs.notes import Note
from service.domain.measure.length import Length, Sides, Size

SIXTEENTH = Length.inches(Fraction(1, 16)).ticks


def lengths(least: str, most: str) -> st.SearchStrategy[Length]:
    """Lengths between two numbers of inches, some on 1/16 in and some on 0.1 mm."""
    low, high = Length.inches(Fraction(least)).ticks, Length.inches(Fraction(most)).ticks
    inches = st.integers(-(-low // SIXTEENTH), high // SIXTEENTH).map(
        lambda n: Length(n * SIXTEENTH)
    )
    metric = st.integers(-(-low // 1600), high // 1600).map(lambda n: Length(n * 1600))
    return inches | metric


def sides(least: str, most: str) -> st.SearchStrategy[Sides]:
    """Equal or unequal sides."""
    return lengths(least, most).map(Sides.all) | st.builds(Sides, *[lengths(least, most)] * 4)


def artworks(largest: str = "40") -> st.SearchStrategy[Artwork]:
    """Artworks from 2 in to `largest`."""
    return st.builds(
        Artwork,
        st.builds(Size, lengths("2", largest), lengths("2", largest)),
        lengths("0", "1/4"),
        st.sampled_from(sorted(ART_KINDS)),
    )


SHAPES = st.sampled_from(["rectangle", "ellipse", "arch"])


@st.composite
def placements(draw: st.DrawFn) -> Placed:
    """Windows in a row, each to the right of the last one."""
    windows, x = [], draw(lengths("2", "3"))
    for _ in range(draw(st.integers(1, 3))):
        artwork = draw(artworks("8"))
        windows.append(PlacedWindow(artwork, x, draw(lengths("2", "4")), draw(SHAPES)))
        x = x + artwork.size.width + draw(lengths("3", "4"))
    return Placed(tuple(windows))


def layouts() -> st.SearchStrategy[Layout]:
    grids = st.builds(Grid, st.integers(1, 3), st.integers(1, 3), lengths("1/4", "2"), SHAPES)
    return st.builds(Single, SHAPES) | grids | placements()


FILLETS = st.sampled_from(["", "", "GILT"])
FRAMES = st.builds(
    FrameSpec,
    st.sampled_from(["OAK", "PLAIN", "LIP", "SLIM", "METAL"]),
    st.sampled_from([None, "length", "chop", "join"]),
    st.just(4),
    FILLETS,
)
GLAZINGS = st.none() | st.builds(
    GlazingSpec,
    st.sampled_from(["CLEAR", "PLASTIC", "LAMINATE", "TOUGH", "MIRROR"]),
    st.sampled_from([None, Length.inches(Fraction(1, 8))]),
)
MOUNTINGS = st.none() | st.builds(
    MountingSpec, st.sampled_from(["", "hinged", "dry_mounted"]), st.sampled_from(["", "WHITE"])
)
FINISHING = st.sampled_from([(), ("wire",), ("dust_cover",), ("dust_cover", "wire")])
ROUNDS = st.just(()) | st.lists(lengths("1/16", "1"), max_size=2, unique=True).map(tuple)
BOARDS = st.sampled_from(["WHITE", "BLACK", "THICK", "WEAVE"])


@st.composite
def matted(draw: st.DrawFn, *, reshaped: bool = True) -> JobSpec:
    """A job with one to three mats, by border or by fit_to."""
    presentation = draw(st.sampled_from(["overlap", "float"]))
    fit_to = draw(st.none() | st.builds(Size, lengths("20", "60"), lengths("20", "60")))
    border = None if fit_to else draw(sides("1", "4"))
    bevels = st.sampled_from(BEVELS)
    top = MatSpec(
        draw(BOARDS), border, bevel=draw(bevels), fillet=draw(FILLETS), grooves=draw(ROUNDS)
    )
    below = [
        MatSpec(
            draw(BOARDS),
            reveal=draw(sides("1/16", "1/2")),
            fillet=draw(FILLETS),
            ruled_lines=draw(ROUNDS),
        )
        for _ in range(draw(st.integers(0, 2)))
    ]
    openings = draw(layouts()) if reshaped else Single()
    if fit_to and not isinstance(openings, Placed):
        weight = draw(st.none() | lengths("0", "1"))
    else:
        weight = None
    return JobSpec(
        artwork=draw(artworks()),
        presentation=presentation,
        overlap=draw(lengths("1/16", "1/2")) if presentation == "overlap" else None,
        float_margin=draw(lengths("1/4", "1")) if presentation == "float" else None,
        quantity=draw(st.sampled_from([1, 1, 2, 5, 12])),
        openings=openings,
        mats=(top, *below),
        fit_to=fit_to,
        bottom_weight=weight,
        glazing=draw(GLAZINGS),
        mounting=draw(MOUNTINGS),
        backing=draw(st.sampled_from(["", "FOAM"])),
        frames=draw(st.lists(FRAMES, max_size=2).map(tuple)),
        finishing=draw(FINISHING),
        preservation_grade=draw(st.sampled_from([None, 1, 4])),
    )


@st.composite
def unmatted(draw: st.DrawFn) -> JobSpec:
    """A job without a mat: full bleed, floated, or a canvas in a floater."""
    presentation = draw(st.sampled_from(["full_bleed", "float", "floater"]))
    floater = presentation == "floater"
    frames = [FrameSpec("FLOAT")] if floater else draw(st.lists(FRAMES, max_size=2))
    return JobSpec(
        artwork=draw(artworks()),
        presentation=presentation,
        gap=draw(st.none() | lengths("0", "1/2")) if floater else None,
        quantity=draw(st.sampled_from([1, 3, 5])),
        glazing=None if floater else draw(GLAZINGS),
        backing="" if floater else draw(st.sampled_from(["", "FOAM"])),
        frames=tuple(frames),
        finishing=draw(FINISHING),
    )


def job_specs() -> st.SearchStrategy[JobSpec]:
    """Any job at all."""
    return matted() | unmatted()


PERCENTS = st.sampled_from(["0.5", "5", "7.25", "33.333", "50", "100"]).map(Fraction)
AMOUNTS = st.integers(1, 5_000).map(lambda cents: Fraction(cents, 100))


@st.composite
def discounts(draw: st.DrawFn, *, one_component: bool = True) -> Discount:
    """A discount of a percent or an amount, on everything or on one component's lines."""
    components = st.sampled_from(["", "", "frame", "mat", "labour", "fee"])
    component = draw(components) if one_component else ""
    if draw(st.booleans()):
        return Discount(reason="drawn", percent=draw(PERCENTS), component=component)
    return Discount(reason="drawn", amount=draw(AMOUNTS), component=component)


NOTES = st.builds(Note, st.sampled_from(["Call first", "Two\nlines"]), st.booleans())


@st.composite
def special_specs(draw: st.DrawFn) -> JobSpec:
    """Any job, with fees and discounts of the shop that has them (`bench_shop.special`)."""
    fees = draw(st.sampled_from([(), ("rush",), ("packing",), ("packing", "rush")]))
    given = draw(st.lists(discounts(), max_size=2).map(tuple))
    notes = draw(st.lists(NOTES, max_size=2).map(tuple))
    return replace(draw(job_specs()), fees=fees, discounts=given, notes=notes)


def conditions() -> st.SearchStrategy[Conditions]:
    """What a document is priced under: discounts, an exempt customer, another place."""
    return st.builds(
        Conditions,
        discounts=st.lists(discounts(one_component=False), max_size=2).map(tuple),
        exempt=st.sampled_from(["", "", "school"]),
        place=st.sampled_from(["", "", "upriver"]),
        notes=st.lists(NOTES, max_size=2).map(tuple),
    )


def rising(values: list[Length]) -> bool:
    """Whether each is longer than the one before."""
    return all(one < other for one, other in pairwise(values))
