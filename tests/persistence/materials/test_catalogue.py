"""Items and costs in storage. All codes and figures are invented."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime
from fractions import Fraction

import pytest
from sqlalchemy.exc import IntegrityError

from service.domain.errors import BadValue, Conflict, NotFound
from service.domain.materials.catalogue import (
    AnyItem,
    Board,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    Item,
    ItemCost,
    Moulding,
)
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.materials.catalogue import KINDS
from service.persistence.unit_of_work import UnitsOfWork

INCH = Length.inches(1)
NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
SHEET = Size(INCH * 32, INCH * 40)
ITEMS: tuple[AnyItem, ...] = (
    Board(
        code="BRD-1",
        description="Cream",
        thickness=Length.inches("0.0625"),
        sheets=(SHEET, Size(INCH * 40, INCH * 60)),
        weight_kg_per_m2=Fraction(2, 3),
        uses=("mat", "backing"),
        ply=4,
        grade=2,
        colour="cream",
        grain=True,
        worked_as="corrugated_board",
    ),
    Fillet(
        code="FIL-1",
        description="Gilt",
        width=Length.inches("0.25"),
        depth=Length.inches("0.125"),
        stick_lengths=(INCH * 60,),
        weight_kg_per_m=Fraction("0.05"),
    ),
    Glazing(
        code="GLZ-1",
        description="UV glass",
        kind="glass",
        thickness=Length.millimetres("2.5"),
        sheets=(SHEET,),
        uv_percent=Fraction("97.5"),
        uv_range="300 to 380 nm",
        finish="etched",
        build="laminated",
    ),
    Glazing(
        code="GLZ-2",
        description="Acrylic",
        kind="acrylic",
        thickness=Length.millimetres(3),
        sheets=(SHEET,),
    ),
    Hardware(code="HWR-1", description="Wire", role="wire", rating_kg=Fraction("8.1")),
    Moulding(
        code="MLD-1",
        description="Oak 1 1/4",
        group="oak",
        face_width=Length.inches("1.25"),
        rabbet_width=Length.inches("0.25"),
        rabbet_depth=Length.inches("0.5"),
        stick_lengths=(INCH * 120, INCH * 144),
        weight_kg_per_m=Fraction(1, 3),
        supplies=("length", "chop"),
        colour="natural",
        pattern_runs=True,
    ),
    Consumable(code="SUP-1", description="Tape", thickness=Length.inches("0.015625"), grade=1),
)


@pytest.mark.parametrize("kind", [Moulding, Board, Glazing, Fillet, Hardware, Consumable])
def test_every_field_of_an_item_has_its_column(kind: type[AnyItem]) -> None:
    shared = {field.name for field in fields(Item)}
    own = [field.name for field in fields(kind) if field.init and field.name not in shared]
    assert list(KINDS[kind].fields) == own
    assert shared == {"code", "description", "group", "discontinued"}


@pytest.fixture
def shop_id(units: UnitsOfWork) -> str:
    with units.writing() as uow:
        for code in ("corner", "harbour"):
            shop = Shop(
                code=code, name=code, currency="USD", time_zone="UTC", ruler=Ruler("in", INCH)
            )
            uow.shops.add(code, shop)
        uow.commit()
    return "corner"


def _put(units: UnitsOfWork, shop_id: str, *items: AnyItem) -> None:
    with units.writing() as uow:
        uow.catalogue.put(shop_id, items, NOW)
        uow.commit()


def test_every_kind_of_item_comes_back_exactly_in_order_of_code(
    units: UnitsOfWork, shop_id: str
) -> None:
    _put(units, shop_id, *reversed(ITEMS))
    with units.reading() as uow:
        catalogue = uow.catalogue.load(shop_id, 7)
    assert tuple(catalogue.items.values()) == ITEMS
    assert list(catalogue.items) == [item.code for item in ITEMS]
    assert catalogue.version == 7


def test_an_item_is_replaced_whole(units: UnitsOfWork, shop_id: str) -> None:
    _put(units, shop_id, ITEMS[4])
    changed = Hardware(
        code="HWR-1",
        description="Wire no. 3",
        group="hanging",
        discontinued=True,
        role="hook",
        rating_kg=Fraction(9),
    )
    _put(units, shop_id, changed)
    with units.reading() as uow:
        assert uow.catalogue.load(shop_id, 1).items == {"HWR-1": changed}


def test_a_code_stays_with_its_kind(units: UnitsOfWork, shop_id: str) -> None:
    _put(units, shop_id, ITEMS[4])
    with pytest.raises(Conflict, match="HWR-1 is a hardware already, not a supply"):
        _put(units, shop_id, Consumable(code="HWR-1", description="Tape"))


def test_another_shop_sees_none_of_it(units: UnitsOfWork, shop_id: str) -> None:
    _put(units, shop_id, *ITEMS)
    with units.reading() as uow:
        assert not uow.catalogue.load("harbour", 1).items
        assert not uow.catalogue.load("harbour", 1).costs


def test_items_of_a_shop_that_does_not_exist_are_refused(units: UnitsOfWork, shop_id: str) -> None:
    # Foreign keys are on, in SQLite too, where they are off unless asked for.
    with pytest.raises(IntegrityError):
        _put(units, "nowhere", *ITEMS)


def test_costs_keep_their_order_and_are_replaced_together(units: UnitsOfWork, shop_id: str) -> None:
    _put(units, shop_id, *ITEMS)
    costs = (
        ItemCost("BRD-1", "sheet", Fraction("11.4"), SHEET),
        ItemCost("BRD-1", "square_foot", Fraction(4, 3)),
    )
    for given in (costs, costs[1:], costs[::-1]):
        with units.writing() as uow:
            uow.catalogue.put_costs(shop_id, "BRD-1", given)
            uow.commit()
        with units.reading() as uow:
            assert uow.catalogue.load(shop_id, 1).costs == {"BRD-1": given}
    with units.writing() as uow:
        uow.catalogue.put_costs(shop_id, "BRD-1", ())
        assert uow.catalogue.load(shop_id, 1).costs == {}


def test_costs_want_an_item_of_the_shop(units: UnitsOfWork, shop_id: str) -> None:
    _put(units, shop_id, *ITEMS)
    cost = ItemCost("BRD-1", "sheet", Fraction(1))
    with units.writing() as uow:
        with pytest.raises(NotFound, match="no item BRD-1"):
            uow.catalogue.put_costs("harbour", "BRD-1", [cost])
        with pytest.raises(BadValue, match="a cost of BRD-1, not of MLD-1"):
            uow.catalogue.put_costs(shop_id, "MLD-1", [cost])


def test_a_thousand_items_go_in_at_once(units: UnitsOfWork, shop_id: str) -> None:
    many = [Consumable(code=f"S{n:04d}", description="x") for n in range(1100)]
    _put(units, shop_id, *many)
    _put(units, shop_id, *many)
    with units.reading() as uow:
        assert list(uow.catalogue.load(shop_id, 1).items.values()) == many
