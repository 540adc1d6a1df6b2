"""Single items in storage: their versions, lists and searches. All data are the demo's."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from threading import Thread

import pytest

from schemas.materials.records import ItemFilter, ItemRecord
from service.demo import demo_catalogue, demo_items, demo_shop
from service.domain.errors import Conflict, NotFound
from service.domain.materials.catalogue import Consumable, ItemCost, Moulding
from service.persistence.unit_of_work import UnitsOfWork

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
LATER = NOW + timedelta(hours=1)
OAK = next(i for i in demo_items() if i.code == "MLD-OAK125")
MOULDINGS = sorted(m.code for m in demo_catalogue().of_type(Moulding))


@pytest.fixture
def shop_id(units: UnitsOfWork) -> str:
    with units.writing() as uow:
        uow.shops.add("s1", demo_shop())
        uow.shops.add("s2", replace(demo_shop(), code="elsewhere"))
        uow.catalogue.put("s1", demo_items(), NOW)
        uow.commit()
    return "s1"


def test_an_item_keeps_count_of_its_changes(units: UnitsOfWork, shop_id: str) -> None:
    dear = replace(OAK, description="Oak, dear")
    with units.writing() as uow:
        assert uow.items.one(shop_id, "moulding", OAK.code) == ItemRecord(OAK, 1, 1, NOW)
        changed = uow.items.change(shop_id, dear, LATER)
        uow.catalogue.put_costs(
            shop_id, OAK.code, [ItemCost(OAK.code, "linear_foot", Fraction("2.85"))]
        )
        uow.commit()
    with units.reading() as uow:
        assert changed == ItemRecord(dear, 2, 1, LATER)
        assert uow.items.one(shop_id, "moulding", OAK.code) == ItemRecord(dear, 2, 2, LATER)
        costs = uow.items.costs(shop_id, OAK.code)
        assert (costs.version, [cost.cost for cost in costs.costs]) == (2, [Fraction("2.85")])


def test_an_item_is_found_only_as_what_it_is_and_where_it_is(
    units: UnitsOfWork, shop_id: str
) -> None:
    with units.reading() as uow:
        for shop, kind, code in (
            (shop_id, "board", OAK.code),
            ("s2", "moulding", OAK.code),
            (shop_id, "moulding", "mld-oak125"),
        ):
            with pytest.raises(NotFound):
                uow.items.one(shop, kind, code)  # type: ignore[arg-type]


def test_a_code_is_given_once(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        with pytest.raises(Conflict, match="there is a moulding MLD-OAK125 already"):
            uow.items.create(shop_id, Consumable(code=OAK.code, description="Tape"), NOW)
        with pytest.raises(NotFound):
            uow.items.change(shop_id, replace(OAK, code="NEW"), NOW)
        assert uow.items.create(shop_id, replace(OAK, code="NEW"), LATER).version == 1


def found(units: UnitsOfWork, shop_id: str, **wanted: object) -> list[str]:
    with units.reading() as uow:
        wanted.setdefault("kind", "moulding")
        page = uow.items.page(shop_id, ItemFilter(**wanted), 200)  # type: ignore[arg-type]
    return [record.item.code for record in page.items]


def test_a_list_is_filtered(units: UnitsOfWork, shop_id: str) -> None:
    with units.writing() as uow:
        uow.items.change(shop_id, replace(OAK, discontinued=True), LATER)
        strange = replace(OAK, code="ÉTÉ_100%", description="Straße, “laquée”")
        uow.items.create(shop_id, strange, NOW)
        uow.commit()
    every = sorted([*MOULDINGS, "ÉTÉ_100%"])
    assert found(units, shop_id) == every
    assert found(units, "s2") == []
    gone = sorted([OAK.code, *(i.code for i in demo_items() if i.discontinued)])
    assert found(units, shop_id, discontinued=True) == gone
    assert found(units, shop_id, discontinued=False) == [c for c in every if c not in gone]
    assert found(units, shop_id, updated_since=LATER) == [OAK.code]
    assert found(units, shop_id, words=("OAK", "plain flat")) == sorted(
        i.code
        for i in demo_items()
        if isinstance(i, Moulding)
        and "oak" in f"{i.code} {i.description}".lower()
        and "plain flat" in i.description
    )
    for words in (("STRASSE",), ("été_1",), ("0%",), ("laquée", "straße")):
        assert found(units, shop_id, words=words) == ["ÉTÉ_100%"], words
    assert found(units, shop_id, words=("%",)) == ["ÉTÉ_100%"]  # it stands for itself alone
    assert found(units, shop_id, words=("_",)) == ["ÉTÉ_100%"]


def test_pages_hold_still_while_items_arrive(units: UnitsOfWork, shop_id: str) -> None:
    seen: list[str] = []
    after: str | None = ""
    while after is not None:
        with units.writing() as uow:
            page = uow.items.page(shop_id, ItemFilter(kind="moulding"), 7, after)
            uow.items.create(shop_id, replace(OAK, code=f"A-{len(seen)}"), NOW)
            uow.commit()
        seen += [record.item.code for record in page.items]
        after = page.after
    assert seen == MOULDINGS


def test_who_takes_a_turn_waits_for_the_one_before(units: UnitsOfWork, shop_id: str) -> None:
    """Two read the same version; the second reads only when the first has stored its change."""
    read: list[int] = []

    def change() -> None:
        with units.writing() as uow:
            uow.shops.take_turn(shop_id)
            read.append(uow.items.one(shop_id, "moulding", OAK.code).version)
            uow.items.change(shop_id, OAK, LATER)
            uow.commit()

    threads = [Thread(target=change) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(read) == [1, 2, 3, 4]
    with units.writing() as uow, pytest.raises(NotFound):
        uow.shops.take_turn("none")
