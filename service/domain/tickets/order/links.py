"""Which drafts a draft waits for: those of the earlier stages."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.tickets.stages import BEFORE
from service.domain.tickets.steps.draft import Draft


def link(drafts: Sequence[Draft]) -> None:
    """Add to each draft the drafts that it waits for by its stage.

    A window waits for the sizing of its own mat; the drafts themselves hold what else one piece
    waits for.
    """
    for draft in drafts:
        earlier = BEFORE[draft.stage]
        draft.after += [other for other in drafts if other.stage in earlier]
        if draft.stage == "window":
            draft.after += [
                other
                for other in drafts
                if other.stage == "size" and set(other.pieces) & set(draft.pieces)
            ]
