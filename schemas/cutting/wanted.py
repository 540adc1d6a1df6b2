"""The pieces of a bench ticket still to be cut, from its document and its lots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import orjson

from schemas.cutting.records import LeftOut, LotRef, Wish
from schemas.tickets.records import MadeTicket, StoredTicket
from schemas.wire.lengths import exact_length
from service.domain.measure.length import ZERO
from service.domain.tickets.progress import WAITING

BOUGHT_CUT: Mapping[str, str] = {
    "chop": "it is bought chopped to size",
    "join": "it is bought as a joined frame",
}


def ticket_wishes(
    stored: StoredTicket, cut: Mapping[tuple[str, int], int]
) -> tuple[tuple[Wish, ...], tuple[LeftOut, ...]]:
    """Return the pieces of a ticket not yet begun and not in a committed plan.

    Args:
        stored: the ticket.
        cut: how many of each lot, by ticket and lot, are in committed plans.

    Returns:
        What is to be cut, and what of it is bought cut.
    """
    head = stored.head
    pieces = {piece["piece"]: piece for piece in orjson.loads(stored.document)["pieces"]}
    wishes: list[Wish] = []
    left_out: list[LeftOut] = []
    for lot in stored.lots:
        left = lot.quantity - cut.get((head.id, lot.number), 0)
        if lot.status != WAITING or left < 1:
            continue
        piece = pieces[lot.like]
        of = LotRef(head.id, head.number, lot.number)
        wish = replace(_wish(piece, head.number, lot.number, left), lot=of)
        bought = _bought(piece)
        if bought:
            left_out.append(LeftOut(wish, "bought_cut", bought))
        else:
            wishes.append(wish)
    return tuple(wishes), tuple(left_out)


def made_wishes(name: str, made: MadeTicket) -> tuple[Wish, ...]:
    """Return the pieces of an unstored ticket, prefixed with `name`, without those bought cut."""
    pieces = {piece["piece"]: piece for piece in orjson.loads(made.document)["pieces"]}
    return tuple(
        _wish(pieces[lot.like], name, lot.number, lot.quantity)
        for lot in made.lots
        if not _bought(pieces[lot.like])
    )


def _bought(piece: Mapping[str, Any]) -> str:
    """Return why a piece is not cut here, in words; empty if it is."""
    if piece.get("way") == "order":
        return "it is ordered cut to size"
    return BOUGHT_CUT.get(piece.get("supply", ""), "")


def _wish(piece: Mapping[str, Any], of: str, number: int, quantity: int) -> Wish:
    same: dict[str, Any] = {
        "key": f"{of}/{number}",
        "item": piece["item"],
        "quantity": quantity,
        "name": piece["name"],
    }
    if "width" in piece:
        width, height = exact_length(piece["width"]), exact_length(piece["height"])
        return Wish(**same, width=width, height=height, may_turn=not piece["grain"])
    sides = Fraction(180) / Fraction(piece["mitre_degrees"])
    frame = f"{of} frame {piece['layer']}" if piece["part"] == "rail" else ""
    return Wish(
        **same,
        width=exact_length(piece["length"]),
        height=ZERO,
        frame=frame,
        side=piece["side"] if frame else "",
        sides=int(sides),
    )
