"""The order of work: which stage must end before which may begin.

Common practice without a published source, but for sealing before fitting (Phibbs, Topics in
Photographic Preservation 6, 1995: the package is sealed, then put in the frame).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

Stage = Literal[
    "intake",
    "open",
    "order",
    "size",
    "window",
    "line",
    "glaze",
    "corners",
    "saw",
    "join",
    "rabbet",
    "channel",
    "dry_fit",
    "mount",
    "package",
    "seal",
    "fit",
    "cover",
    "hang",
    "last",
    "wrap",
]
AFTER: Mapping[Stage, tuple[Stage, ...]] = {
    "intake": (),
    # A customer's frame is opened, and its contents are seen, before anything is ordered for it.
    "open": ("intake",),
    "order": ("open",),
    # What comes cut to size is ordered first, since it takes days to come.
    "size": ("order",),
    # A window waits for the sizing of its own mat only.
    "window": ("order",),
    # A fillet is glued behind windows that are all cut.
    "line": ("window",),
    # No splinter of glass may lie under a board that is still to be cut.
    "glaze": ("size", "window"),
    "corners": ("line", "glaze"),
    "saw": ("order",),
    "join": ("saw",),
    # A frame exists before its rabbet is lined and sealed, and before it is filled.
    "rabbet": ("join",),
    # The hangers of a metal frame slide into its channel before its last side closes it.
    "channel": ("join",),
    "dry_fit": ("corners", "rabbet"),
    "mount": ("dry_fit",),
    "package": ("mount",),
    "seal": ("package",),
    "fit": ("seal", "channel"),
    "cover": ("fit",),
    "hang": ("cover",),
    "last": ("hang",),
    "wrap": ("last",),
}


def before(stage: Stage) -> frozenset[Stage]:
    """Return every stage that must end before a stage begins, directly or through others."""
    found: set[Stage] = set()
    left = list(AFTER[stage])
    while left:
        earlier = left.pop()
        if earlier not in found:
            found.add(earlier)
            left.extend(AFTER[earlier])
    return frozenset(found)


BEFORE = {stage: before(stage) for stage in AFTER}
