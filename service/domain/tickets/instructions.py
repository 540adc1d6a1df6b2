"""The instructions of a cut ticket: cuts, the set-up that holds for them, and steps."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from service.domain.measure.length import ZERO, Length
from service.domain.value import dataclass

Side = Literal["top", "right", "bottom", "left"]
By = Literal["guide", "line", "straightedge"]
SizedBy = Literal["stop", "mark", "straightedge", "saw", "ordered"]
Machine = Literal["cutter", "saw", "hand"]
OTHER_SIDE: dict[Side, Side] = {"top": "top", "right": "left", "bottom": "bottom", "left": "right"}
"""A side's name after the board is turned over about its vertical centre line."""


@dataclass(frozen=True, slots=True)
class End:
    """The start or end of a cut: a line at this distance from this edge."""

    side: Side
    distance: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One straight cut of a window.

    `setting` is the guide's (or, out of the guide's reach, the distance at which the line is
    drawn), from the edge on the cut's own side. `run` is the length along the rail of what lies
    under it: the end stop stands `run` less its distance from the edge at which a cut starts.
    """

    piece: int
    window: int
    side: Side
    front_side: Side
    setting: Length
    start: End
    stop: End
    by: By = "guide"
    run: Length = ZERO


@dataclass(frozen=True, slots=True)
class SizeCut:
    """One cut that brings a sheet to its width or height; `ordered`: it comes cut to that size."""

    piece: int
    across: Literal["width", "height"]
    length: Length
    by: SizedBy = "stop"


@dataclass(frozen=True, slots=True)
class Change:
    """One set-up change: the component and its new value (a length or a word)."""

    what: str
    to: Length | str


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a step that is done at one set-up: what to set first, then what to do.

    `lines` are the instructions as printed, one a line. The first lines need no set-up if the part
    changes none.
    """

    changes: tuple[Change, ...] = ()
    lines: tuple[str, ...] = ()
    size_cuts: tuple[SizeCut, ...] = ()
    cuts: tuple[Cut, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """The part of one operation's minutes that falls on one step, in 1/`per` minute."""

    operation: str
    parts: int
    per: int

    @property
    def minutes(self) -> Fraction:
        """The share in minutes, exactly."""
        return Fraction(self.parts, self.per)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step at one place of work: its parts in order, cautions, and minutes.

    Within a step the blade, its depth and the slip sheet stay; the guide, the stops and the fence
    may be set again, each time by a part of their own.
    """

    number: int
    work: str
    machine: Machine
    parts: tuple[Part, ...]
    pieces: tuple[int, ...] = ()
    cautions: tuple[str, ...] = ()
    shares: tuple[Share, ...] = ()

    @property
    def changes(self) -> tuple[Change, ...]:
        """What is set first in this step; later changes are in the parts."""
        return next((part.changes for part in self.parts if part.changes), ())

    @property
    def size_cuts(self) -> tuple[SizeCut, ...]:
        """The cuts to size of all parts, in order."""
        return tuple(cut for part in self.parts for cut in part.size_cuts)

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """The window cuts of all parts, in order."""
        return tuple(cut for part in self.parts for cut in part.cuts)

    @property
    def lines(self) -> tuple[str, ...]:
        """The instructions of all parts, in order."""
        return tuple(line for part in self.parts for line in part.lines)

    @property
    def text(self) -> str:
        """The instructions in one paragraph, without the cuts of windows, which `cuts` lists."""
        return " ".join(line for part in self.parts if not part.cuts for line in part.lines)

    @property
    def minutes(self) -> Fraction:
        """The total minutes of this step."""
        if not self.shares:
            return Fraction(0)
        return Fraction(sum(share.parts for share in self.shares), self.shares[0].per)


@dataclass(frozen=True, slots=True)
class SetUps:
    """The number of changes of the cutter's set-up in the ticket, and a lower bound for it.

    `proved` is True if no order of the steps needs fewer.
    """

    changes: int
    at_least: int
    proved: bool
