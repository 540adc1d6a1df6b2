"""A calculated document as terminal text: sizes, cut list, price, and advisories."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from service.printing.parts.words import shortened

WIDTH = 78
SIDES = {"top": "top and bottom", "left": "left and right"}
UNITS = {"in": "inches", "mm": "millimetres", "cm": "centimetres"}
Row = Sequence[str]


def quote_text(document: dict[str, Any], unit: str) -> str:
    """Return the estimate or quote document as text; lengths are marks on the shop's ruler."""
    lines: list[str] = []
    for position, job in enumerate(document["jobs"], start=1):
        lines += _job(job, position, unit, document["currency"])
    lines += _totals(document)
    return "\n".join(line.rstrip() for line in lines)


def _job(job: dict[str, Any], position: int, unit: str, currency: str) -> list[str]:
    label = job["label"] or f"Job {position}"
    many = f", {job['quantity']} alike" if job["quantity"] > 1 else ""
    return [
        f"{label}{many}",
        "=" * min(WIDTH, len(label + many)),
        *_sizes(job["sizes"], unit),
        "",
        f"CUT LIST ({UNITS[unit]}; windows from the blank's left and top, seen from the front)",
        *_table(_cut_rows(job["cut_list"]), right=(0,)),
        "",
        f"PRICE ({currency})",
        *_table(_price_rows(job["lines"]), right=(2, 4, 5)),
        *_under(job),
        "",
        *_advisories(job["advisories"]),
    ]


def _sizes(sizes: dict[str, Any], unit: str) -> Iterator[str]:
    for name in ("opening", "package", "rabbet", "frame_sight", "outside"):
        if sizes[name] is not None:
            yield f"  {name.replace('_', ' '):12} {_by(sizes[name])} {unit}"
    yield f"  {'depth':12} {sizes['stack_depth']['shop']} {unit}"
    yield f"  {'weight':12} about {sizes['weight_kg']} kg, without the art"


def _by(size: dict[str, Any]) -> str:
    return f"{size['width']['shop']} x {size['height']['shop']}"


def _cut_rows(pieces: Iterable[dict[str, Any]]) -> Iterator[Row]:
    for piece in pieces:
        part = piece["part"]
        if part in ("mat", "rail", "fillet") and piece.get("layer", 1) > 1:
            part = f"{part} {piece['layer']}"
        if "length" in piece:
            side = SIDES.get(piece["side"], "each side")
            mitre = f", mitre {piece['mitre_degrees']}°" if "mitre_degrees" in piece else ""
            size = f"{piece['length']['shop']}  {side}{mitre}"
        else:
            size = _by(piece)
        yield (str(piece["quantity"]), part, piece["item"], size)
        for window in piece.get("openings", ()):
            place = f"at {window['x']['shop']}, {window['y']['shop']}"
            shape = "window" if window["shape"] == "rectangle" else window["shape"]
            yield ("", "", f"  {shape}", f"{_by(window)}  {place}")


def _price_rows(lines: Iterable[dict[str, Any]]) -> Iterator[Row]:
    for line in lines:
        pieces = f"x {line['pieces']}" if line["pieces"] > 1 else ""
        basis = line["basis"].replace("_", " ")
        what = line["item"] or line["description"]
        yield (
            line["component"],
            what,
            line["quantity"],
            f"{basis} {pieces}".strip(),
            _rate(line),
            line["amount"],
        )


def _rate(line: dict[str, Any]) -> str:
    if line["method"] == "whole":
        return f"bracket {line['rate']}"
    if len(line.get("slices", ())) > 1:
        return ", ".join(f"{part['quantity']} at {part['rate']}" for part in line["slices"])
    return f"at {line['rate']}"


def _under(job: dict[str, Any]) -> Iterator[str]:
    yield f"{'':2}{'subtotal':>{WIDTH - 14}} {job['subtotal']:>10}"
    if job["percent_off"] != "0":
        off = f"less {shortened(job['percent_off'], 2)} % for quantity"
        yield f"{'':2}{off:>{WIDTH - 14}} {'-' + job['discount']:>10}"
    yield f"  bench time {job['labour']['minutes']} minutes"


def _advisories(advisories: Iterable[dict[str, Any]]) -> Iterator[str]:
    for advisory in advisories:
        mark = {"stop": "STOP", "warning": "MIND", "info": "note"}[advisory["severity"]]
        text = f"{mark}: {advisory['message']}"
        yield textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent=" " * 8)
    yield ""


def _totals(document: dict[str, Any]) -> Iterator[str]:
    totals = document["totals"]
    rows = [("subtotal", totals["subtotal"])]
    if totals["discount"].strip("0.") != "":
        rows.append(("discount", "-" + totals["discount"]))
    kind = "tax included" if totals["tax_included"] else "tax"
    unknown = f"not known for {', '.join(totals['tax_unknown'])}"
    rows.append((kind, unknown if totals["tax"] is None else totals["tax"]))
    rows.append((f"TOTAL {document['currency']}", totals["total"]))
    yield "-" * WIDTH
    for name, amount in rows:
        yield f"{name:>{WIDTH - 12}} {amount:>11}"


def _table(rows: Iterable[Row], right: tuple[int, ...]) -> Iterator[str]:
    """Yield rows in columns as wide as needed; `right` names the right-aligned columns."""
    all_rows = list(rows)
    if not all_rows:
        return
    widths = [max(len(row[at]) for row in all_rows) for at in range(len(all_rows[0]))]
    for row in all_rows:
        cells = [
            cell.rjust(width) if at in right else cell.ljust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  " + "  ".join(cells)
