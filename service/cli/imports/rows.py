"""Importing a shop's CSV files: rows read as a stream, stored in batches, faults given by line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import TextIOWrapper
from itertools import islice
from pathlib import Path
from typing import Protocol, TypeVar

from schemas.materials.catalogue import ItemDocuments
from schemas.prices import csv as csv_files
from schemas.prices.csv import BREAKS, COSTS, ITEM_FILES, LISTS, RULES, Row, RowFault
from schemas.prices.lists import PriceListDocuments
from service.app.keys.actor import Changing
from service.app.prices.importing import (
    import_costs,
    import_items,
    import_price_list,
    known_items,
    unknown,
)
from service.cli.imports.report import Report
from service.domain.errors import Conflict, JobRefused
from service.domain.materials.catalogue import ItemCost

BATCH = 500
ITEMS, LIST_DOCUMENTS = ItemDocuments(), PriceListDocuments()
T = TypeVar("T")


class Storing(Protocol):
    """The destination of batches."""

    def change(self) -> Changing | None:
        """Return the change that the next batch belongs to.

        None once nothing will be stored anyway.
        """
        ...

    def stored(self) -> None:
        """Finish a batch."""
        ...


@dataclass(frozen=True, slots=True)
class Files:
    """The files of an import by name, in reading order."""

    paths: dict[str, Path]
    unit: str

    def size(self) -> int:
        """Return their total size in bytes."""
        return sum(path.stat().st_size for path in self.paths.values())

    def rows(self, name: str, report: Report) -> Iterator[Row]:
        """Yield the good rows of a file; the others are reported."""
        path = self.paths[name]
        with path.open("rb") as raw, TextIOWrapper(raw, "utf-8-sig", newline="") as file:
            for row in csv_files.rows_of(name, file, self.unit):
                report.row(path, raw.tell())
                if row.faults:
                    report.faults(path, row)
                else:
                    yield row
        report.file_done(path)


def store(files: Files, report: Report, storing: Storing) -> None:
    """Read all rows and store the differences, batch by batch.

    References are checked only while anything will be stored: after a faulty row that rejects
    everything, the other rows are only checked by themselves.
    """
    for name in files.paths:
        if name in ITEM_FILES:
            _store_items(files, name, report, storing)
        elif name == COSTS:
            _store_costs(files, report, storing)
    if {LISTS, BREAKS, RULES} & files.paths.keys():
        _store_lists(files, report, storing)


def _once(files: Files, name: str, report: Report) -> Iterator[Row]:
    """Yield the rows of a file of items, each code once."""
    seen: dict[str, int] = {}
    for row in files.rows(name, report):
        code = row.value.code
        if code in seen:
            told = f"{code} stands in line {seen[code]} already"
            report.fault(files.paths[name], RowFault(row.line, "code", "twice", told))
            continue
        seen[code] = row.line
        yield row


def _batches(rows: Iterable[T]) -> Iterator[list[T]]:
    source = iter(rows)
    while batch := list(islice(source, BATCH)):
        yield batch


def _store_items(files: Files, name: str, report: Report, storing: Storing) -> None:
    for batch in _batches(_once(files, name, report)):
        change = storing.change()
        if change is None:
            continue
        known = known_items(change, [row.value.code for row in batch])
        good = []
        for row in batch:
            code = row.value.code
            if code in known and type(known[code]) is not type(row.value):
                told = f"{code} is another kind of item already"
                report.fault(files.paths[name], RowFault(row.line, "code", "conflict", told))
            else:
                good.append(row.value)
        tally = import_items(change, ITEM_FILES[name], good, known, ITEMS)
        storing.stored()
        report.stored(name, tally)


def _store_costs(files: Files, report: Report, storing: Storing) -> None:
    seen: dict[str, int] = {}
    for batch in _batches(_by_item(files.rows(COSTS, report))):
        change = storing.change()
        missing = set() if change is None else unknown(change, [code for code, _ in batch])
        good: dict[str, tuple[ItemCost, ...]] = {}
        for code, rows in batch:
            line = rows[0].line
            if code in seen:
                told = f"the costs of {code} begin in line {seen[code]}, and stand together"
                report.fault(files.paths[COSTS], RowFault(line, "item", "twice", told))
            elif code in missing:
                told = f"there is no item {code}"
                report.fault(files.paths[COSTS], RowFault(line, "item", "unknown_item", told))
            else:
                good[code] = tuple(row.value for row in rows)
            seen.setdefault(code, line)
        if change is not None:
            tally = import_costs(change, good, ITEMS)
            storing.stored()
            report.stored(COSTS, tally)


def _by_item(rows: Iterable[Row]) -> Iterator[tuple[str, list[Row]]]:
    """Yield consecutive rows of the same item."""
    group: list[Row] = []
    for row in rows:
        if group and group[0].value.item != row.value.item:
            yield group[0].value.item, group
            group = []
        group.append(row)
    if group:
        yield group[0].value.item, group


def _store_lists(files: Files, report: Report, storing: Storing) -> None:
    heads = list(files.rows(LISTS, report)) if LISTS in files.paths else []
    parts: dict[str, dict[str, list[Row]]] = {}
    for name in (BREAKS, RULES):
        for row in files.rows(name, report) if name in files.paths else ():
            parts.setdefault(row.value["price_list"], {}).setdefault(name, []).append(row)
    if storing.change() is None:
        return
    for head in heads:
        mine = parts.pop(head.value["code"], {})
        change = storing.change()
        if change is not None:
            _store_list(head, mine, files, report, change)
            storing.stored()
    for code, left in parts.items():
        for name, rows in left.items():
            told = f"price_lists.csv has no list {code}"
            fault = RowFault(rows[0].line, "price_list", "unknown_list", told)
            report.fault(files.paths[name], fault)


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
        report.fault(files.paths[LISTS], fault)
    else:
        report.stored(LISTS, tally)
