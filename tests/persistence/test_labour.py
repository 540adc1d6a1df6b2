"""Labour standards in storage, with their versions. All figures are invented."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from schemas.labour import StandardRecord
from service.demo import demo_labour_standard, demo_shop
from service.domain.errors import NotFound
from service.domain.labour.multiplier import Multiplier
from service.domain.labour.standard import Hour
from service.persistence.unit_of_work import UnitsOfWork

HOUR = Hour(Fraction(12720), Fraction(15700), Fraction(480))  # whose cost never ends in decimals
WHOLE = replace(
    demo_labour_standard(),
    cost_per_hour=HOUR.cost(),
    hour=HOUR,
    multipliers=(
        Multiplier(
            code="gilt",
            looks_at="moulding_group",
            groups=("gilt",),
            operations=("fit",),
            factor=Fraction(1, 3),
        ),
    ),
)


@pytest.fixture
def shop_id(units: UnitsOfWork) -> str:
    with units.writing() as uow:
        uow.shops.add("s1", demo_shop())
        uow.commit()
    return "s1"


def test_a_standard_comes_back_whole_and_its_version_grows(
    units: UnitsOfWork, shop_id: str
) -> None:
    with units.writing() as uow:
        uow.labour_standards.put(shop_id, demo_labour_standard(), in_use=True)
        uow.labour_standards.put(shop_id, replace(WHOLE, code="a"), in_use=False)
        uow.labour_standards.put(shop_id, WHOLE, in_use=False)
        uow.commit()
    with units.reading() as uow:
        assert uow.labour_standards.by_code(shop_id, WHOLE.code) == StandardRecord(WHOLE, 2, True)
        assert uow.labour_standards.in_use(shop_id) == WHOLE
        records = uow.labour_standards.records(shop_id)
        assert [(r.standard.code, r.version, r.in_use) for r in records] == [
            ("a", 1, False),
            (WHOLE.code, 2, True),
        ]
        with pytest.raises(NotFound):
            uow.labour_standards.by_code(shop_id, "none")
