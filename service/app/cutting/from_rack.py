"""What of a job could be cut from the offcuts on the rack, by a plan that may buy nothing."""

from __future__ import annotations

from collections.abc import Sequence

from schemas.cutting.records import PlanOptions, PlanRequest, Wish
from service.app.cutting.background import is_big
from service.app.cutting.materials import Supplies
from service.app.cutting.planning import PlanBasis
from service.app.ports import UnitOfWork
from service.app.prices.book import ShopBook
from service.domain.errors import Conflict


def rack_basis(uow: UnitOfWork, book: ShopBook, wishes: Sequence[Wish]) -> PlanBasis:
    """Everything that planning these pieces from the rack alone needs, as it stands now.

    Raises:
        Conflict: they are too many to be planned while somebody waits.
    """
    codes = sorted({wish.item for wish in wishes})
    supplies = Supplies(book.shop, book.catalogue, uow.rack.on_rack(book.shop_id, codes))
    request = PlanRequest(options=PlanOptions(buy=False))
    basis = PlanBasis(request, tuple(wishes), (), supplies)
    if is_big(basis):
        raise Conflict("these are many pieces; make a cutting plan of their tickets")
    return basis
