"""Hanging: rings a part of the height down, and the length of the wire between them."""

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.errors import BadValue
from service.domain.jobs.hanging import Hung, hanging, hung
from service.domain.measure.length import ZERO
from service.domain.shop import Hanging, Method, SupplyUse
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import BARE, job

PLAIN_WIRE = Hanging(wire_knot=ZERO, wire_step=ZERO)
"""No knots and no rounding: the wire is what runs between the rings."""


def test_the_rings_sit_a_third_down_and_an_inch_in():
    # published: D-rings a third of the full height down (Oklahoma Museums Association, bulletin
    # 23): 24 high, 8 from the top. One inch in: common practice, no source.
    found = hung(size("22 x 24"), Hanging())
    assert (found.ring_drop, found.ring_inset, found.span) == (inch("8"), inch("1"), inch("20"))


@pytest.mark.parametrize(
    ("outside", "rise", "wire"),
    [
        ("22 x 24", "4", "21.540660"),  # 2·√(10² + 4²) = √464
        ("32 x 30", "6", "32.310989"),  # 2·√(15² + 6²) = √1044
    ],
)
def test_the_wire_is_the_two_sides_of_its_triangle(outside, rise, wire):
    # Worked out from the triangle; a rise of a fifth is common practice, no source.
    found = hung(size(outside), PLAIN_WIRE)
    assert found.rise == inch(rise)
    assert abs(found.wire.in_inches() - Fraction(wire)) < Fraction(1, 1000)


def test_a_rise_of_three_over_twenty_four_gives_the_published_wire():
    # Worked out from 2·√((s/2)² + r²): rings 24 apart, rise 3: 24.739 in.
    found = hung(size("26 x 30"), Hanging(wire_parts=Fraction(8), wire_knot=ZERO, wire_step=ZERO))
    assert (found.span, found.rise) == (inch("24"), inch("3"))
    assert round(found.wire.in_inches(), 3) == Fraction("24.739")


def test_knots_are_added_and_the_wire_is_rounded_up():
    # common practice, no source: 4 in a side for the knot; 21.54 + 8 = 29.54, cut 30.
    assert hung(size("22 x 24"), Hanging()).wire == inch("30")
    assert hung(size("22 x 24"), Hanging(wire_step=inch("1/4"))).wire == inch("29 3/4")


def test_the_wires_top_stays_below_the_frames_edge():
    # Rings 4 down; the top stays 2 below the edge, so the wire rises by 2 and not by 30/5.
    found = hung(size("32 x 12"), PLAIN_WIRE)
    assert (found.ring_drop, found.rise) == (inch("4"), inch("2"))


@pytest.mark.parametrize(
    ("height", "flat"), [("24", False), ("14", False), ("13 3/4", False), ("12", True), ("4", True)]
)
def test_a_wire_that_carries_more_than_twice_the_weight_is_flat(height, flat):
    # T/W = √((s/2)² + r²)/(2r), at s = 20: 2.00 where r = 20/√60 = 2.582, rings 4.582 down.
    assert hung(size(f"22 x {height}"), Hanging()).flat() is flat


def test_a_wire_without_rise_is_flat_however_short():
    assert hung(size("3 x 3"), Hanging()).flat()


def test_the_rings_of_a_narrow_frame_sit_a_quarter_of_its_width_in():
    found = hung(size("2 x 9"), Hanging())
    assert (found.ring_inset, found.span) == (inch("1/2"), inch("1"))


@pytest.mark.parametrize(
    ("rails", "inset"),
    [
        # Behind its rabbet OAK is 1 1/4 - 1/4 = 1 in wide, as wide as the inset; PLAIN 1 1/4.
        ("OAK", "1"),
        ("PLAIN", "1"),
        # SLIM is 5/16 wide behind its rabbet: the rings sit 1/4 in, in the middle of its 1/2.
        ("SLIM", "1/4"),
        ("FLOAT", "3/16"),
    ],
)
def test_the_rings_sit_on_the_rails(rails, inset):
    # common practice, no source: a screw 1 in inside a face of 1/2 in would meet no wood.
    found = hung(size("22 x 24"), Hanging(), basis().catalogue.items[rails])
    assert (found.ring_inset, found.span) == (inch(inset), inch("22") - 2 * inch(inset))


def test_a_wire_without_room_to_rise_is_as_long_as_its_span():
    found = hung(size("22 x 1"), PLAIN_WIRE)
    assert (found.rise, found.wire) == (ZERO, found.span)


@pytest.mark.parametrize("name", ["ring_parts", "wire_parts"])
def test_a_length_is_divided_into_two_parts_or_more(name):
    with pytest.raises(BadValue) as refused:
        Hanging(**{name: Fraction(3, 2)})
    assert refused.value.where == f"/{name}"


def test_a_job_hangs_by_what_its_finishing_uses():
    ring = Method("rings", "rings", "hanging_sets", (SupplyUse("piece", Fraction(1), role="hook"),))
    two = Method("two", "two", "hanging_sets", (SupplyUse("piece", Fraction(1), role="hanger"),))
    wire = Method("wire", "wire", "hanging_sets", (SupplyUse("piece", Fraction(1), role="wire"),))
    shop = basis(finishing=(ring, two, wire)).shop
    outside = size("22 x 24")

    def found(*methods: Method):
        return hanging(replace(job(BARE), finishing=methods), outside, shop)

    assert found() is None
    assert found(ring) is None
    assert found(two) == Hung(inch("8"), inch("1"), inch("20"), ZERO, ZERO)
    assert not found(two).flat()
    assert found(wire) == hung(outside, shop.hanging)
