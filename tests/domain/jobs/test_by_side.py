"""An overlap or a float margin that differs by side: sizes and places by hand.

Art of 10 x 14 in; what each side covers or shows is the customer's wish, so the sums are plain
arithmetic, written beside each figure.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from service.domain.estimates.calculation import estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import JobSpec, MatSpec
from service.domain.jobs.places import art_places
from service.domain.measure.length import Length, Sides, Size
from tests.domain.bench_shop import basis

ART = Artwork(Size(Length.inches(10), Length.inches(14)))


def inch(text: str) -> Length:
    return Length.inches(Fraction(text))


def four(text: str) -> Sides:
    return Sides(*map(inch, text.split()))


def test_an_overlap_by_side() -> None:
    spec = JobSpec(
        artwork=ART,
        presentation="overlap",
        overlap=inch("1/8"),
        by_side=four("1/8 1/4 1/2 3/8"),
        mats=(MatSpec("WHITE", border=Sides.all(inch("3"))),),
    )
    shop = basis()
    done = estimate_job(assemble(spec, shop.shop, shop.catalogue), shop)
    opening = done.sizes.opening
    assert opening is not None
    assert opening.width == inch("75/8")  # 10 - 1/4 - 3/8
    assert opening.height == inch("107/8")  # 14 - 1/8 - 1/2
    (place,) = art_places(done.job, done.sizes)
    assert place.x == inch("21/8")  # 3 - 3/8: the art reaches that far under the left border
    assert place.y == inch("23/8")  # 3 - 1/8
    assert place.margins.right == inch("11/4")  # 3 - 1/4
    assert place.margins.bottom == inch("5/2")  # 3 - 1/2


def test_a_float_margin_by_side() -> None:
    spec = JobSpec(
        artwork=ART,
        presentation="float",
        float_margin=inch("1"),
        by_side=four("1 1 2 1"),
        backing="FOAM",
    )
    shop = basis()
    done = estimate_job(assemble(spec, shop.shop, shop.catalogue), shop)
    package = done.sizes.package
    assert package == Size(inch("12"), inch("17"))  # 10 + 1 + 1, 14 + 1 + 2
    (place,) = art_places(done.job, done.sizes)
    assert (place.x, place.y, place.margins.bottom) == (inch("1"), inch("1"), inch("2"))


def test_equal_sides_are_the_same_as_one_length() -> None:
    shop = basis()
    plain = JobSpec(artwork=ART, presentation="float", float_margin=inch("1"), backing="FOAM")
    by_side = replace(plain, by_side=four("1 1 1 1"))
    one, other = (
        estimate_job(assemble(spec, shop.shop, shop.catalogue), shop) for spec in (plain, by_side)
    )
    assert one.sizes == other.sizes
    assert one.lines == other.lines
