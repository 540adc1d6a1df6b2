"""One ticket, read, followed and measured."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.apprentice import cautions, measure, measure_mats, measure_supplies, measure_work
from tests.apprentice.ordering import ordered
from tests.apprentice.paper import Paper, Unreadable, read_terminal
from tests.apprentice.worker import CannotFollow, follow


def wrong_with(
    text: str | Paper, job: Mapping[str, Any], shop: Mapping[str, Any], items: Mapping[str, Any]
) -> list[str]:
    """Return what is wrong with a ticket; empty if it makes what was ordered."""
    try:
        paper = read_terminal(text) if isinstance(text, str) else text
        bench = follow(paper, shop, items)
        order = ordered(job, shop, items)
        return [
            *measure.faults(bench, order),
            *measure_mats.faults(bench, order),
            *measure_work.faults(bench, order),
            *measure_supplies.faults(bench, order),
            *cautions.faults(bench),
        ]
    except Unreadable as unread:
        return [f"cannot be read: {unread}"]
    except CannotFollow as stopped:
        return [str(stopped)]
