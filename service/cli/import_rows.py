"""Importing a shop's CSV files: rows read in a stream, stored in batches, faults told by line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from schemas import csv_files
from schemas.csv_files import BREAKS, COSTS, ITEM_FILES, LISTS, RULES, Row, RowFault
from schemas.items import ItemDocuments
from schemas.price_list_records import PriceListDocuments
from service.app.cataloguing import Changing
from service.app.importing import (
    Tally,
    import_costs,
    import_items,
    import_price_list,
    taken,
    unknown,
)
from service.domain.catalogue import ItemCost
from service.domain.errors import Conflict, JobRefused

BATCH = 500
PROGRESS_EVERY = 5_000
ITEMS, LIST_DOCUMENTS = ItemDocuments(), PriceListDocuments()
T = TypeVar("T")


@dataclass(slots=True)
class Report:
    """What came of an import, told while it goes on.

    Attributes:
        tell: writes a line for people.
        tallies: what was stored, by file.
        faulty: how many rows are wrong.
    """

    tell: Callable[[str], None]
    tallies: dict[str, Tally] = field(default_factory=dict)
    faulty: int = 0
    _rows: int = 0

    def fault(self, path: Path, found: RowFault) -> None:
        """Name a faulty row."""
        column = f", column {found.column}" if found.column else ""
        self.tell(f"{path.name}, line {found.line}{column}: {found.detail}")

    def faults(self, path: Path, row: Row) -> None:
        """Name all that is wrong with a row."""
        self.faulty += 1
        for found in row.faults:
            self.fault(path, found)

    def row(self, path: Path) -> None:
        """Count a row, and say now and then how far it has come."""
        self._rows += 1
        if self._rows % PROGRESS_EVERY == 0:
            self.tell(f"{self._rows:,} rows read, now in {path.name}")

    def stored(self, name: str, tally: Tally) -> None:
        """Count what was stored."""
        self.tallies.setdefault(name, Tally()).add(tally)


@dataclass(frozen=True, slots=True)
class Files:
    """The files of an import by name, in the order in which they are read."""

    paths: dict[str, Path]
    unit: str

    def rows(self, name: str, report: Report) -> Iterator[Row]:
        """The good rows of a file; the others are named."""
        path = self.paths[name]
        with path.open(encoding="utf-8-sig", newline="") as file:
            for row in csv_files.rows_of(name, file, self.unit):
                report.row(path)
                if row.faults:
                    report.faults(path, row)
                else:
                    yield row


def check(files: Files, report: Report) -> None:
    """Read everything and store nothing: what is wrong by itself is named."""
    for name in files.paths:
        for _ in _once(files, name, report):
            pass


def store(files: Files, report: Report, changing: Callable[[], Changing], kept: Any) -> None:
    """Store what differs, batch by batch.

    Args:
        files: what to read.
        report: told what is wrong and what was stored.
        changing: the change that the next batch belongs to.
        kept: called after each batch: it may commit.
    """
    for name in files.paths:
        if name in ITEM_FILES:
            _store_items(files, name, report, changing, kept)
        elif name == COSTS:
            _store_costs(files, report, changing, kept)
    if LISTS in files.paths:
        _store_lists(files, report, changing, kept)


def _once(files: Files, name: str, report: Report) -> Iterator[Row]:
    """The rows of a file; of items, each code once."""
    seen: dict[str, int] = {}
    for row in files.rows(name, report):
        code = getattr(row.value, "code", None) if name in ITEM_FILES else None
        if code is not None and code in seen:
            detail = f"{code} stands in line {seen[code]} already"
            fault = RowFault(row.line, "code", "twice", detail)
            report.faults(files.paths[name], Row(row.line, None, (fault,)))
            continue
        if code is not None:
            seen[code] = row.line
        yield row


def _batches(rows: Iterable[T]) -> Iterator[list[T]]:
    source = iter(rows)
    while batch := list(islice(source, BATCH)):
        yield batch


def _store_items(
    files: Files, name: str, report: Report, changing: Callable[[], Changing], kept: Any
) -> None:
    kind = ITEM_FILES[name]
    for batch in _batches(_once(files, name, report)):
        change = changing()
        others = taken(change, type(batch[0].value), [row.value.code for row in batch])
        for row in batch:
            if row.value.code in others:
                detail = f"{row.value.code} is another kind of item already"
                fault = RowFault(row.line, "code", "conflict", detail)
                report.faults(files.paths[name], Row(row.line, None, (fault,)))
        good = [row.value for row in batch if row.value.code not in others]
        report.stored(name, import_items(change, kind, good, ITEMS))
        kept()


def _store_costs(files: Files, report: Report, changing: Callable[[], Changing], kept: Any) -> None:
    for batch in _batches(_by_item(files.rows(COSTS, report))):
        change = changing()
        missing = unknown(change, [code for code, _ in batch])
        good: dict[str, tuple[ItemCost, ...]] = {}
        for code, rows in batch:
            if code in missing:
                fault = RowFault(rows[0].line, "item", "unknown_item", f"there is no item {code}")
                report.faults(files.paths[COSTS], Row(rows[0].line, None, (fault,)))
            elif code in good:
                detail = f"the costs of {code} stand together, in rows that follow each other"
                fault = RowFault(rows[0].line, "item", "twice", detail)
                report.faults(files.paths[COSTS], Row(rows[0].line, None, (fault,)))
            else:
                good[code] = tuple(row.value for row in rows)
        report.stored(COSTS, import_costs(change, good, ITEMS))
        kept()


def _by_item(rows: Iterable[Row]) -> Iterator[tuple[str, list[Row]]]:
    """Rows that follow each other and are of one item."""
    group: list[Row] = []
    for row in rows:
        if group and group[0].value.item != row.value.item:
            yield group[0].value.item, group
            group = []
        group.append(row)
    if group:
        yield group[0].value.item, group


def _store_lists(files: Files, report: Report, changing: Callable[[], Changing], kept: Any) -> None:
    heads = list(files.rows(LISTS, report))
    parts: dict[str, dict[str, list[Row]]] = {}
    for name in (BREAKS, RULES):
        for row in files.rows(name, report) if name in files.paths else ():
            parts.setdefault(row.value["price_list"], {}).setdefault(name, []).append(row)
    for head in heads:
        mine = parts.pop(head.value["code"], {})
        _store_list(head, mine, files, report, changing())
        kept()
    for code, left in parts.items():
        for name, rows in left.items():
            detail = f"price_lists.csv has no list {code}"
            fault = RowFault(rows[0].line, "price_list", "unknown_list", detail)
            report.faults(files.paths[name], Row(rows[0].line, None, (fault,)))


def _store_list(
    head: Row, parts: dict[str, list[Row]], files: Files, report: Report, change: Changing
) -> None:
    value = dict(head.value)
    publish = value.pop("state", "draft") == "published"
    rules = parts.get(RULES, [])
    try:
        breaks = [row.value for row in parts.get(BREAKS, [])]
        made = csv_files.price_list_of(value, breaks, [row.value for row in rules])
        tally = import_price_list(change, made, LIST_DOCUMENTS, publish=publish)
    except JobRefused as refused:
        lines = [row.line for row in rules]
        faults = tuple(csv_files.fault_at(fault, lines) for fault in refused.faults())
        where = files.paths.get(RULES, files.paths[LISTS])
        report.faults(where, Row(head.line, None, faults))
    except Conflict as conflict:
        fault = RowFault(head.line, "code", conflict.code, conflict.message)
        report.faults(files.paths[LISTS], Row(head.line, None, (fault,)))
    else:
        report.stored(LISTS, tally)
