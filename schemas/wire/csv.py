"""Rows of CSV files (RFC 4180) and the documents they represent.

The columns are the fields of the document. A list is in one cell, its parts separated by semicolons
(`96 in; 120 in`), and so is a bracket table (`20: 7.5; 30: 11; rest: 44`). An empty cell equals an
omitted field.

Spreadsheet programs read a cell that begins with = + - @ as a formula, so such a cell is written
with a leading apostrophe, and so is one that begins with an apostrophe; reading removes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from schemas.wire.document import Document, Part, Several
from schemas.wire.fields import StrictBoolean, StrictInteger
from service.domain.errors import Fault

BETWEEN = "; "
REST = "rest"
RISKY = frozenset("=+-@\t\r\n'")
_TRUTHS = {"true": True, "yes": True, "false": False, "no": False}


def guarded(text: str) -> str:
    """Return a cell that no spreadsheet reads as a formula."""
    return f"'{text}" if text[:1] in RISKY else text


def plain(cell: str) -> str:
    """Return the content of a cell."""
    return cell.removeprefix("'").strip() if cell.startswith("'") else cell.strip()


def columns(schema: Document, without: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the columns of a document, in the order of its fields."""
    left_out = {"units", "kind", *without}
    names = (field.data_key or name for name, field in schema.fields.items())
    return tuple(name for name in names if name not in left_out)


def document_of(schema: Document, cells: Mapping[str, str]) -> dict[str, Any]:
    """Return the document that a row represents; its schema reports any errors in it."""
    found: dict[str, Any] = {}
    for name, field in schema.fields.items():
        text = plain(cells.get(field.data_key or name, ""))
        if text:
            found[field.data_key or name] = _value(field, text)
    return found


def _value(field: Any, text: str) -> Any:
    if isinstance(field, Several):
        parts = [part.strip() for part in text.split(";")]
        if isinstance(field.inner, Part):
            return [_bracket(part) for part in parts if part]
        return [_value(field.inner, part) for part in parts if part]
    if isinstance(field, StrictBoolean):
        return _TRUTHS.get(text.lower(), text)
    if isinstance(field, StrictInteger) and text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    return text


def _bracket(text: str) -> dict[str, Any]:
    up_to, _, rate = (part.strip() for part in text.partition(":"))
    end = None if up_to.lower() == REST else up_to
    return {"up_to": end, "rate": rate}


def cells_of(document: Mapping[str, Any], names: Sequence[str]) -> list[str]:
    """Return the cells of a dumped document."""
    return [guarded(_text(document.get(name))) for name in names]


def _text(value: Any) -> str:
    if value is None:
        return ""
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, list):
        return BETWEEN.join(_text(part) for part in value)
    if isinstance(value, Mapping):
        end = REST if value["up_to"] is None else value["up_to"]
        return f"{end}: {value['rate']}"
    return str(value)


def column_of(fault: Fault) -> str:
    """Return the column that a fault is in; empty for one of the whole row."""
    return fault.pointer.split("/")[1] if fault.pointer else ""
