"""What a plan may cut from and what that costs, from the catalogue's costs read here by hand."""

from fractions import Fraction

import pytest

from schemas.cutting.records import PlanOptions, Wish
from schemas.materials.records import StockLevel
from service.app.cutting.materials import Supplies, gather
from service.demo import demo_catalogue, demo_shop
from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.length import TICKS_PER_INCH, Length, Size
from tests.domain.bench_shop import board


def inch(over: int) -> Length:
    return Length(over * TICKS_PER_INCH)


SMALL, LARGE = Size(inch(32), inch(40)), Size(inch(40), inch(60))
AREA = ItemCost("BRD-1", "square_foot", Fraction("1.35"))
OWN = ItemCost("BRD-1", "sheet", Fraction("25.20"), LARGE)
ANY = ItemCost("BRD-1", "sheet", Fraction("15"))
WISH = Wish(key="a", item="BRD-1", quantity=1, width=inch(8), height=inch(10))


def prices(*costs: ItemCost, **options):
    item = board("BRD-1", sheets=(SMALL, LARGE))
    supplies = Supplies(demo_shop(), Catalogue({"BRD-1": item}, {"BRD-1": costs}), (), LEVELS)
    (material,) = gather([WISH], (), PlanOptions(**options), supplies).materials
    return [(size.width.ticks, size.money, size.cost_basis) for size in material.sizes]


LEVELS = ()
W32, W40 = SMALL.width.ticks, LARGE.width.ticks


@pytest.mark.parametrize("order", [(AREA, OWN), (OWN, AREA)])
def test_a_sheets_own_cost_wins_over_a_rate_whichever_stands_first(order):
    # 32 x 40 in are 8 8/9 square feet, at 1.35 just 12.00; the 40 x 60 costs what its row says.
    assert prices(*order) == [(W32, 1200, "square_foot"), (W40, 2520, "size")]


def test_a_cost_of_any_sheet_comes_before_a_rate():
    assert prices(AREA, ANY) == [(W32, 1500, "sheet"), (W40, 1500, "sheet")]
    assert prices(ANY, OWN) == [(W32, 1500, "sheet"), (W40, 2520, "size")]


def test_what_the_shop_has_counts_at_its_cost_or_is_free(monkeypatch):
    level = StockLevel(
        item="BRD-1", width=SMALL.width, height=SMALL.height, quantity=3, version=1, updated_at=None
    )
    monkeypatch.setitem(globals(), "LEVELS", (level,))
    assert prices(AREA, OWN)[0] == (W32, 1200, "square_foot")
    assert prices(AREA, OWN, stock_on_hand="free") == [
        (W32, 0, "on_hand"),
        (W32, 1200, "square_foot"),
        (W40, 2520, "size"),
    ]
    assert prices(AREA, OWN, stock_on_hand="free", buy=False)[0] == (W32, 0, "on_hand")


def test_every_demo_sheet_is_reckoned_at_its_own_row():
    catalogue = demo_catalogue()
    looked_at = 0
    for code, costs in catalogue.costs.items():
        own = {c.sheet: c.cost for c in costs if c.basis == "sheet" and c.sheet is not None}
        if not own:
            continue
        wish = Wish(key="a", item=code, quantity=1, width=inch(1), height=inch(1))
        supplies = Supplies(demo_shop(), catalogue)
        for material in gather([wish], (), PlanOptions(), supplies).materials:
            for size in material.sizes:
                if Size(size.width, size.height) in own:
                    assert size.money == own[Size(size.width, size.height)] * 100
                    looked_at += 1
    assert looked_at > 80
