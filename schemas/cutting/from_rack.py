"""The document of the pieces of a quote that could be cut from offcuts on the rack."""

from __future__ import annotations

from collections.abc import Iterator

from schemas.cutting.plan_shapes import FromRack, FromRackOffcut, FromRackPiece
from schemas.cutting.records import CutPlan, Wish, placed
from schemas.cutting.wanted import made_wishes
from schemas.materials.records import Offcut
from schemas.materials.stock_shapes import extent_of
from schemas.tickets.records import MadeTicket
from schemas.wire.figures import Figures
from service.domain.shop import Shop


def quote_wishes(made: tuple[MadeTicket, ...]) -> tuple[Wish, ...]:
    """Return the pieces of a quote's jobs that the shop cuts itself, keyed by job and number."""
    return tuple(w for job, each in enumerate(made, start=1) for w in made_wishes(str(job), each))


def from_rack_document(number: str, revision: int, plan: CutPlan, shop: Shop) -> FromRack:
    """Return each piece of a quote, how many of it the rack can supply, and the offcuts."""
    made, figures = placed(plan), Figures(shop.ruler)
    used = list(_used(plan))
    labels: dict[str, list[str]] = {}
    for offcut, keys in used:
        for key in sorted(set(keys)):
            labels.setdefault(key, []).append(offcut.label)
    pieces = tuple(
        FromRackPiece(
            job=int(wish.key.partition("/")[0]),
            item=wish.item,
            name=wish.name,
            quantity=wish.quantity,
            from_rack=made.get(wish.key, 0),
            offcuts=tuple(labels.get(wish.key, ())),
            **extent_of(wish.width, wish.height, figures),
        )
        for wish in plan.wishes
    )
    offcuts = tuple(
        FromRackOffcut(
            label=offcut.label,
            item=offcut.item,
            place=offcut.place,
            pieces=len(keys),
            **extent_of(offcut.width, offcut.height, figures),
        )
        for offcut, keys in used
    )
    complete = all(made.get(wish.key, 0) == wish.quantity for wish in plan.wishes)
    return FromRack(number, revision, pieces, offcuts, complete)


def _used(plan: CutPlan) -> Iterator[tuple[Offcut, list[str]]]:
    """Yield every offcut that the plan uses, with the keys of the wishes cut from it."""
    for item in plan.items:
        offcuts = {size.key: size.offcut for size in item.material.sizes}
        for use in item.plan.uses:
            offcut = offcuts[use.stock]
            if offcut is not None:
                yield offcut, [plan.wish_of[one.piece] for one in use.placements]
