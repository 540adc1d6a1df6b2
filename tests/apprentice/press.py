"""Prints a ticket for a job document; the only place, with `jobs.py`, that knows the making.

What the apprentice gets beside the paper are plain documents: the job, and the shop's settings and
catalogue with every length as a fraction of a millimetre.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction
from io import BytesIO
from typing import Any

import pdfplumber
from pdfplumber.pdf import PDF

from schemas.jobs import JOB
from schemas.tickets.document import ticket_document
from schemas.wire.document import read
from schemas.wire.figures import plain as told
from service.domain.estimates.calculation import Basis, estimate_job
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import JobSpec
from service.domain.jobs.mat import Grid, Placed
from service.domain.measure.length import TICKS_PER_MM, Length, Sides, Size
from service.domain.measure.rounding import decimal_text
from service.domain.tickets.make import make_ticket
from service.printing.tickets.card import ticket_pdf
from service.printing.tickets.rows import TicketHead
from service.printing.tickets.text import ticket_text

HEAD = TicketHead(number="Q000123-4", shop="Invented test shop", reference="W-1021", jobs=2)


@dataclass(frozen=True, slots=True)
class Printed:
    """A ticket on paper, with the order that it was printed for."""

    job: Mapping[str, Any]
    shop: Mapping[str, Any]
    catalogue: Mapping[str, Any]
    document: Mapping[str, Any]

    def terminal(self, width: int = 80) -> str:
        """Return the text of the terminal."""
        return ticket_text(self.document, HEAD, width)

    def pdf(self, paper: str = "letter") -> PDF:
        """Return the PDF, to read its tags and texts."""
        return pdfplumber.open(BytesIO(ticket_pdf(self.document, HEAD, paper)))


def print_ticket(job: Mapping[str, Any], basis: Basis, unit: str = "in") -> Printed:
    """Return the ticket of a job document.

    Raises:
        DomainError: the job is refused, or has a `stop` advisory.
    """
    spec = read(JOB, job, unit=unit)
    made = estimate_job(assemble(spec, basis.shop, basis.catalogue), basis)
    document = told(ticket_document(make_ticket(made, basis.shop)))
    items = {code: plain(item) for code, item in basis.catalogue.items.items()}
    return Printed({"units": unit, **job}, plain(basis.shop), items, document)


def plain(value: Any) -> Any:
    """Return a record as dictionaries and lists, lengths as fractions of a millimetre."""
    if isinstance(value, Length):
        return Fraction(value.ticks, TICKS_PER_MM)
    if isinstance(value, Size):
        return plain(value.width), plain(value.height)
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    return value


def document_of(spec: JobSpec) -> dict[str, Any]:
    """Return the job document that asks for a spec, every length in millimetres."""
    told: dict[str, Any] = {
        "label": spec.label,
        "quantity": spec.quantity,
        "presentation": spec.presentation,
        "artwork": _artwork(spec.artwork),
        "openings": _openings(spec.openings),
        "mats": [_mat(mat) for mat in spec.mats],
        "fit_to": spec.fit_to and _pair(spec.fit_to),
        "glazing": spec.glazing
        and _given(sheet=spec.glazing.sheet, spacer=_text(spec.glazing.spacer)),
        "mounting": spec.mounting
        and _given(method=spec.mounting.method, board=spec.mounting.board),
        "backing": {"board": spec.backing} if spec.backing else None,
        "frames": [
            _given(moulding=f.moulding, supply=f.supply, sides=f.sides, fillet=f.fillet)
            for f in spec.frames
        ],
        "finishing": list(spec.finishing),
        "preservation_grade": spec.preservation_grade,
    }
    for name in ("overlap", "float_margin", "gap", "bottom_weight"):
        told[name] = _text(getattr(spec, name))
    return _given(**told)


def _given(**more: Any) -> dict[str, Any]:
    return {name: value for name, value in more.items() if value not in (None, "", [])}


def _text(length: Length | None) -> str | None:
    return None if length is None else f"{decimal_text(length.ticks, TICKS_PER_MM, 7)} mm"


def _pair(size: Size) -> dict[str, Any]:
    return {"width": _text(size.width), "height": _text(size.height)}


def _sides(sides: Sides | None) -> dict[str, Any] | None:
    names = ("top", "right", "bottom", "left")
    return sides and {name: _text(getattr(sides, name)) for name in names}


def _artwork(art: Any) -> dict[str, Any] | None:
    return art and {**_pair(art.size), "thickness": _text(art.thickness), "kind": art.kind}


def _mat(mat: Any) -> dict[str, Any]:
    return _given(
        board=mat.board,
        border=_sides(mat.border),
        reveal=_sides(mat.reveal),
        bevel=mat.bevel,
        fillet=mat.fillet,
        grooves=[_text(length) for length in mat.grooves],
        ruled_lines=[_text(length) for length in mat.ruled_lines],
    )


def _openings(layout: Any) -> Any:
    if isinstance(layout, Grid):
        return {
            "arrangement": "grid",
            "rows": layout.rows,
            "columns": layout.columns,
            "gutter": _text(layout.gutter),
            "shape": layout.shape,
        }
    if isinstance(layout, Placed):
        return [
            {"artwork": _artwork(w.artwork), "x": _text(w.x), "y": _text(w.y), "shape": w.shape}
            for w in layout.windows
        ]
    if layout.shape == "rectangle":
        return None
    return {"arrangement": "grid", "rows": 1, "columns": 1, "gutter": "0", "shape": layout.shape}
