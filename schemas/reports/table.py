"""Reports: rows of figures, shown as JSON or as CSV (RFC 4180).

Each report is a record that names the records of its rows and of its totals. The answer, its shape
in the contract, the header of the CSV file and the guarding of its cells all follow from them.
Money is in the row's currency and never added up across currencies.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, ClassVar, Generic, TypeVar

import msgspec
from msgspec import Meta, inspect

from schemas.wire.csv import guarded
from schemas.wire.figures import instant
from schemas.wire.record import Record, at_least, doc, encode, named
from schemas.wire.values import Day, Moment, Money, Number
from service.domain.reports import Span

TOGETHER = 200
"""The number of CSV rows yielded at once."""
Many = Annotated[int, Meta(ge=0)]
MaybeMany = Many | None
MaybeMoney = Money | None
MaybeNumber = Number | None
From = Annotated[Day, doc("The first day of the period.")]
To = Annotated[Day, doc("The last day of the period.")]
RowCurrency = Annotated[str, doc("The currency of the row's money (ISO 4217).")]
RowT = TypeVar("RowT", bound=Record)
TotalT = TypeVar("TotalT", bound=Record)


def count(words: str) -> Meta:
    """Return the meaning of a number of things."""
    return at_least(0, words)


class ReportRecord(Record):
    """The head of a report on one instant; a subclass adds its rows and totals."""

    name: ClassVar[str]
    report: Annotated[str, doc("The name of the report.")]
    time_zone: Annotated[str, doc("The shop's time zone, in which its days begin and end.")]
    as_of: Annotated[Moment, doc("The instant of the figures.")]


class SpannedReport(Record):
    """The head of a report on several days; a subclass adds its rows and totals."""

    name: ClassVar[str]
    report: Annotated[str, doc("The name of the report.")]
    first: Annotated[Day, doc("The first day.")] = named(name="from")
    last: Annotated[Day, doc("The last day.")] = named(name="to")
    period: Annotated[str, doc("The length of a row's period: day, week or month.")]
    time_zone: Annotated[str, doc("The shop's time zone, in which its days begin and end.")]
    as_of: Annotated[Moment, doc("The instant of the figures.")]


Kind = type[ReportRecord] | type[SpannedReport]


@dataclass(frozen=True, slots=True)
class Report(Generic[RowT, TotalT]):
    """A report's content. `head` holds the fields of its head."""

    kind: Kind
    head: Mapping[str, str]
    rows: Iterable[RowT]
    totals: Sequence[TotalT]


def span_head(span: Span) -> dict[str, str]:
    """Return the fields that describe a report's days."""
    return {
        "first": span.first.isoformat(),
        "last": span.last.isoformat(),
        "period": span.period,
        "time_zone": span.shop.time_zone,
        "as_of": instant(span.as_of),
    }


def report_document(report: Report[RowT, TotalT]) -> bytes:
    """Return a report as JSON."""
    kind: Any = report.kind
    made = kind(
        report=kind.name, **report.head, rows=tuple(report.rows), totals=tuple(report.totals)
    )
    return encode(made)


def csv_lines(report: Report[RowT, TotalT], *, bom: bool = False) -> Iterator[bytes]:
    """Yield a report as CSV: its rows under a header.

    `bom` puts U+FEFF first (Unicode 23.8), by which some spreadsheets know UTF-8 in a file.
    Text that a spreadsheet would read as a formula is guarded by an apostrophe; numbers are
    unchanged.
    """
    columns = row_columns(report.kind)
    buffer = io.StringIO()
    buffer.write("\ufeff" if bom else "")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([column.encode_name for column in columns])
    plain = [_is_text(column.type) for column in columns]
    for n, row in enumerate(report.rows):
        cells = zip(msgspec.structs.astuple(row), plain, strict=True)
        writer.writerow([_cell(value, text=text) for value, text in cells])
        if n % TOGETHER == TOGETHER - 1:
            yield _taken(buffer)
    yield _taken(buffer)


@cache
def row_columns(kind: Kind) -> tuple[inspect.Field, ...]:
    """Return the fields of a report's rows."""
    whole: Any = inspect.type_info(kind)
    (rows,) = (field.type for field in whole.fields if field.name == "rows")
    while isinstance(rows, inspect.Metadata):
        rows = rows.type
    fields: tuple[inspect.Field, ...] = rows.item_type.fields
    return fields


def _is_text(kind: object) -> bool:
    """Return True if a column holds free text: not a day, an amount or another format."""
    if isinstance(kind, inspect.Metadata):
        shape = kind.extra_json_schema or {}
        return not {"x-component", "format"} & set(shape) and _is_text(kind.type)
    if isinstance(kind, inspect.UnionType):
        return any(_is_text(each) for each in kind.types)
    return isinstance(kind, inspect.StrType)


def _cell(value: object, *, text: bool) -> str:
    if value is None:
        return ""
    return guarded(str(value)) if text else str(value)


def _taken(buffer: io.StringIO) -> bytes:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()
