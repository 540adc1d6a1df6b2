"""The shop's book: settings, catalogue, labour standard and price lists at one version."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.errors import NotPriced
from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import Catalogue
from service.domain.prices.lists import PriceList
from service.domain.shop import Shop


@dataclass(frozen=True, slots=True)
class ShopBook:
    """All shop data that a calculation needs.

    `price_lists` are the published ones, in the order in which they come into force.
    """

    shop_id: str
    version: int
    shop: Shop
    catalogue: Catalogue
    price_lists: tuple[PriceList, ...]
    labour_in_use: LabourStandard | None

    @property
    def labour(self) -> LabourStandard:
        """The labour standard in use.

        Raises:
            NotPriced: the shop uses none yet; omitting bench time would give a wrong price.
        """
        if self.labour_in_use is None:
            raise NotPriced(
                "the shop uses no labour standard yet, so bench time cannot be worked out; "
                "store one and put it in use"
            )
        return self.labour_in_use
