"""What the use cases need of stored cutting plans, of the rack, of stock, and of jobs to come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from schemas.cutting.records import (
    CutLot,
    Effects,
    Offcut,
    OffcutFilter,
    OffcutPage,
    PlanHead,
    PlanPage,
    StockLevel,
    StoredPlan,
    Take,
)
from schemas.quotes.records import Cursor
from service.domain.measure.length import Length


class CuttingPlans(Protocol):
    """The stored cutting plans."""

    def next_serial(self, shop_id: str) -> int:
        """The shop's next number of a plan."""
        ...

    def add(self, plan: StoredPlan) -> None:
        """Store a plan under the serial in its head."""
        ...

    def by_id(self, shop_id: str, plan_id: str) -> StoredPlan:
        """The plan with this id. NotFound where the shop has none."""
        ...

    def by_serial(self, shop_id: str, serial: int) -> StoredPlan:
        """The plan with this serial. NotFound where the shop has none."""
        ...

    def change(self, was: PlanHead, now: PlanHead, written: Mapping[str, bytes]) -> None:
        """Store a plan anew, with those documents that are written. Stale where it has changed."""
        ...

    def beat(self, head: PlanHead, done: int, total: int, at: datetime) -> bool:
        """Note how far the work is; False where it is not to be worked on any more."""
        ...

    def unheard(self, since: datetime) -> tuple[tuple[str, str], ...]:
        """Plans to be made of which nothing was heard since then: their shops and their ids."""
        ...

    def effects(self, plan_id: str, effects: Effects) -> None:
        """Store what committing the plan will do."""
        ...

    def page(
        self, shop_id: str, status: str | None, limit: int, after: Cursor | None = None
    ) -> PlanPage:
        """Newest first; plans that arrive meanwhile never shift a later page."""
        ...

    def numbers(self, shop_id: str, plan_ids: Iterable[str]) -> Mapping[str, str]:
        """The numbers of these plans, by their ids."""
        ...

    def cut_lots(self, ticket_ids: Iterable[str]) -> Mapping[tuple[str, int], int]:
        """How many of each lot of these tickets are in committed plans."""
        ...

    def add_lots(self, plan_id: str, lots: Iterable[CutLot]) -> None:
        """Note what a plan cuts."""
        ...

    def drop_lots(self, plan_id: str) -> None:
        """Forget what a plan cuts."""
        ...


class Rack(Protocol):
    """The offcuts of a shop."""

    def serials(self, shop_id: str, count: int) -> range:
        """The shop's next labels. Whoever has them goes first until the unit of work is over."""
        ...

    def add(self, offcuts: Sequence[Offcut]) -> None:
        """Put offcuts on the rack."""
        ...

    def by_id(self, shop_id: str, offcut_id: str) -> Offcut:
        """The offcut with this id. NotFound where the shop has none."""
        ...

    def by_serial(self, shop_id: str, serial: int) -> Offcut:
        """The offcut with this label. NotFound where the shop has none."""
        ...

    def on_rack(self, shop_id: str, items: Iterable[str]) -> tuple[Offcut, ...]:
        """What is on the rack of these items, in the order of the labels."""
        ...

    def booked_by(self, plan_id: str) -> tuple[Offcut, ...]:
        """What a plan put on the rack, in the order of the labels."""
        ...

    def change(self, was: Offcut, now: Offcut) -> None:
        """Store an offcut anew. Stale where somebody changed it meanwhile."""
        ...

    def use(self, shop_id: str, offcut_id: str, plan_id: str, at: datetime) -> bool:
        """Take an offcut off the rack; False where it is not there any more."""
        ...

    def put_back(self, plan_id: str, at: datetime) -> None:
        """Put what a plan used back on the rack."""
        ...

    def page(
        self, shop_id: str, wanted: OffcutFilter, limit: int, after: Cursor | None = None
    ) -> OffcutPage:
        """Newest first; offcuts that arrive meanwhile never shift a later page."""
        ...


class StockLevels(Protocol):
    """How many of each size of each item there are."""

    def of_items(self, shop_id: str, items: Iterable[str] | None) -> tuple[StockLevel, ...]:
        """The levels of these items, or of all, by item, width and height."""
        ...

    def level(self, shop_id: str, item: str, width: Length, height: Length) -> StockLevel:
        """One level. NotFound where nobody counts that size."""
        ...

    def put(self, shop_id: str, level: StockLevel, seen: int) -> None:
        """Store a level over version `seen`, 0 for a new one. Stale where it has another."""
        ...

    def take(self, shop_id: str, take: Take, at: datetime) -> bool:
        """Take from a level; False where there is not as much."""
        ...

    def put_back(self, shop_id: str, take: Take, at: datetime) -> None:
        """Give back what was taken."""
        ...


class Jobs(Protocol):
    """Works on plans in the background, each at least once; a plan may be worked on only once."""

    def put(self, shop_id: str, plan_id: str) -> None:
        """See to it that a waiting plan, already stored, is worked on."""
        ...

    def start(self) -> None:
        """Work on plans from now on, where that is this process's part."""
        ...

    def close(self) -> None:
        """Begin nothing more, and let go of what is being worked on."""
        ...
