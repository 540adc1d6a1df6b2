"""What the customer brings besides art, and what is sold without being made.

A customer's own frame is described by what is measured on it, so that sizes, depths and steps work
without a moulding of the catalogue.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from service.domain.errors import BadValue
from service.domain.jobs.frame import Frame
from service.domain.materials.catalogue import Moulding, Supply
from service.domain.measure.length import TICKS_PER_MM, Length, Size
from service.domain.value import dataclass

Change = Literal["", "cut_down", "join"]
CHANGES: tuple[Change, ...] = ("", "cut_down", "join")
OWN = "own"
_SUPPLIED: Mapping[str, Supply] = {"": "join", "cut_down": "length", "join": "chop"}
BEHIND = Length.inches(Fraction(1, 2))
SOLID = 800
"""Kilograms in a cubic metre of a solid rail. Hardwoods weigh 600 to 800 (value from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFrame:
    """A frame that the customer brings, as measured.

    Attributes:
        rabbet: its rabbet opening; None where its rails are not joined yet.
        rabbet_width, rabbet_depth, face_width: of its profile.
        material: wood, aluminium …, as mouldings name it.
        change: cut down to a new size, or joined from rails cut elsewhere.
        corners: how many corners are repaired.

    Raises:
        BadValue: the rabbet is as wide as the face, or something measures nothing.
    """

    rabbet: Size | None = None
    rabbet_width: Length
    rabbet_depth: Length
    face_width: Length
    material: str = "wood"
    change: Change = ""
    corners: int = 0

    def __post_init__(self) -> None:
        for name in ("rabbet_width", "rabbet_depth", "face_width"):
            if getattr(self, name).ticks <= 0:
                raise BadValue("this must be more than nothing", f"/{name}")
        if self.rabbet_width >= self.face_width:
            raise BadValue("the rabbet cannot be as wide as the face", "/rabbet_width")

    def moulding(self) -> Moulding:
        """Return the frame's profile.

        Its weight is that of a solid rail of its face, 1/2 in deeper than its rabbet: it errs to
        the heavy side (common practice, no source).
        """
        metre = TICKS_PER_MM * 1000
        section = self.face_width.ticks * (self.rabbet_depth + BEHIND).ticks
        return Moulding(
            code=OWN,
            description="The customer's own frame",
            face_width=self.face_width,
            rabbet_width=self.rabbet_width,
            rabbet_depth=self.rabbet_depth,
            stick_lengths=(Length.inches(1),),
            weight_kg_per_m=Fraction(SOLID * section, metre**2),
            material=self.material,
        )

    def frame(self) -> Frame:
        """Return it as a frame of the job: it comes joined, as lengths to cut, or as rails."""
        return Frame(self.moulding(), _SUPPLIED[self.change], own=True)


@dataclass(frozen=True, slots=True)
class Good:
    """So many of an item that are sold without being made into anything."""

    item: str
    quantity: int = 1
