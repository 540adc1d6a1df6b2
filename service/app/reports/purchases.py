"""The purchases report: the open tickets' remaining needs of each item, less what is in stock.

Sheets and sticks are counted from what is still to be cut (neither begun nor in a committed plan):
areas of blanks, lengths of rails plus a kerf each. That is a lower bound; the number of sheets and
sticks actually needed comes from a cutting plan, which also uses what is on the rack. Hardware and
supplies are those of every open ticket; their stock is not counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import orjson

from schemas.cutting.records import Wish
from schemas.cutting.wanted import ticket_wishes
from schemas.materials.records import Offcut, StockLevel
from schemas.reports.purchases import PurchasesReport, PurchasesRow, PurchasesTotals
from schemas.reports.table import Report
from schemas.tickets.records import StoredTicket
from schemas.wire.figures import Figures, number
from service.app.materials.stock import stock_sizes
from service.domain.cutting.stock import kerf_at_mitre
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_FOOT, Length
from service.domain.measure.rounding import up
from service.domain.prices.book import ShopBook

CUT, BOUGHT_CUT, COUNTED = "cut", "bought_cut", "counted"


@dataclass(slots=True)
class _Need:
    pieces: int = 0
    ticks: int = 0
    flat: bool = False
    counted: Fraction = field(default_factory=Fraction)


def purchases_report(
    head: Mapping[str, str],
    tickets: Sequence[StoredTicket],
    cut: Mapping[tuple[str, int], int],
    book: ShopBook,
    stock: tuple[Sequence[StockLevel], Sequence[Offcut]],
) -> Report[PurchasesRow, PurchasesTotals]:
    """Return what is lacking for the open tickets."""
    needs: dict[tuple[str, str, str], _Need] = {}
    for ticket in tickets:
        wishes, others = ticket_wishes(ticket, cut)
        _add(needs, CUT, wishes, book)
        _add(needs, BOUGHT_CUT, (other.wish for other in others), book)
        _add_counted(needs, orjson.loads(ticket.document))
    have = _Have(book, *stock)
    rows = [_row(key, need, have) for key, need in sorted(needs.items())]
    lacking = sum(row.lacking != "0" for row in rows)
    return Report(PurchasesReport, head, rows, [PurchasesTotals(len(tickets), lacking)])


def _add(
    needs: dict[tuple[str, str, str], _Need], supply: str, wishes: Iterable[Wish], book: ShopBook
) -> None:
    blade = book.shop.bench.saw_kerf.ticks if supply == CUT else 0
    for wish in wishes:
        flat = bool(wish.height)
        basis = "square_foot" if flat else "linear_foot"
        need = needs.setdefault((wish.item, supply, basis), _Need(flat=flat))
        need.pieces += wish.quantity
        if flat:
            need.ticks += wish.quantity * wish.width.ticks * wish.height.ticks
        else:
            need.ticks += wish.quantity * (wish.width.ticks + kerf_at_mitre(blade, wish.sides))


def _add_counted(needs: dict[tuple[str, str, str], _Need], document: Mapping[str, Any]) -> None:
    for use in document["hardware"]:
        need = needs.setdefault((use["item"], COUNTED, "piece"), _Need())
        need.counted += Fraction(use["quantity"])
    for use in document["supplies"]:
        need = needs.setdefault((use["item"], COUNTED, use["unit"]), _Need())
        need.counted += Fraction(use["quantity"])


class _Have:
    """The shop's stock of its items."""

    def __init__(
        self, book: ShopBook, levels: Sequence[StockLevel], offcuts: Sequence[Offcut]
    ) -> None:
        self._book, self._levels, self._offcuts = book, levels, offcuts
        self._figures = Figures(book.shop.ruler)

    def described(self, code: str) -> str:
        """Return the item's description; empty if the item no longer exists."""
        item = self._book.catalogue.items.get(code)
        return item.description if item else ""

    def whole(self, code: str, *, flat: bool) -> int | None:
        """Return the ticks (square for sheets) in whole sheets or sticks; None if not counted."""
        mine = [o for o in self._levels if o.item == code and bool(o.height) == flat]
        return sum(_extent(o.width, o.height) * o.quantity for o in mine) if mine else None

    def on_rack(self, code: str, *, flat: bool) -> int:
        """Return the ticks in offcuts."""
        mine = (o for o in self._offcuts if o.item == code and bool(o.height) == flat)
        return sum(_extent(o.width, o.height) for o in mine)

    def largest(self, code: str, *, flat: bool) -> tuple[int, str] | None:
        """Return the largest sheet or stick on sale: its ticks, and its size as text."""
        sizes = stock_sizes(self._book.catalogue.items.get(code))
        mine = [size for size in sizes if bool(size[1]) == flat]
        if not mine:
            return None
        width, height = max(mine, key=lambda size: _extent(*size))
        sides = [width, height] if flat else [width]
        marks = " x ".join(self._figures.length(side).shop for side in sides)
        return _extent(width, height), f"{marks} {self._book.shop.ruler.unit}"


def _extent(width: Length, height: Length) -> int:
    return width.ticks * (height.ticks or 1)


def _row(key: tuple[str, str, str], need: _Need, have: _Have) -> PurchasesRow:
    code, supply, basis = key
    told = (code, have.described(code), supply, need.pieces or None, basis)
    unit = SQUARE_TICKS_PER_SQUARE_FOOT if need.flat else TICKS_PER_FOOT
    if supply != CUT:  # the stock is not counted, so all of it is lacking
        amount = number(need.counted if supply == COUNTED else Fraction(need.ticks, unit))
        return PurchasesRow(*told, amount, None, None, amount, None, None)
    whole = have.whole(code, flat=need.flat)
    lacking = max(need.ticks - (whole or 0), 0)
    largest = have.largest(code, flat=need.flat)
    return PurchasesRow(
        *told,
        number(Fraction(need.ticks, unit)),
        None if whole is None else number(Fraction(whole, unit)),
        number(Fraction(have.on_rack(code, flat=need.flat), unit)),
        number(Fraction(lacking, unit)),
        up(lacking, largest[0]) if largest else None,
        largest[1] if largest else None,
    )
