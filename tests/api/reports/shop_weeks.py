"""Weeks of a shop, played at random over HTTP, and a plain count of what happened beside it.

The count knows nothing of how reports are made: it keeps what the service answered to each press,
and adds up what those answers show.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from service.domain.measure.money import Currency
from service.domain.prices.lists import PriceList
from tests.api.world import World

ZONE = ZoneInfo("America/New_York")  # the demo shop's
ANY = {"If-Match": "*"}
GLASS = {
    "artwork": {"width": "8", "height": "10"},
    "presentation": "full_bleed",
    "glazing": {"sheet": "GLZ-PG20"},
}
FRAMED = {
    "artwork": {"width": "11 3/8", "height": "14"},
    "presentation": "overlap",
    "mats": [{"board": "BRD-1204", "border": "2 1/2"}],
    "glazing": {"sheet": "GLZ-UV20"},
    "backing": {"board": "BCK-FOAM316"},
    "frames": [{"moulding": "MLD-OAK125"}],
    "finishing": ["dust_cover", "wire"],
}
SCHOOL = {"reason": "school in the harbour", "percent": "7.5"}
SCRATCH = {"reason": "scratched stick", "amount": "3.33", "component": "frame"}


def documents() -> list[dict[str, Any]]:
    """What customers ask for: one job and several, many pieces, discounts, fees, exemptions."""
    soon = {"wanted_by": "2099-12-31"}  # a rush fee goes with its day
    rush = {**FRAMED, "quantity": 12, "fees": ["rush"], "discounts": [SCRATCH]}
    return [
        {"jobs": [GLASS]},
        {"jobs": [FRAMED], "reference": "=1+1"},
        {"jobs": [FRAMED, GLASS, {**GLASS, "quantity": 3}]},
        {"jobs": [rush, FRAMED], "discounts": [SCHOOL], **soon},
        {"jobs": [rush], "discounts": [SCHOOL], "tax_exempt": "non-profit, certificate 7", **soon},
        {"jobs": [GLASS], "currency": "EUR"},
    ]


@dataclass
class Told:
    """What the service told of one quote, as it stands now."""

    made_at: datetime
    shown: dict[str, Any]
    accepted_at: datetime | None = None
    given: bool = False

    @property
    def sold(self) -> bool:
        return self.accepted_at is not None and self.shown["status"] != "withdrawn"


@dataclass
class Weeks:
    """A shop's weeks."""

    world: World
    random: Random
    quotes: dict[str, Told] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Prices in euros too, so that currencies can be mixed up."""
        usd = self.world.wiring.shelf.book(self.world.shop_id).price_lists[0]
        rules = [rule for rule in usd.rules if rule.method not in ("markup", "sliding_markup")]
        with self.world.wiring.units.writing() as uow:
            euro = PriceList("euro", Currency("EUR"), date(2026, 1, 1), rules)
            uow.price_lists.put(self.world.shop_id, euro)
            uow.price_lists.publish(self.world.shop_id, "euro", self.world.clock())
            uow.commit()

    def live(self, steps: int) -> None:
        for _ in range(steps):
            self.world.clock.move(minutes=self.random.randint(1, 2_000))
            step = self.random.choice((self.make, self.make, self.press, self.press, self.work))
            step()

    def make(self) -> None:
        document = self.random.choice(documents())
        scope = "price" if self.random.random() < 0.3 and "discounts" not in document else "admin"
        if any("discounts" in one for one in document["jobs"]):
            scope = "admin"
        shown = self.world.post("/v1/quotes", document, scope)
        assert shown.status_code == 201, shown.get_json()
        self.quotes[shown.get_json()["id"]] = Told(self.world.clock(), {})
        self.look()

    def press(self) -> None:
        """Any step on any quote; what the quote's state does not allow is refused."""
        if not self.quotes:
            return
        quote = self.random.choice(list(self.quotes))
        action = self.random.choice(
            ("issue", "accept", "accept", "accept", "decline", "withdraw", "revisions", "choice")
        )
        more: dict[str, Any] = {}
        if action in ("revisions", "choice"):
            if self.quotes[quote].shown["status"] in ("accepted", "in_work"):
                return  # a change of order changes the sale; test_change_of_order.py tells of it
            more["json"] = self.random.choice(documents())
        elif action == "accept":
            revision = self.world.ask("GET", f"/v1/quotes/{quote}", "admin").get_json()["revision"]
            more["json"] = {"revision": revision}
        place = "revisions?choice=other" if action == "choice" else action
        answer = self.world.ask("POST", f"/v1/quotes/{quote}/{place}", "admin", headers=ANY, **more)
        assert answer.status_code in (200, 201, 409, 422), answer.get_json()
        if action == "accept" and answer.status_code == 200:
            self.quotes[quote].accepted_at = self.world.clock()
        self.look()

    def work(self) -> None:
        """The bench begins or finishes a ticket, or spoils a piece."""
        page = self.world.ask("GET", "/v1/cut-tickets", "admin").get_json()["items"]
        if not page:
            return
        ticket = self.random.choice(page)["number"]
        action = self.random.choice(("start", "finish", "pieces/1/spoil"))
        more = {"json": {"reason": "-chipped"}} if action.endswith("spoil") else {}
        self.world.ask("POST", f"/v1/cut-tickets/{ticket}/{action}", "admin", headers=ANY, **more)
        self.look()

    def look(self) -> None:
        """Read every quote again, as the API shows it."""
        for quote, told in self.quotes.items():
            told.shown = self.world.ask("GET", f"/v1/quotes/{quote}", "reports").get_json()
            told.given |= told.shown["status"] not in ("draft", "expired", "withdrawn")

    def kept(self) -> list[Told]:
        """What was told so far, to be compared with later."""
        self.look()
        return [replace(told, shown=deepcopy(told.shown)) for told in self.quotes.values()]


def on(at: datetime) -> date:
    return at.astimezone(ZONE).date()


def between(quotes: Iterable[Told], first: date, last: date) -> list[Told]:
    return [told for told in quotes if first <= on(told.made_at) <= last]


def sold_between(quotes: Iterable[Told], first: date, last: date) -> list[Told]:
    return [
        told
        for told in quotes
        if told.sold and told.accepted_at and first <= on(told.accepted_at) <= last
    ]


def total(quotes: Iterable[Told], name: str = "total") -> Decimal:
    return sum((Decimal(told.shown["totals"][name]) for told in quotes), Decimal(0))
