"""A line that a document asks for by itself: a service of the shop, or anything by description."""

from __future__ import annotations

from fractions import Fraction

from service.domain.errors import BadValue
from service.domain.value import dataclass

MOST_ASKED = 100_000
ONE = Fraction(1)
NO_MINUTES = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedLine:
    """A line asked for: a `service` of the price list by its code, or a price by hand.

    Attributes:
        quantity: for all pieces together, in units of the service's rule, or of the price.
        unit_price: in the document's currency; only for a line that is no service.
        tax_category: of a price by hand; empty for none. A service has its rule's.
        minutes: of bench time, counted with the job but not billed again.

    Raises:
        BadValue: neither a service nor a price, or both; no description; nothing asked for.
    """

    description: str = ""
    quantity: Fraction = ONE
    unit_price: Fraction | None = None
    service: str = ""
    tax_category: str = "goods"
    minutes: Fraction = NO_MINUTES

    def __post_init__(self) -> None:
        if bool(self.service) == (self.unit_price is not None):
            raise BadValue("a line is a service by its code, or has a unit price", "/unit_price")
        if not self.service and not self.description:
            raise BadValue("say what this line is for", "/description")
        if not 0 < self.quantity <= MOST_ASKED:
            raise BadValue(f"a quantity is more than 0 and at most {MOST_ASKED}", "/quantity")
        if self.minutes < 0 or (self.minutes * 100).denominator != 1:
            raise BadValue("minutes have at most two decimals", "/minutes")
