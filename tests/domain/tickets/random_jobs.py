"""Random jobs for properties of tickets: unequal borders, mats, windows, bevels, both units."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import assume
from hypothesis import strategies as st

from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec, MountingSpec
from service.domain.jobs.mat import Grid, MatSpec, Placed, PlacedWindow, Single
from service.domain.materials.catalogue import Board, Glazing, Moulding
from service.domain.measure.length import Length, Sides, Size
from service.domain.shop import Bench
from tests.domain.bench_shop import basis, inch

TICK_64TH, TICK_TENTH_MM = 6_350, 1_600


@st.composite
def lengths(draw: st.DrawFn, low: int, high: int) -> Length:
    """A length between so many 64ths, on the inch's grid or on that of 0.1 mm."""
    if draw(st.booleans()):
        return Length(TICK_64TH * draw(st.integers(low, high)))
    bottom, top = low * TICK_64TH // TICK_TENTH_MM + 1, high * TICK_64TH // TICK_TENTH_MM
    return Length(TICK_TENTH_MM * draw(st.integers(bottom, max(bottom, top))))


@st.composite
def sides(draw: st.DrawFn, low: int, high: int) -> Sides:
    """Four lengths: all equal, two pairs, or each its own."""
    kind = draw(st.integers(0, 2))
    if kind == 0:
        return Sides.all(draw(lengths(low, high)))
    a, b = draw(lengths(low, high)), draw(lengths(low, high))
    if kind == 1:
        return Sides(a, b, a, b)
    return Sides(a, b, draw(lengths(low, high)), draw(lengths(low, high)))


@st.composite
def mats(draw: st.DrawFn) -> tuple[MatSpec, ...]:
    """One to four mats; boards of two thicknesses, all bevels, now and then a fillet."""
    boards = st.sampled_from(["WHITE", "BLACK", "THICK"])
    bevels = st.sampled_from(["standard", "standard", "reverse", "straight"])
    made = [
        MatSpec(
            draw(boards),
            border=draw(sides(48, 400)),
            bevel=draw(bevels),
            fillet=draw(st.sampled_from(["", "", "GILT"])),
            grooves=draw(st.sampled_from([(), (), (inch("1/4"),), (inch("1/4"), inch("3/8"))])),
        )
    ]
    for _ in range(draw(st.integers(0, 3))):
        made.append(MatSpec(draw(boards), reveal=draw(sides(4, 24)), bevel=draw(bevels)))
    return tuple(made)


@st.composite
def layouts(draw: st.DrawFn) -> Single | Grid | Placed:
    """One window, a grid of them, or a row of unequal ones placed by hand."""
    shapes = st.sampled_from(["rectangle", "rectangle", "rectangle", "ellipse", "arch"])
    kind = draw(st.sampled_from(["single", "single", "grid", "placed"]))
    if kind == "single":
        return Single(draw(shapes))
    if kind == "grid":
        return Grid(
            draw(st.integers(1, 3)), draw(st.integers(1, 3)), draw(lengths(0, 96)), draw(shapes)
        )
    x, windows = Length(0) + draw(lengths(420, 500)), []
    for _ in range(draw(st.integers(1, 4))):
        art = Size(draw(lengths(130, 400)), draw(lengths(130, 400)))
        y = draw(lengths(420, 700))
        windows.append(PlacedWindow(Artwork(art), x, y, draw(shapes)))
        x = x + art.width + draw(lengths(160, 300))
    return Placed(tuple(windows))


@st.composite
def specs(draw: st.DrawFn, shop: Basis) -> JobSpec:
    """A job that a shop might be asked for, in any material of the shop."""
    layout = draw(layouts())
    width = draw(lengths(130, 1000))
    height = width if draw(st.integers(0, 5)) == 0 else draw(lengths(130, 1000))
    kind = draw(st.sampled_from(["overlap", "overlap", "overlap", "float", "full_bleed"]))
    if kind == "full_bleed":
        layout = Single()
    frames = draw(st.lists(st.sampled_from(_codes(shop, Moulding)), max_size=2))
    many_sides = draw(st.sampled_from([4, 4, 4, 8, 12])) if width == height else 4
    lites = [None, *map(GlazingSpec, _codes(shop, Glazing))]
    backings = [b.code for b in shop.catalogue.of_type(Board) if "backing" in b.uses]
    finishing = st.lists(st.sampled_from([m.code for m in shop.shop.finishing]), unique=True)
    return JobSpec(
        artwork=Artwork(Size(width, height), Length(TICK_64TH)),
        presentation=kind,
        quantity=draw(st.sampled_from([1, 1, 2, 7])),
        mats=() if kind == "full_bleed" else draw(mats()),
        openings=layout,
        glazing=draw(st.sampled_from(lites)),
        mounting=draw(st.sampled_from([None, MountingSpec("hinged", "WHITE")])),
        backing=draw(st.sampled_from(["", *backings])),
        frames=tuple(
            FrameSpec(code, draw(st.sampled_from(["length", "chop", "join"])), many_sides)
            for code in frames
        ),
        finishing=tuple(draw(finishing)),
    )


def _codes(shop: Basis, kind: type[Moulding] | type[Glazing]) -> list[str]:
    found = shop.catalogue.of_type(kind)  # type: ignore[type-var]
    return [item.code for item in found if not getattr(item, "floater", False)]


@st.composite
def benches(draw: st.DrawFn) -> Bench:
    """A cutter with or without stops, some of them with little reach."""
    return Bench(
        stops=draw(st.booleans()),
        stops_from_quantity=draw(st.sampled_from([1, 2, 5])),
        squaring_arm=inch(draw(st.sampled_from(["10", "27"]))),
        rail=inch(draw(st.sampled_from(["20", "60"]))),
        widest_guide=inch(draw(st.sampled_from(["3", "6"]))),
    )


@st.composite
def estimates(
    draw: st.DrawFn, make_shop: Callable[..., Basis] = basis
) -> tuple[JobEstimate, Basis]:
    """A job worked out in the invented shop; jobs that are refused or stopped are passed over."""
    shop = make_shop(bench=draw(benches()))
    try:
        made = estimate_job(assemble(draw(specs(shop)), shop.shop, shop.catalogue), shop)
    except JobRefused:
        assume(False)
        raise
    assume(not any(advisory.severity == "stop" for advisory in made.advisories))
    return made, shop
