"""The input of `framing-quotes plan`: a JSON document, a CSV list of pieces, or tickets."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from service.api.http.body import read_json

WANTED = click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)
COLUMNS = ("key", "item", "quantity", "width", "height", "length", "name", "together", "may_turn")


YES_NO = {"yes": True, "no": False, "true": True, "false": False}


def asked_for(
    file: Path | None,
    tickets: tuple[str, ...],
    *,
    open_tickets: bool,
    work: Sequence[dict[str, Any]] = (),
) -> bytes:
    """Return the request's document, as for POST /v1/cutting-plans.

    Raises:
        ClickException: the file holds neither an object nor a list of pieces.
        JobRefused: it is not JSON.
    """
    document: dict[str, Any] = {}
    text = b"" if file is None else _text(file)
    if file is not None and file.suffix.lower() == ".csv":
        document["pieces"] = _rows(text)
    elif file is not None:
        read = read_json(text)
        if not isinstance(read, dict):
            raise click.ClickException("the file holds no document such as a cutting plan is asked")
        if not tickets and not open_tickets and not work:
            return text
        document |= read
    if work:
        options = document.setdefault("options", {})
        options["items"] = [*options.get("items", []), *work]
    if tickets:
        document["tickets"] = list(tickets)
    if open_tickets:
        document["open_tickets"] = True
    return json.dumps(document, default=str).encode()


def _text(file: Path) -> bytes:
    return sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()


def _rows(text: bytes) -> list[dict[str, Any]]:
    """Return the pieces of a CSV file; empty cells are left out.

    Raises:
        ClickException: not UTF-8, or an unknown column.
    """
    try:
        lines = csv.DictReader(text.decode("utf-8-sig").splitlines(), strict=True)
        unknown = [name for name in lines.fieldnames or () if name not in COLUMNS]
        if unknown:
            told = f"{', '.join(unknown)}: no such column; there are {', '.join(COLUMNS)}"
            raise click.ClickException(told)
        return [_piece(row) for row in lines]
    except (UnicodeDecodeError, csv.Error) as error:
        raise click.ClickException(f"the file is no CSV table in UTF-8: {error}") from error


def _piece(row: dict[str, Any]) -> dict[str, Any]:
    if None in row or None in row.values():
        raise click.ClickException("a line of the table has another number of cells than its head")
    piece: dict[str, Any] = {name: cell.strip() for name, cell in row.items() if cell.strip()}
    if piece.get("quantity", "").isdecimal():
        piece["quantity"] = int(piece["quantity"])
    if piece.get("may_turn", "").lower() in YES_NO:
        piece["may_turn"] = YES_NO[piece["may_turn"].lower()]
    return piece


def work_of(
    cut_by: Sequence[str],
    kerf: Sequence[str],
    edge_trim: Sequence[str],
    colour: Sequence[str],
    no_turn: Sequence[str],
) -> list[dict[str, Any]]:
    """Return how items are cut, from options such as HB-3=saw; for a request's `options.items`.

    Raises:
        UsageError: an option without an item or without a value.
    """
    found: dict[str, dict[str, Any]] = {}
    options = {"cut_by": cut_by, "kerf": kerf, "edge_trim": edge_trim, "colour": colour}
    for name, given in options.items():
        for text in given:
            item, sign, value = text.partition("=")
            if not (item.strip() and sign and value.strip()):
                told = f"--{name.replace('_', '-')} takes an item and a value: HB-3=1/8 in"
                raise click.UsageError(told)
            row = found.setdefault(item.strip(), {"item": item.strip()})
            row[name] = value.strip()
    for item in no_turn:
        found.setdefault(item, {"item": item})["may_turn"] = False
    return list(found.values())
