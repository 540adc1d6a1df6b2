"""A shop's settings."""

from fractions import Fraction

import pytest

from service.domain.errors import BadValue
from service.domain.shop import SupplyUse, Taxation, TaxRate
from tests.domain.bench_shop import inch, size
from tests.domain.sample_jobs import SHOP


def test_methods_are_found_by_their_code():
    hinged = SHOP.shop.mounting_method("hinged")
    assert hinged is not None
    assert hinged.reversible
    assert SHOP.shop.mounting_method("nailed") is None
    assert SHOP.shop.finish("wire") is not None
    assert SHOP.shop.finish("hinged") is None


@pytest.mark.parametrize("named", [{}, {"item": "PAPER", "role": "wire"}])
def test_a_use_of_supplies_names_an_item_or_a_role(named):
    with pytest.raises(BadValue):
        SupplyUse("piece", Fraction(1), **named)


def test_the_defaults_follow_common_practice():
    # common practice, no source, but for the trim of an under mat: published, 1/8 in a side.
    sizing, bench = SHOP.shop.sizing, SHOP.shop.bench
    assert sizing.allowance == inch("1/8")
    assert sizing.under_mat_trim == inch("1/8")
    assert bench.squaring_arm == inch("27")
    assert bench.acrylic_passes == 3


def test_glass_is_never_given_the_room_that_plastics_get():
    package = size("60 x 60")
    assert SHOP.shop.allowance_for(package, plastic=False) == inch("1/8")
    assert SHOP.shop.allowance_for(package, plastic=True) == inch("1/4")


@pytest.mark.parametrize(
    ("included", "share"), [(False, Fraction(10, 100)), (True, Fraction(10, 112))]
)
def test_a_rate_takes_its_part_of_a_price_with_or_without_the_tax_in_it(included, share):
    rates = tuple(
        TaxRate(category="goods", name=name, percent=Fraction(percent))
        for name, percent in (("state", 10), ("county", 2))
    )
    taxation = Taxation(rates=rates, included=included)
    (state, take), _ = taxation.takes("goods")
    assert state.name == "state"
    assert Fraction(take, taxation.scale) == share
    assert taxation.takes("other") == ()
