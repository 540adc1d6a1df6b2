"""A shop's book: its settings, items, times and prices at one version.

A calculation takes a whole book and nothing else from storage, so that all its figures are
consistent. Books are immutable; a changed shop gets a new one. `BookShelf` keeps the latest of each
shop and queries only the version, and within `ttl` seconds not even that.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from threading import Lock

from service.domain.errors import NotFound, NotPriced
from service.domain.prices.book import ShopBook
from service.domain.prices.lists import PriceList
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

MOST = 50
"""The number of books cached; beyond it the least recently used is dropped."""


def price_list_in_force(book: ShopBook, on: date, currency: str = "") -> PriceList:
    """Return the published list of a currency with the latest first day that is not after `on`.

    Prices are in the shop's own currency unless another is requested: a list in another currency
    exists beside the shop's own, and supersedes only lists in its currency.

    Of two lists with the same first day the later published one counts, so that a mistake in a list
    is corrected by publishing another.

    Raises:
        NotPriced: no list is in force on that day.
    """
    wanted = currency or book.shop.currency
    for price_list in reversed(book.price_lists):
        if price_list.first_day <= on and price_list.currency.code == wanted:
            return price_list
    raise NotPriced(
        f"no price list in {wanted} is in force on {on.isoformat()}; publish one that starts by "
        "then",
        facts={"day": on.isoformat(), "currency": wanted},
    )


def load_book(uow: UnitOfWork, shop_id: str) -> ShopBook:
    """Return a shop's book, read within one snapshot.

    Raises:
        NotFound: there is no such shop.
    """
    record = uow.shops.by_id(shop_id)
    published = (r.price_list for r in uow.price_lists.all(shop_id) if r.state == "published")
    try:
        labour = uow.labour_standards.in_use(shop_id)
    except NotFound:
        labour = None
    return ShopBook(
        shop_id=shop_id,
        version=record.version,
        shop=record.shop,
        catalogue=uow.catalogue.load(shop_id, record.version),
        price_lists=tuple(published),
        labour_in_use=labour,
    )


class BookShelf:
    """The latest book of each shop, cached between requests; thread-safe.

    Two threads may load the same book at once; both are right, and the later one stays.
    """

    def __init__(self, units: UnitsOfWork, ttl: float, monotonic: Callable[[], float]) -> None:
        self._units = units
        self._ttl = ttl
        self._monotonic = monotonic
        self._lock = Lock()
        self._books: dict[str, tuple[ShopBook, float]] = {}

    def book(self, shop_id: str) -> ShopBook:
        """Return the current book: queries the version, and loads only if it changed.

        Raises:
            NotFound: there is no such shop.
        """
        with self._units.reading() as uow:
            return self.book_within(uow, shop_id)

    def book_within(self, uow: UnitOfWork, shop_id: str) -> ShopBook:
        """Return the current book, read within an open unit of work.

        Raises:
            NotFound: there is no such shop.
        """
        asked_at = self._monotonic()
        kept = self._books.get(shop_id)
        if kept is not None and kept[0].version == uow.shops.version(shop_id):
            return self._keep(kept[0], asked_at)
        return self._keep(load_book(uow, shop_id), asked_at)

    def recent_book(self, shop_id: str) -> ShopBook:
        """Return the book as of at most `ttl` seconds ago; a busy shop needs no query.

        Raises:
            NotFound: there is no such shop.
        """
        kept = self._books.get(shop_id)
        if kept is not None and self._monotonic() - kept[1] < self._ttl:
            return kept[0]
        return self.book(shop_id)

    def _keep(self, book: ShopBook, asked_at: float) -> ShopBook:
        with self._lock:
            kept = self._books.get(book.shop_id)
            if kept is None or kept[1] <= asked_at:
                if kept is None and len(self._books) >= MOST:
                    del self._books[min(self._books, key=lambda shop: self._books[shop][1])]
                self._books[book.shop_id] = (book, asked_at)
        return book
