"""What the use cases need from the world: a clock, identifiers, and units of work over storage.

The records that go in and out are in `records.py`, the shop's book in `book.py`. Every method of a
repository takes the shop's id and sees nothing of any other shop. What is not there raises
`NotFound`, and never comes back as `None`.

A unit of work is one transaction: it is rolled back unless `commit()` was reached.

    with units.writing() as uow:
        head = uow.quotes.add(new)
        uow.commit()
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from types import TracebackType
from typing import Protocol, Self

from schemas.materials.records import StandardRecord
from schemas.quotes.records import (
    Cursor,
    DatedRevision,
    Footing,
    KeyRecord,
    NewQuote,
    Page,
    PriceListRecord,
    QuoteFilter,
    QuoteHead,
    Revision,
    ShopRecord,
    StoredQuote,
)
from service.app.ports_catalogue import Items
from service.app.ports_cutting import CuttingPlans, Rack, StockLevels
from service.app.ports_events import Events
from service.app.ports_idempotency import OnceRequests
from service.app.ports_instants import Instants
from service.app.ports_reports import Facts, Figures
from service.app.ports_retention import Retention
from service.app.ports_sizes import Sizes
from service.app.ports_stock import StockCount
from service.app.ports_tickets import CutTickets
from service.app.ports_webhooks import Webhooks
from service.domain.labour.standard import LabourStandard
from service.domain.materials.catalogue import AnyItem, Catalogue, ItemCost
from service.domain.prices.lists import PriceList
from service.domain.shop import Shop


class StorageUnavailable(Exception):
    """The database cannot be reached or is overloaded; nothing was stored, a retry may succeed."""


class OutcomeUnknown(StorageUnavailable):
    """The connection was lost while a transaction was being kept: it may be stored, or not."""


Clock = Callable[[], datetime]
"""Return the present instant, in UTC."""

IdSource = Callable[[], str]
"""Return a new UUID of version 7 (RFC 9562): later ones sort after earlier ones."""


class Shops(Protocol):
    """The shops and their settings."""

    def add(self, shop_id: str, shop: Shop) -> ShopRecord:
        """Store a new shop. Conflict where its code is taken."""
        ...

    def save(self, shop_id: str, shop: Shop) -> None:
        """Replace a shop's settings; its code stays as it is."""
        ...

    def by_id(self, shop_id: str) -> ShopRecord:
        """The shop with this id. NotFound where there is none."""
        ...

    def by_code(self, code: str) -> ShopRecord:
        """The shop with this code. NotFound where there is none."""
        ...

    def codes(self) -> tuple[str, ...]:
        """The codes of all shops, in their order; for commands on the service's own machine."""
        ...

    def version(self, shop_id: str) -> int:
        """Only the version: one light query."""
        ...

    def take_turn(self, shop_id: str) -> None:
        """Wait until nobody else is changing this shop's book. NotFound where there is none.

        Whoever changes a book after reading it does this first, so that what was read stays so.
        """
        ...


class Keys(Protocol):
    """The API keys. They alone are found without a shop, since they tell which shop asks."""

    def add(self, key: KeyRecord) -> None:
        """Store a new key."""
        ...

    def by_id(self, key_id: str) -> KeyRecord:
        """The key with this id, whatever its state. NotFound where there is none."""
        ...

    def of_shop(self, shop_id: str) -> tuple[KeyRecord, ...]:
        """All keys of a shop, oldest first."""
        ...

    def revoke(self, shop_id: str, key_id: str, at: datetime) -> None:
        """Out of force from `at` on; a second time changes nothing."""
        ...

    def save(self, key: KeyRecord) -> bool:
        """Store what may change of a key, as its next version; False where it is another now."""
        ...

    def origins(self, at: datetime) -> frozenset[str]:
        """Every origin that some key in force lists, whatever its shop."""
        ...

    def used(self, key_id: str, at: datetime, unless_since: datetime) -> None:
        """Note the use at `at`, unless one later than `unless_since` is noted already."""
        ...


class CatalogueItems(Protocol):
    """A shop's items and what they cost it."""

    def put(self, shop_id: str, items: Iterable[AnyItem], at: datetime) -> None:
        """Add items or replace those of the same code. Conflict for a code of another kind."""
        ...

    def put_costs(self, shop_id: str, item: str, costs: Iterable[ItemCost]) -> None:
        """Replace all costs of one item, which must exist."""
        ...

    def put_all_costs(self, shop_id: str, costs: Mapping[str, Sequence[ItemCost]]) -> None:
        """Replace all costs of several items, which must exist."""
        ...

    def load(self, shop_id: str, version: int) -> Catalogue:
        """The whole catalogue, to be known by `version`."""
        ...


class PriceLists(Protocol):
    """A shop's price lists, drafts and published ones."""

    def put(self, shop_id: str, price_list: PriceList) -> None:
        """Add or replace a draft. Conflict where a list of this code is published."""
        ...

    def publish(self, shop_id: str, code: str, at: datetime) -> None:
        """Make a draft count from its first day on; a second time changes nothing."""
        ...

    def remove(self, shop_id: str, code: str) -> None:
        """Throw a draft away. NotFound where there is none, Conflict where it is published."""
        ...

    def by_code(self, shop_id: str, code: str) -> PriceListRecord:
        """The list with this code. NotFound where there is none."""
        ...

    def all(self, shop_id: str) -> tuple[PriceListRecord, ...]:
        """In the order in which they come into force: by first day, then by publication."""
        ...


class LabourStandards(Protocol):
    """A shop's labour standards; one of them is in use."""

    def put(self, shop_id: str, standard: LabourStandard, *, in_use: bool) -> None:
        """Add or replace a standard, and use it from now on if `in_use`."""
        ...

    def all(self, shop_id: str) -> tuple[LabourStandard, ...]:
        """Every standard, in the order of their codes."""
        ...

    def use(self, shop_id: str, code: str) -> None:
        """Work by this standard from now on; its version grows, and that of the one before."""
        ...

    def records(self, shop_id: str) -> tuple[StandardRecord, ...]:
        """Every standard with its version, in the order of their codes."""
        ...

    def by_code(self, shop_id: str, code: str) -> StandardRecord:
        """The standard with this code. NotFound where there is none."""
        ...

    def in_use(self, shop_id: str) -> LabourStandard:
        """The one that is worked by. NotFound where the shop uses none yet."""
        ...


class Quotes(Protocol):
    """The stored quotes."""

    def add(self, new: NewQuote, on: Footing | None = None) -> QuoteHead:
        """Store a quote and give it the shop's next number, without gaps.

        Stale where what it stands `on` is not so any more: another book, another or no key.
        """
        ...

    def by_id(self, shop_id: str, quote_id: str) -> StoredQuote:
        """The quote with this id. NotFound where the shop has none."""
        ...

    def by_serial(self, shop_id: str, serial: int) -> StoredQuote:
        """The quote with this serial. NotFound where the shop has none."""
        ...

    def revision(self, shop_id: str, quote_id: str, revision: int) -> Revision:
        """One working with all its documents."""
        ...

    def latest_of(self, heads: Sequence[QuoteHead]) -> Iterator[Revision]:
        """The latest working of each of these quotes, in their order."""
        ...

    def revisions(self, shop_id: str, quote_id: str) -> tuple[DatedRevision, ...]:
        """Every working, the first one first."""
        ...

    def hold(self, shop_id: str, quote_id: str) -> QuoteHead:
        """The quote, which nobody else changes until this unit of work is over."""
        ...

    def change(self, was: QuoteHead, now: QuoteHead) -> None:
        """Store a quote anew. Stale where somebody changed it meanwhile."""
        ...

    def add_revision(self, head: QuoteHead, revision: Revision, choice: str = "") -> None:
        """Store a further working beside the earlier ones; `head` counts it already."""
        ...

    def page(
        self,
        shop_id: str,
        wanted: QuoteFilter,
        limit: int,
        after: Cursor | None = None,
        today: date | None = None,
    ) -> Page:
        """Newest first; quotes that arrive meanwhile never shift a later page.

        With `today`, states are those of that day: open quotes past their last day are expired.
        """
        ...


class UnitOfWork(Protocol):
    """One transaction over all repositories."""

    @property
    def shops(self) -> Shops:
        """Shops and settings."""
        ...

    @property
    def keys(self) -> Keys:
        """API keys."""
        ...

    @property
    def catalogue(self) -> CatalogueItems:
        """Items and costs."""
        ...

    @property
    def items(self) -> Items:
        """Items one by one."""
        ...

    @property
    def price_lists(self) -> PriceLists:
        """Price lists."""
        ...

    @property
    def labour_standards(self) -> LabourStandards:
        """Labour standards."""
        ...

    @property
    def instants(self) -> Instants:
        """Instants of changes."""
        ...

    @property
    def quotes(self) -> Quotes:
        """Quotes."""
        ...

    @property
    def tickets(self) -> CutTickets:
        """Bench tickets."""
        ...

    @property
    def events(self) -> Events:
        """What changed."""
        ...

    @property
    def once(self) -> OnceRequests:
        """Requests that are done once."""
        ...

    @property
    def webhooks(self) -> Webhooks:
        """Where events are sent."""
        ...

    @property
    def stock(self) -> StockCount:
        """Counts over all shops."""
        ...

    @property
    def cutting_plans(self) -> CuttingPlans:
        """Cutting plans."""
        ...

    @property
    def rack(self) -> Rack:
        """Offcuts."""
        ...

    @property
    def stock_levels(self) -> StockLevels:
        """How many of each size there are."""
        ...

    @property
    def sizes(self) -> Sizes:
        """How much a shop has of what can grow."""
        ...

    @property
    def retention(self) -> Retention:
        """Forgetting what is old."""
        ...

    @property
    def facts(self) -> Facts:
        """Where facts for reports are noted."""
        ...

    @property
    def figures(self) -> Figures:
        """Sums over these."""
        ...

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def waits_for_standby(self) -> bool:
        """Whether what is stored here counts only once another database has it too."""
        ...

    def commit(self) -> None:
        """Keep what was done; without it leaving the block undoes everything."""
        ...


class UnitsOfWork(Protocol):
    """Opens units of work."""

    def reading(self) -> UnitOfWork:
        """One consistent view of everything; it cannot be committed."""
        ...

    def following(self) -> UnitOfWork:
        """For readers of the events: each question sees what is kept by then; not committed."""
        ...

    def writing(self, lock_seconds: float | None = None) -> UnitOfWork:
        """One transaction that may change things.

        Args:
            lock_seconds: for how long it may wait for others that write; by default for seconds.
        """
        ...
