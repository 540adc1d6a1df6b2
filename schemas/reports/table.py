"""Reports: rows of named columns, shown as JSON or as CSV (RFC 4180).

Each column is defined once; the shape in the contract, the header of the CSV file and the guarding
of cells all follow from it. Money is in the row's currency and never added up across currencies.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from schemas.wire.csv import guarded
from schemas.wire.figures import Json, instant, written
from service.domain.reports import Span

TOGETHER = 200
"""The number of CSV rows yielded at once."""


class Column(NamedTuple):
    """One column.

    `kind` is text, day, instant, currency, money, number, whole; `null` allows it to be empty.
    """

    name: str
    kind: str
    said: str
    null: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """The definition of a report: its name, and the columns of its rows and totals."""

    name: str
    said: str
    columns: tuple[Column, ...]
    totals: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """A report's content. `head` holds its parameters."""

    form: Form
    head: Json
    rows: Iterable[Json]
    totals: Sequence[Json]


def span_head(span: Span) -> Json:
    """Return the parameters that describe a report's days."""
    return {
        "from": span.first.isoformat(),
        "to": span.last.isoformat(),
        "period": span.period,
        "time_zone": span.shop.time_zone,
        "as_of": instant(span.as_of),
    }


def report_document(report: Report) -> bytes:
    """Return a report as JSON."""
    document = {
        "report": report.form.name,
        **report.head,
        "rows": list(report.rows),
        "totals": list(report.totals),
    }
    return written(document)


def csv_lines(report: Report) -> Iterator[bytes]:
    """Yield a report as CSV: its rows under a header.

    Text that a spreadsheet would read as a formula is guarded by an apostrophe; numbers are
    unchanged.
    """
    columns = report.form.columns
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    for n, row in enumerate(report.rows):
        writer.writerow([_cell(column, row[column.name]) for column in columns])
        if n % TOGETHER == TOGETHER - 1:
            yield _taken(buffer)
    yield _taken(buffer)


def _cell(column: Column, value: object) -> str:
    if value is None:
        return ""
    text = str(value)
    return guarded(text) if column.kind == "text" else text


def _taken(buffer: io.StringIO) -> bytes:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()
