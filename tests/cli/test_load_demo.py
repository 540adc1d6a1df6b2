"""`framing-quotes load-demo` sets the shop up once, and again without harm."""

from __future__ import annotations

from sqlalchemy import Engine

from service.app.prices.book import load_book
from service.cli.load_demo import load
from service.demo import demo_catalogue, demo_price_list, demo_shop
from service.persistence.unit_of_work import UnitsOfWork
from service.settings import Settings
from service.wiring import wire


def test_the_shop_is_what_its_files_say_on_both_databases(engine: Engine) -> None:
    wiring = wire(Settings.read({"DATABASE_URL": "sqlite:///unused.sqlite3"}))
    units = UnitsOfWork(engine)
    for _ in range(2):
        with units.writing() as uow:
            shop_id = load(uow, wiring)
            uow.commit()
    with units.reading() as uow:
        book = load_book(uow, shop_id)
    assert book.shop == demo_shop()
    assert dict(book.catalogue.items) == dict(demo_catalogue().items)
    assert [prices.code for prices in book.price_lists] == [demo_price_list().code]
    assert book.price_lists[0].rules == demo_price_list().rules
    wiring.close()
