"""External texts, made safe to print, and the words for the document's codes.

A label may be long, right-to-left, look like markup or contain control characters. Control
characters and invisible direction marks are dropped; markup is escaped when it is written, never
here.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from service.domain.measure.rounding import decimal_text
from service.printing.language.phrases import told
from service.printing.language.spoken import number

Document = Mapping[str, Any]
LONGEST = 160
"""The maximum printed length of a label or description; the document keeps it whole."""

LONGEST_NOTE = 1000

WORK = {
    "take_in": "Take in",
    "open": "Open",
    "cut_down": "Cut down",
    "repair": "Repair",
    "hand_out": "Hand out",
    "check_square": "Check square",
    "order": "Order",
    "size": "Size",
    "mark": "Mark",
    "window": "Window",
    "face": "Face",
    "shaped_window": "Shaped window",
    "fix_under_mat": "Fix under mat",
    "fillet": "Fillet",
    "glazing": "Glazing",
    "corners": "Corners",
    "spacer": "Spacer",
    "mount": "Mount",
    "rails": "Saw",
    "join": "Join",
    "ready_frame": "Ready frame",
    "dry_fit": "Dry fit",
    "package": "Package",
    "seal": "Seal",
    "rabbet": "Seal rabbet",
    "hangers": "Hangers",
    "fit": "Fit",
    "finish": "Finish",
    "wrap": "Wrap",
    "other": "Other",
}
SET_UP = {
    "slip_sheet": "slip sheet",
    "guide": "guide",
    "head": "head",
    "depth": "blade depth",
    "arm_stop": "arm stop",
    "start_stop": "start stop",
    "end_stop": "end stop",
    "saw_blade": "saw blade",
    "saw_angle": "saw angle",
    "saw_stop": "saw stop",
    "panel_blade": "panel saw",
    "panel_fence": "saw fence",
}
UNITS = {"piece": "", "linear_foot": "ft", "square_foot": "sq ft"}
_DROPPED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_KEPT_FORMAT = frozenset("\u200c\u200d")
"""Joiners that Persian and Indic spelling needs; they do not affect direction."""


def clean(text: object, longest: int = LONGEST) -> str:
    """Return an external text on one line, without control characters, at most `longest` long."""
    kept = "".join(
        " " if unicodedata.category(c) in _DROPPED and c not in _KEPT_FORMAT else c
        for c in str(text)[: 8 * longest]
    )
    line = " ".join(kept.split())
    return line if len(line) <= longest else line[: longest - 1] + "…"


def shortened(exact: str, places: int) -> str:
    """Return a decimal rounded half up to `places`, marked as rounded; the stored one is exact.

    >>> shortened("363.46", 1), shortened("12", 1)
    ('≈363.5', '12')
    """
    value = Fraction(exact)
    shown = decimal_text(value.numerator, value.denominator, places)
    return number(shown if Fraction(shown) == value else f"≈{shown}")


def listed(parts: Iterable[str]) -> str:
    """Return parts joined by commas."""
    return ", ".join(parts)


def mark(length: Document, unit: str = "") -> str:
    """Return a length of a document as the shop reads it off its ruler."""
    shown = str(length["shop"])
    return told(f"{shown} {unit}" if unit else shown)


def area(size: Document, unit: str = "") -> str:
    """Return a width and a height: 22 5/8 x 26 3/4."""
    return f"{mark(size['width'])} x {mark(size['height'], unit)}"


def for_customer(notes: Iterable[Document]) -> tuple[str, ...]:
    """Return the notes that a customer may read, each on one line."""
    shown = (note["text"] for note in notes if not note["inside"])
    return tuple(clean(" ".join(text.split()), LONGEST_NOTE) for text in shown)
