"""The document of the pieces of a quote that could be cut from offcuts on the rack."""

from __future__ import annotations

from collections.abc import Iterator

from schemas.cutting.records import CutPlan, Wish, placed
from schemas.cutting.wanted import made_wishes
from schemas.materials.records import Offcut
from schemas.materials.stock import size_document
from schemas.tickets.records import MadeTicket
from schemas.wire.figures import Json
from service.domain.shop import Shop


def quote_wishes(made: tuple[MadeTicket, ...]) -> tuple[Wish, ...]:
    """Return the pieces of a quote's jobs that the shop cuts itself, keyed by job and number."""
    return tuple(w for job, each in enumerate(made, start=1) for w in made_wishes(str(job), each))


def from_rack_document(plan: CutPlan, shop: Shop) -> Json:
    """Return each piece, how many of it the rack yields and from what; then the offcuts."""
    made = placed(plan)
    used = list(_used(plan))
    labels: dict[str, list[str]] = {}
    for offcut, keys in used:
        for key in sorted(set(keys)):
            labels.setdefault(key, []).append(offcut.label)
    return {
        "pieces": [
            {
                "job": int(wish.key.partition("/")[0]),
                "item": wish.item,
                "name": wish.name,
                "quantity": wish.quantity,
                "from_rack": made.get(wish.key, 0),
                "offcuts": labels.get(wish.key, []),
                **size_document(wish.width, wish.height, shop),
            }
            for wish in plan.wishes
        ],
        "offcuts": [
            {
                "label": offcut.label,
                "item": offcut.item,
                "place": offcut.place,
                "pieces": len(keys),
                **size_document(offcut.width, offcut.height, shop),
            }
            for offcut, keys in used
        ],
        "complete": all(made.get(wish.key, 0) == wish.quantity for wish in plan.wishes),
    }


def _used(plan: CutPlan) -> Iterator[tuple[Offcut, list[str]]]:
    """Yield every offcut that the plan uses, with the keys of the wishes cut from it."""
    for item in plan.items:
        offcuts = {size.key: size.offcut for size in item.material.sizes}
        for use in item.plan.uses:
            offcut = offcuts[use.stock]
            if offcut is not None:
                yield offcut, [plan.wish_of[one.piece] for one in use.placements]
