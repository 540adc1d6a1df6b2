"""Progress at the bench: the states of a ticket, and of each of its pieces.

A ticket's document lists kinds of pieces, each with a quantity. At the bench a kind begins as one
lot of that quantity. Spoiled pieces move to a spoiled lot, and a recut lot is added for them, so
that the lots of a kind that are not spoiled always add up to the ordered quantity.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from service.domain.errors import BadValue, Conflict, NotFound
from service.domain.states import Life
from service.domain.tickets.model import TicketPiece
from service.domain.value import dataclass

WAITING, AT_WORK, FINISHED, SPOILED, TAKEN_BACK = (
    "waiting",
    "in_work",
    "done",
    "spoiled",
    "withdrawn",
)
TICKET_LIFE = Life(
    "ticket",
    {
        # Work on a piece starts its ticket; a ticket is withdrawn with its quote.
        WAITING: {
            "start": AT_WORK,
            "work": AT_WORK,
            "take_back": TAKEN_BACK,
            "give_up": TAKEN_BACK,
        },
        # A ticket is given up with a change of order, at any time before its work is collected.
        AT_WORK: {"work": AT_WORK, "finish": FINISHED, "give_up": TAKEN_BACK},
        FINISHED: {"give_up": TAKEN_BACK},
        TAKEN_BACK: {},
    },
)
PIECE_LIFE = Life(
    "piece",
    {
        # Bench staff may be too busy to press start: a piece can be finished or spoiled without it.
        WAITING: {"start": AT_WORK, "finish": FINISHED, "spoil": SPOILED},
        AT_WORK: {"finish": FINISHED, "spoil": SPOILED},
        FINISHED: {"spoil": SPOILED},
        SPOILED: {},
    },
)
MOST_LOTS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """Pieces of one kind in one state.

    `number` counts the lots of a ticket; the first ones have the numbers of its kinds. `like` is
    the kind in the ticket's document, `recut_of` the spoiled lot that this one replaces.
    """

    number: int
    like: int
    quantity: int
    status: str = WAITING
    reason: str = ""
    recut_of: int | None = None

    def __post_init__(self) -> None:
        if self.quantity < 1:
            raise BadValue("a lot has one piece at least", "/quantity")


def first_lots(pieces: Iterable[TicketPiece]) -> tuple[Lot, ...]:
    """Return the lots of a ticket not yet begun: one per kind."""
    return tuple(
        Lot(number=piece.number, like=piece.number, quantity=piece.quantity) for piece in pieces
    )


def lot_of(lots: Sequence[Lot], number: int) -> Lot:
    """Return the lot with this number.

    Raises:
        NotFound: the ticket has none.
    """
    for lot in lots:
        if lot.number == number:
            return lot
    raise NotFound(f"this ticket has no piece {number}; it has 1 to {len(lots)}")


def moved(lots: Sequence[Lot], number: int, action: str) -> tuple[Lot, ...]:
    """Return the lots after one was started or finished.

    Raises:
        NotFound: there is no such lot.
        WrongState: its state does not allow that.
    """
    lot = lot_of(lots, number)
    after = PIECE_LIFE.after(lot.status, action, str(number))
    return _with(lots, replace(lot, status=after))


def spoiled(lots: Sequence[Lot], number: int, quantity: int | None, why: str) -> tuple[Lot, ...]:
    """Return the lots after all or part of one was spoiled, with a lot to recut.

    Args:
        lots: those of the ticket.
        number: the lot that is spoiled.
        quantity: how many of it; None for all.
        why: what happened.

    Raises:
        NotFound: there is no such lot.
        WrongState: it is spoiled already.
        BadValue: more than the lot has, or none.
        Conflict: the ticket has been spoiled so often that a new one should be made.
    """
    lot = lot_of(lots, number)
    after = PIECE_LIFE.after(lot.status, "spoil", str(number))
    count = lot.quantity if quantity is None else quantity
    if not 1 <= count <= lot.quantity:
        raise BadValue(
            f"piece {number} is {lot.quantity} in number; no more can be spoiled", "/quantity"
        )
    if len(lots) + 2 > MOST_LOTS:
        raise Conflict("this ticket has been recut hundreds of times; look for the cause first")
    last = len(lots)
    if count == lot.quantity:
        bad, kept = replace(lot, status=after, reason=why), tuple(lots)
    else:
        kept = _with(lots, replace(lot, quantity=lot.quantity - count))
        last += 1
        bad = Lot(number=last, like=lot.like, quantity=count, status=after, reason=why)
    recut = Lot(number=last + 1, like=lot.like, quantity=count, recut_of=bad.number)
    return (*_with(kept, bad), recut)


def finished(lots: Sequence[Lot]) -> tuple[Lot, ...]:
    """Return the lots after the whole ticket was finished, including those not finished singly.

    Raises:
        Conflict: a recut lot is not finished; it must be finished explicitly.
    """
    left = [lot.number for lot in lots if lot.recut_of and lot.status in (WAITING, AT_WORK)]
    if left:
        which = ", ".join(map(str, left))
        raise Conflict(
            f"piece {which} is to be cut anew and is not done; finish it first",
            facts={"pieces": which},
        )
    return tuple(
        replace(lot, status=FINISHED) if lot.status in (WAITING, AT_WORK) else lot for lot in lots
    )


def _with(lots: Sequence[Lot], changed: Lot) -> tuple[Lot, ...]:
    """Return the lots with one replaced, or appended if it is new."""
    if changed.number > len(lots):
        return (*lots, changed)
    return tuple(changed if lot.number == changed.number else lot for lot in lots)
