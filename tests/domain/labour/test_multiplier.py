"""Multipliers on bench time, and what an hour at the bench costs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.demo import demo_catalogue, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import BadValue
from service.domain.estimates.calculation import Basis, estimate_job
from service.domain.estimates.sweep import MouldingSweep
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import Job
from service.domain.labour.multiplier import Multiplier, factors
from service.domain.labour.standard import Hour, LabourStandard, Scaled, hourly_cost
from service.domain.materials.catalogue import Moulding
from service.domain.measure.length import Length, Size

# The three figures: common practice, no source.
WIDE = Multiplier(
    code="wide",
    looks_at="face_width",
    over=Fraction(3),
    operations=("cut_rail", "join_corner"),
    factor=Fraction("1.3"),
)
GILT = Multiplier(
    code="gilt",
    looks_at="moulding_group",
    groups=("gilt",),
    operations=("join_corner",),
    factor=Fraction("1.5"),
)
LARGE = Multiplier(
    code="large",
    looks_at="art_united_inches",
    over=Fraction(60),
    operations=("fit", "fit_size"),
    factor=Fraction(2),
)
PLAIN = demo_labour_standard()
STANDARD = replace(PLAIN, multipliers=(WIDE, GILT, LARGE))
MOULDINGS = [m for m in demo_catalogue().of_type(Moulding) if not m.floater]
NARROW = next(m for m in MOULDINGS if m.code == "MLD-OAK125")
BROAD = replace(NARROW, code="BROAD", face_width=Length.inches("3.5"))


def framed(moulding: Moulding, width: int, height: int) -> Job:
    art = Artwork(Size(Length.inches(width), Length.inches(height)))
    frames = (Frame(moulding),)
    return Job(label="", quantity=3, artwork=art, presentation="full_bleed", frames=frames)


@pytest.mark.parametrize(
    ("moulding", "size", "expected"),
    [
        (NARROW, (30, 30), {}),  # 60 united inches are not over 60
        (NARROW, (30, 31), {"fit": 2, "fit_size": 2}),
        (replace(NARROW, face_width=Length.inches(3)), (8, 10), {}),
        (BROAD, (8, 10), {"cut_rail": Fraction("1.3"), "join_corner": Fraction("1.3")}),
        (
            replace(BROAD, group="gilt"),
            (8, 10),
            {"cut_rail": Fraction("1.3"), "join_corner": Fraction("1.95")},
        ),
    ],
)
def test_a_multiplier_applies_where_its_jobs_are(
    moulding: Moulding, size: tuple[int, int], expected: dict[str, Fraction]
) -> None:
    assert factors(STANDARD.multipliers, framed(moulding, *size)) == expected


def basis(standard: LabourStandard) -> Basis:
    return Basis(demo_shop(), demo_catalogue(), standard, demo_price_list())


def test_minutes_are_those_of_the_standard_times_the_factor() -> None:
    job = framed(BROAD, 24, 40)
    done = estimate_job(replace(job, frames=(Frame(NARROW),)), basis(STANDARD))
    plain = estimate_job(replace(job, frames=(Frame(NARROW),)), basis(PLAIN))
    before = {time.operation.code: time for time in plain.times}
    for time in done.times:
        doubled = 2 if time.operation.code in ("fit", "fit_size") else 1
        assert time.minutes == before[time.operation.code].minutes * doubled
        assert isinstance(time.operation, Scaled) == (doubled == 2)
    assert done.minutes > plain.minutes


def test_a_sweep_counts_multipliers_as_an_estimate_does() -> None:
    job = framed(NARROW, 24, 40)
    sweep = MouldingSweep(job, basis(STANDARD))
    seen = set()
    for moulding in MOULDINGS:
        choice = sweep.with_moulding(moulding)
        supply = "length" if "length" in moulding.supplies else moulding.supplies[0]
        alone = estimate_job(replace(job, frames=(Frame(moulding, supply),)), basis(STANDARD))
        assert choice.totals is not None
        assert choice.totals.subtotal == alone.subtotal
        seen.add(frozenset(factors(STANDARD.multipliers, replace(job, frames=(Frame(moulding),)))))
    assert len(seen) > 1  # some mouldings are gilt, so the factors did differ


def test_a_multiplier_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(BadValue, match="no operation juggle"):
        replace(PLAIN, multipliers=(replace(WIDE, operations=("juggle",)),))
    with pytest.raises(BadValue, match="a code of its own"):
        replace(PLAIN, multipliers=(WIDE, WIDE))
    for wrong in ({"factor": Fraction(0)}, {"groups": ("gilt",)}, {"looks_at": "mood"}):
        with pytest.raises(BadValue):
            replace(WIDE, **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("wages", "overhead", "hours", "expected"),
    [
        # Sign shop: $12,000 monthly overhead over 300 chargeable hours (signsofthetimes.com; F1).
        ("0", "12000", "300", "40"),
        # Cabinet shop: 15,700 over 3 men of 160 h, plus wages of 26.50 an hour (woodweb.com 2006;
        # F2): 59.21 to the cent.
        ("12720", "15700", "480", "59.208333"),
        # Another: (100,000 - 25,000) over 20 days, 4 people, 8 h (woodweb.com 2009; F3): 117.19.
        ("0", "75000", "640", "117.1875"),
    ],
)
def test_an_hour_costs_what_published_shops_reckoned(
    wages: str, overhead: str, hours: str, expected: str
) -> None:
    cost = hourly_cost(Fraction(wages), Fraction(overhead), Fraction(hours))
    assert round(cost, 6) == Fraction(expected)


def test_the_cost_of_an_hour_is_what_it_is_made_of() -> None:
    hour = Hour(Fraction(12720), Fraction(15700), Fraction(480))
    standard = replace(PLAIN, cost_per_hour=hour.cost(), hour=hour)
    assert standard.cost_per_hour == Fraction(28420, 480)
    with pytest.raises(BadValue, match="another cost"):
        replace(PLAIN, cost_per_hour=Fraction(1), hour=hour)
    with pytest.raises(BadValue, match="more than none"):
        Hour(Fraction(1), Fraction(1), Fraction(0))
