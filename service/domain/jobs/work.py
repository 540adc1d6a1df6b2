"""Kinds of work: what a customer may ask a framer for besides new framing.

Each kind says which parts of a job it needs and which it may have. What a shop offers, and in which
steps, is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.domain.errors import Fault
from service.domain.value import dataclass

NEW = "new_framing"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of work: in words, the parts that it needs, and those that it may have as well."""

    words: str
    needs: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    presented: bool = False


_ART = ("artwork", "openings", "overlap", "float_margin", "fit_to", "bottom_weight", "mats")
_BEHIND = ("glazing", "mounting", "backing", "finishing")
WORKS: Mapping[str, Kind] = {
    NEW: Kind("new framing", (), (*_ART, *_BEHIND, "gap", "frames"), presented=True),
    "reglaze": Kind("new glazing", ("own_frame", "glazing"), ("backing", "finishing")),
    "refit": Kind("refitting", ("own_frame",), ("backing", "finishing")),
    "new_mat": Kind(
        "a new mat into the customer's frame",
        ("own_frame", "mats"),
        ("artwork", "openings", "overlap", "float_margin", "bottom_weight", *_BEHIND),
        presented=True,
    ),
    "own_frame": Kind(
        "the customer's frame, cut down or joined",
        ("own_frame",),
        (*_ART, *_BEHIND),
        presented=True,
    ),
    "corner_repair": Kind("repair of a corner", ("own_frame",), ("backing", "finishing")),
    "mount_only": Kind("mounting alone", ("artwork", "mounting"), ("float_margin",)),
    "glass_only": Kind("glass cut to size", ("cut_to", "glazing")),
    "hardware": Kind("hardware over the counter", ("goods",)),
    "ready_made": Kind("ready-made goods", ("goods",)),
}
PARTS = (
    *("artwork", "overlap", "float_margin", "gap", "openings", "mats", "fit_to", "bottom_weight"),
    *("glazing", "mounting", "backing", "frames", "finishing", "own_frame", "cut_to", "goods"),
)
OPENED = ("reglaze", "refit", "new_mat", "corner_repair")
"""The kinds that open the customer's frame and close it again."""
UNSEEN = ("reglaze", "refit", "corner_repair")
"""Those that put the old contents back, which nobody measured."""
NAMED = (*UNSEEN, "glass_only", "mount_only")
"""Those whose missing size is a fault by its own name."""
COUNTER = ("hardware", "ready_made")
"""Those that hand goods over, and make nothing."""


def work_faults(spec: Any) -> Iterator[Fault]:
    """Yield a fault for each part that a job's kind of work needs and lacks, or has no use for."""
    kind = WORKS[spec.work]
    given = [part for part in PARTS if _given(spec, part)]
    for part in kind.needs:
        if part not in given:
            yield Fault(f"/{part}", "missing", f"{kind.words} needs {_NAMES.get(part, part)}")
    for part in given:
        if part not in kind.needs and part not in kind.may:
            told = f"{kind.words} has no use for {_NAMES.get(part, part)}; leave it out"
            yield Fault(f"/{part}", "not_for_work", told)
    yield from _own_faults(spec)
    if spec.work == "new_mat" and spec.mats and spec.mats[0].border is not None:
        told = "the frame sets the mat's outside; leave the border out (see bottom_weight)"
        yield Fault("/mats/0/border", "not_for_work", told)


_NAMES = {
    "artwork": "the size of what is mounted",
    "own_frame": "the customer's frame, as measured",
    "cut_to": "the size to cut to",
    "goods": "what is sold, and how many",
    "float_margin": "a float margin",
    "bottom_weight": "a bottom weight",
}


def _given(spec: Any, part: str) -> bool:
    value = getattr(spec, part)
    if part == "openings":
        return type(value).__name__ != "Single" or value.shape != "rectangle"
    return value is not None and value not in ("", ())


def _own_faults(spec: Any) -> Iterator[Fault]:
    own = spec.own_frame
    if own is None:
        return
    if own.rabbet is None and own.change != "join":
        told = "measure the frame's rabbet opening: its width and height"
        yield Fault("/own_frame/rabbet", "missing", told)
    if spec.work == "own_frame" and not own.change:
        yield Fault("/own_frame/change", "missing", "say whether it is cut down or joined")
    if spec.work != "own_frame" and own.change:
        told = "a frame is cut down or joined as the work own_frame"
        yield Fault("/own_frame/change", "not_for_work", told)
    if spec.work == "corner_repair" and not own.corners:
        yield Fault("/own_frame/corners", "missing", "say how many corners are repaired")
    if spec.work != "corner_repair" and own.corners:
        told = "corners are repaired as the work corner_repair"
        yield Fault("/own_frame/corners", "not_for_work", told)
