"""`framing-quotes load-demo`: set up the invented demo shop, to try the service with."""

from __future__ import annotations

import click

from schemas.prices.coupons import CouponRecord
from service.cli.start import need_migrated, wired
from service.demo import (
    demo_catalogue,
    demo_coupons,
    demo_labour_standard,
    demo_price_list,
    demo_shop,
)
from service.domain.errors import NotFound
from service.persistence.unit_of_work import UnitOfWork
from service.wiring import Wiring


@click.command("load-demo")
def load_demo() -> None:
    """Set up the invented demo shop, or bring it up to this release."""
    with wired() as wiring:
        need_migrated(wiring)
        with wiring.units.writing() as uow:
            load(uow, wiring)
            uow.commit()
    click.echo(f"The shop {demo_shop().code} is set up. All its data are invented.")
    click.echo(f"Make a key for it: framing-quotes create-key --shop {demo_shop().code} …")


def load(uow: UnitOfWork, wiring: Wiring) -> str:
    """Store the demo shop and return its id; running it again replaces its content.

    A published price list never changes, so an existing one is left as it is, as a coupon is.
    """
    shop, catalogue, now = demo_shop(), demo_catalogue(), wiring.clock()
    try:
        shop_id = uow.shops.by_code(shop.code).id
        uow.shops.save(shop_id, shop)
    except NotFound:
        shop_id = uow.shops.add(wiring.new_id(), shop).id
    uow.catalogue.put(shop_id, catalogue.items.values(), now)
    for code, costs in catalogue.costs.items():
        uow.catalogue.put_costs(shop_id, code, costs)
    uow.labour_standards.put(shop_id, demo_labour_standard(), in_use=True)
    price_list = demo_price_list()
    try:
        uow.price_lists.by_code(shop_id, price_list.code)
    except NotFound:
        uow.price_lists.put(shop_id, price_list)
        uow.price_lists.publish(shop_id, price_list.code, now)
    for coupon in demo_coupons():
        try:
            uow.coupons.by_code(shop_id, coupon.code)
        except NotFound:
            uow.coupons.add(shop_id, CouponRecord(coupon, now, now))
    return shop_id
