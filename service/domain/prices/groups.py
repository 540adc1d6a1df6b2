"""A job's lines as the customer sees them: in a few groups that the shop names.

The groups stand in the shop's order. A line whose component is in no group stands alone, under its
own description. So the amounts always add up to the subtotal.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from service.domain.prices.lines import Line
from service.domain.shop import LineGroup


class Grouped(NamedTuple):
    """A group's name, its amount in minor units, and what it is of if the shop tells it."""

    name: str
    minor: int
    told: tuple[str, ...] = ()


def grouped(lines: Iterable[Line], groups: Sequence[LineGroup]) -> list[Grouped]:
    """Return the groups that have lines, and then the lines that are in none."""
    taken: dict[str, list[Line]] = {group.name: [] for group in groups}
    names = {component: group.name for group in groups for component in group.components}
    alone = []
    for line in lines:
        name = names.get(line.component)
        if name is None:
            alone.append(Grouped(line.description, line.amount.minor))
        else:
            taken[name].append(line)
    return [_group(group, taken[group.name]) for group in groups if taken[group.name]] + alone


def _group(group: LineGroup, lines: Sequence[Line]) -> Grouped:
    told = dict.fromkeys(line.description for line in lines) if group.told else ()
    return Grouped(group.name, sum(line.amount.minor for line in lines), tuple(told))
