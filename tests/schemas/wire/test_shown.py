"""Answers that come back as requests: a length in its forms is read exactly or not at all."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from schemas.wire.shown import as_sent
from service.domain.errors import JobRefused


@pytest.mark.parametrize(
    ("forms", "read"),
    [
        ({"in": "16.375", "mm": "415.925", "shop": "16 3/8"}, "415.925 mm"),
        ({"mm": "415.925"}, "415.925 mm"),
        ({"in": "16.375", "shop": "16 3/8"}, "16.375 in"),
        ({"mm": Decimal("415.925"), "in": Decimal("16.375")}, "415.925 mm"),
        ({"mm": 2, "shop": None}, "2 mm"),
    ],
)
def test_the_exact_form_counts(forms: dict[str, Any], read: str) -> None:
    assert as_sent({"rails": [{"width": forms}], "version": 3}, ["version"]) == {
        "rails": [{"width": read}]
    }


@pytest.mark.parametrize(
    "forms",
    [
        {"shop": "16 3/8"},
        {"in": "16.375", "mm": "415.9"},
        {"mm": True},
        {"mm": None},
        {"mm": [0, [1, 5], -1]},
        {"mm": "a few"},
        {"in": Decimal("NaN")},
        {"mm": "1e99"},
    ],
)
def test_what_is_no_one_length_is_named(forms: dict[str, Any]) -> None:
    with pytest.raises(JobRefused) as refused:
        as_sent({"rails": [{"width": forms}]})
    assert [(f.pointer, f.code) for f in refused.value.faults()] == [
        ("/rails/0/width", "bad_length")
    ]
