"""The CSV files of a shop: their names, their columns, and a reader of their rows.

mouldings.csv, boards.csv, glazing.csv, fillets.csv, hardware.csv, supplies.csv: one item per row.
costs.csv: one cost per row; an item may have several, in order of precedence.
price_lists.csv, breaks.csv, rules.csv: lists, their quantity breaks, their rules.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TextIO

from schemas.materials.catalogue import COST_DOCUMENT, ITEM_DOCUMENTS, PLACES, dump_cost, dump_item
from schemas.prices.lists import PRICE_LIST_HEAD, BreakDocument, PriceListDocument, RuleDocument
from schemas.wire.csv import cells_of, column_of, columns, document_of
from schemas.wire.document import Document, read
from schemas.wire.fields import Code, OneOf
from service.domain.errors import Fault, JobRefused
from service.domain.materials.catalogue import AnyItem, ItemCost
from service.domain.prices.lists import PriceList

ITEM_FILES = PLACES
"""One file for each of the catalogue's paths."""
LISTS, BREAKS, RULES, COSTS = "price_lists", "breaks", "rules", "costs"
LONGEST_CELL = 20_000
LONGEST_LINE = 1_000_000
MOST_COLUMNS = 200


class ListRowDocument(PriceListDocument):
    """A price list without the parts that have their own files."""

    state = OneOf(("draft", "published"))

    def make(self, values: dict[str, Any]) -> Any:
        """Return the row unchanged; the list is built when all its rows are read."""
        values.pop("units", None)
        return values


class BreakRowDocument(BreakDocument):
    """A quantity break, and the list it belongs to."""

    price_list = Code(required=True)

    def make(self, values: dict[str, Any]) -> Any:
        """Return the row unchanged."""
        return values


class RuleRowDocument(RuleDocument):
    """A rule, and the list it belongs to."""

    price_list = Code(required=True)

    def make(self, values: dict[str, Any]) -> Any:
        """Return the row unchanged."""
        return values


_LIST_ROW = ListRowDocument(exclude=("rules", "quantity_breaks"))
_BREAK_ROW, _RULE_ROW = BreakRowDocument(), RuleRowDocument()
_BREAK, _RULE = BreakDocument(), RuleDocument()
SCHEMAS: Mapping[str, Document] = {
    **{name: ITEM_DOCUMENTS[kind] for name, kind in ITEM_FILES.items()},
    COSTS: COST_DOCUMENT,
    LISTS: _LIST_ROW,
    BREAKS: _BREAK_ROW,
    RULES: _RULE_ROW,
}
ORDER = tuple(SCHEMAS)
"""Items before their costs, and lists before their parts."""


@dataclass(frozen=True, slots=True)
class RowFault:
    """One error in a file: the line, the column, a code and a description."""

    line: int
    column: str
    code: str
    detail: str


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a file: its first line, and its value or its faults."""

    line: int
    value: Any
    faults: tuple[RowFault, ...] = ()


def rows_of(name: str, file: TextIO, unit: str) -> Iterator[Row]:
    """Yield the rows of a file; nothing is kept in memory.

    Args:
        name: which of the files it is.
        file: its text, opened with newline="".
        unit: the unit of bare lengths.
    """
    schema, known = SCHEMAS[name], columns(SCHEMAS[name])
    header: list[str] | None = None
    for line, cells in _cells(file):
        if isinstance(cells, RowFault):
            yield Row(line, None, (cells,))
        elif header is None:
            header = [cell.strip() for cell in cells]
            if faults := tuple(_header_faults(header, known, schema)):
                yield Row(1, None, faults)
                return
        elif any(cells):
            yield _row(line, cells, header, schema, unit)
    if header is None:
        yield Row(1, None, tuple(_header_faults([], known, schema)))


def _cells(file: TextIO) -> Iterator[tuple[int, list[str] | RowFault]]:
    """Yield each row's first line and cells; a fault, and stop, if it is not CSV in UTF-8."""
    csv.field_size_limit(LONGEST_CELL)
    reader = csv.reader(_not_endless(file), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            yield line, RowFault(line, "", "bad_csv", f"this is not CSV: {error}")
            return
        except UnicodeDecodeError:
            yield line, RowFault(line, "", "bad_text", "this is not UTF-8 text; save it as UTF-8")
            return
        if cells is None:
            return
        yield line, cells


def _not_endless(file: TextIO) -> Iterator[str]:
    """Yield the lines of a file, none of them longer than the longest valid row.

    Raises:
        csv.Error: a line is longer than that.
    """
    while line := file.readline(LONGEST_LINE):
        if len(line) == LONGEST_LINE and not line.endswith(("\r", "\n")):
            raise csv.Error(f"a line has more than {LONGEST_LINE} characters")
        yield line


def _row(line: int, cells: list[str], header: list[str], schema: Document, unit: str) -> Row:
    if len(cells) > len(header):
        detail = f"this row has {len(cells)} cells, and there are {len(header)} columns"
        return Row(line, None, (RowFault(line, "", "too_many_cells", detail),))
    document = document_of(schema, dict(zip(header, cells, strict=False)))
    try:
        return Row(line, read(schema, document, unit=unit))
    except JobRefused as refused:
        told = (RowFault(line, column_of(f), f.code, f.detail) for f in refused.faults())
        return Row(line, None, tuple(told))


def _header_faults(
    header: list[str], known: tuple[str, ...], schema: Document
) -> Iterator[RowFault]:
    if len(header) > MOST_COLUMNS:
        detail = f"the first row has {len(header)} cells; there are {len(known)} columns here"
        yield RowFault(1, "", "too_many_cells", detail)
        return
    for place, name in enumerate(header):
        if name not in known:
            detail = f"{name[:40] or 'an empty name'} is not a column here; there are "
            yield RowFault(1, name[:40], "unknown_column", detail + ", ".join(known))
        elif name in header[:place]:
            yield RowFault(1, name, "twice", f"{name} stands here twice")
    for name, field in schema.fields.items():
        if field.required and (field.data_key or name) not in header:
            yield RowFault(1, name, "missing_column", f"the column {name} is missing")


def table_of(name: str) -> tuple[str, ...]:
    """Return the columns that a file is written with."""
    return columns(SCHEMAS[name])


def item_cells(name: str, item: AnyItem) -> list[str]:
    """Return an item as a row."""
    return cells_of(dump_item(item), table_of(name))


def cost_cells(cost: ItemCost) -> list[str]:
    """Return a cost as a row."""
    return cells_of(dump_cost(cost), table_of(COSTS))


def list_cells(price_list: PriceList, state: str) -> list[str]:
    """Return a price list as a row, without its rules."""
    return cells_of({**PRICE_LIST_HEAD.dump(price_list), "state": state}, table_of(LISTS))


def break_rows(price_list: PriceList) -> Iterator[list[str]]:
    """Yield the quantity breaks of a list as rows."""
    for step in price_list.breaks:
        row = {**_BREAK.dump(step), "price_list": price_list.code}
        yield cells_of(row, table_of(BREAKS))


def rule_rows(price_list: PriceList) -> Iterator[list[str]]:
    """Yield the rules of a list as rows."""
    for rule in price_list.rules:
        row = {**_RULE.dump(rule), "price_list": price_list.code}
        yield cells_of(row, table_of(RULES))


def price_list_of(head: Mapping[str, Any], breaks: list[Any], rules: list[Any]) -> PriceList:
    """Return a whole list built from its rows.

    Raises:
        JobRefused: faults that show only in the whole list.
    """
    document = PRICE_LIST_HEAD.dump({**head, "breaks": ()})
    document["quantity_breaks"] = [_BREAK.dump(step) for step in breaks]
    document["rules"] = [_RULE.dump(rule) for rule in rules]
    made: PriceList = read(PriceListDocument(), document)
    return made


def fault_at(fault: Fault, lines: list[int]) -> RowFault:
    """Return a fault of a built list, located at the row of its rule."""
    parts = fault.pointer.split("/")
    if len(parts) > 2 and parts[1] == "rules" and parts[2].isdigit():
        column = parts[3] if len(parts) > 3 else ""
        return RowFault(lines[int(parts[2])], column, fault.code, fault.detail)
    return RowFault(1, parts[1] if len(parts) > 1 else "", fault.code, fault.detail)
