"""Resources as shown and as sent back: lengths in their three forms.

Stored documents have lengths as text; answers show them in three forms. So that an answer can be
changed and sent back, lengths in three forms are also read here; exact millimetres decide, and
inches that differ are refused, since one of the two was left unchanged by mistake.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from schemas.wire.document import Document
from schemas.wire.fields import number_text
from schemas.wire.figures import Figures, Json
from schemas.wire.lengths import AS_SHOWN
from service.domain.errors import BadMoney, Fault, JobRefused
from service.domain.measure.money import exact_number
from service.domain.measure.ruler import Ruler

FORMS = frozenset({"in", "mm", "shop"})
_MM = Fraction("25.4")
_CLOSE = Fraction(1, 10**7)
"""Inches are shown to seven places."""


def shown(schema: Document, thing: object, ruler: Ruler) -> Json:
    """Return the document of a thing, its lengths in their three forms."""
    token = AS_SHOWN.set(Figures(ruler).length)
    try:
        document: Json = schema.dump(thing)
    finally:
        AS_SHOWN.reset(token)
    return document


def as_sent(document: Any, told: Iterable[str] = ()) -> Any:
    """Return a document that may be a changed answer, as a request document.

    Args:
        document: the received document.
        told: top-level fields that answers contain and requests do not; they are removed.

    Raises:
        JobRefused: a length whose forms differ.
    """
    faults: list[Fault] = []
    if isinstance(document, Mapping):
        document = {name: part for name, part in document.items() if name not in frozenset(told)}
    plain = _plain(document, "", faults)
    if faults:
        raise JobRefused(faults)
    return plain


def _plain(part: Any, pointer: str, faults: list[Fault]) -> Any:
    if isinstance(part, Mapping):
        if part and FORMS.issuperset(part):
            return _length(part, pointer, faults)
        return {name: _plain(each, f"{pointer}/{name}", faults) for name, each in part.items()}
    if isinstance(part, list):
        return [_plain(each, f"{pointer}/{place}", faults) for place, each in enumerate(part)]
    return part


def _length(forms: Mapping[str, Any], pointer: str, faults: list[Fault]) -> Any:
    try:
        exact = {name: _number(forms[name]) for name in ("mm", "in") if name in forms}
    except BadMoney:
        faults.append(Fault(pointer, "bad_length", "mm and in are decimal numbers"))
        return None
    if not exact:
        faults.append(Fault(pointer, "bad_length", "the exact length, mm or in, is missing"))
        return None
    if len(exact) == 2 and abs(exact["mm"] / _MM - exact["in"]) > _CLOSE:
        detail = "mm and in are not the same length; change both, or leave one out"
        faults.append(Fault(pointer, "bad_length", detail))
        return None
    unit = "mm" if "mm" in exact else "in"
    return f"{number_text(exact[unit])} {unit}"


def _number(value: Any) -> Fraction:
    if type(value) not in (str, int, Decimal):  # Decimal accepts true, and lists of digits
        raise BadMoney("this is not a number")
    return exact_number(value)
