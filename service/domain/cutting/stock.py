"""Sheets, sticks and pieces: what there is to cut from, what is wanted, and the kerf."""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from service.domain.errors import BadValue
from service.domain.value import dataclass

_SQUARED_SECANT: dict[int, tuple[Fraction, int]] = {
    3: (Fraction(4), 0),  # 60 degrees
    4: (Fraction(2), 0),  # 45 degrees
    6: (Fraction(4, 3), 0),  # 30 degrees
    8: (Fraction(4), 8),  # 22.5 degrees: 4 - root 8
    12: (Fraction(8), 48),  # 15 degrees: 8 - root 48
}


def kerf_at_mitre(blade: int, sides: int = 4) -> int:
    """The least whole kerf along the stick that a mitre cut of an n-sided frame needs.

    Args:
        blade: thickness of the cut square to the blade, in any whole unit.
        sides: sides of the frame: 3, 4, 6, 8 or 12.

    Raises:
        BadValue: a negative blade, or a number of sides that is not held here.
    """
    if type(blade) is not int or blade < 0:
        raise BadValue(f"a blade's thickness must be a whole number from 0, not {blade!r}")
    if sides not in _SQUARED_SECANT:
        raise BadValue(f"mitre kerf is held for 3, 4, 6, 8 and 12 sides, not {sides!r}")
    rational, root = _SQUARED_SECANT[sides]
    # A guess from below by whole roots, then the exact test, one unit at a time.
    squared = int(rational * blade * blade) - isqrt(root * blade**4) - 1
    kerf = isqrt(max(0, squared))
    while not _covers(kerf, blade, rational, root):
        kerf += 1
    return kerf


def _covers(kerf: int, blade: int, rational: Fraction, root: int) -> bool:
    # kerf^2 >= (rational - root(root)) blade^2, with no root taken.
    short = rational * blade * blade - kerf * kerf
    return short <= 0 or short * short <= root * blade**4


def _need(name: str, value: object, least: int) -> None:
    if type(value) is not int or value < least:
        raise BadValue(f"{name} must be a whole number from {least}, not {value!r}")


def _need_key(what: str, key: object) -> None:
    if not isinstance(key, str) or not key:
        raise BadValue(f"a {what} needs a key to be known by, not {key!r}")


@dataclass(frozen=True, slots=True)
class SheetStock:
    """A size of sheet: `quantity` of them at most, or as many as wanted where it is None.

    `trim` is lost at each of its edges, the kerf of that trimming cut included.
    """

    key: str
    width: int
    height: int
    cost: int
    quantity: int | None = None
    offcut: bool = False
    trim: int = 0

    def __post_init__(self) -> None:
        _need_key("sheet", self.key)
        _need(f"width of {self.key!r}", self.width, 1)
        _need(f"height of {self.key!r}", self.height, 1)
        _need(f"cost of {self.key!r}", self.cost, 0)
        _need(f"trim of {self.key!r}", self.trim, 0)
        _need(
            f"what trimming leaves of {self.key!r}", min(self.width, self.height) - 2 * self.trim, 1
        )
        if self.quantity is not None:
            _need(f"quantity of {self.key!r}", self.quantity, 0)

    @property
    def area(self) -> int:
        """Width times height, in square units."""
        return self.width * self.height


@dataclass(frozen=True, slots=True)
class SheetPiece:
    """`quantity` equal pieces; `may_turn` False where grain or texture runs along the height."""

    key: str
    width: int
    height: int
    quantity: int = 1
    may_turn: bool = True

    def __post_init__(self) -> None:
        _need_key("piece", self.key)
        _need(f"width of {self.key!r}", self.width, 1)
        _need(f"height of {self.key!r}", self.height, 1)
        _need(f"quantity of {self.key!r}", self.quantity, 0)

    @property
    def area(self) -> int:
        """Width times height of one, in square units."""
        return self.width * self.height


@dataclass(frozen=True, slots=True)
class StickStock:
    """A length of stick: `quantity` of them at most, or as many as wanted where it is None."""

    key: str
    length: int
    cost: int
    quantity: int | None = None
    offcut: bool = False

    def __post_init__(self) -> None:
        _need_key("stick", self.key)
        _need(f"length of {self.key!r}", self.length, 1)
        _need(f"cost of {self.key!r}", self.cost, 0)
        if self.quantity is not None:
            _need(f"quantity of {self.key!r}", self.quantity, 0)


@dataclass(frozen=True, slots=True)
class StickPiece:
    """`quantity` equal rails, long point to long point.

    Rails with the same `group` (not "") are the rails of one frame whose pattern runs: they are
    to come from one stick, side by side, in the order given. Rails with the same `frame` come from
    as few sticks as can be at no more cost; `of_frame` of these rails belong to each such frame.
    """

    key: str
    length: int
    quantity: int = 1
    group: str = ""
    frame: str = ""
    of_frame: int = 1

    def __post_init__(self) -> None:
        _need_key("piece", self.key)
        _need(f"length of {self.key!r}", self.length, 1)
        _need(f"quantity of {self.key!r}", self.quantity, 0)
        _need(f"rails of {self.key!r} in a frame", self.of_frame, 1)


@dataclass(frozen=True, slots=True)
class SheetRules:
    """How this shop cuts sheets.

    Attributes:
        kerf: what one cut turns to dust; 0 where the cut is scored.
        keep_short: an offcut is worth keeping if its short side is at least this.
        keep_long: and its long side at least this.
        reach: the longest cut that the bench can make; 0 where there is no limit.
    """

    kerf: int = 0
    keep_short: int = 1
    keep_long: int = 1
    reach: int = 0

    def __post_init__(self) -> None:
        _need("kerf", self.kerf, 0)
        _need("keep_short", self.keep_short, 1)
        _need("keep_long", self.keep_long, 1)
        _need("reach", self.reach, 0)

    def worth_keeping(self, width: int, height: int) -> bool:
        """Whether a leftover of this size goes back on the rack."""
        return min(width, height) >= self.keep_short and max(width, height) >= self.keep_long


@dataclass(frozen=True, slots=True)
class StickRules:
    """How this shop cuts sticks.

    Attributes:
        kerf: what one cut takes along the stick (see `kerf.kerf_at_mitre`).
        head_trim: lost where cutting starts, the kerf of that trimming cut included.
        tail_trim: lost at the far end, the kerf of that trimming cut included.
        keep_length: an offcut is worth keeping if it is at least this long.
    """

    kerf: int = 0
    head_trim: int = 0
    tail_trim: int = 0
    keep_length: int = 1

    def __post_init__(self) -> None:
        _need("kerf", self.kerf, 0)
        _need("head_trim", self.head_trim, 0)
        _need("tail_trim", self.tail_trim, 0)
        _need("keep_length", self.keep_length, 1)

    def usable(self, length: int) -> int:
        """What is left of a stick once both ends are trimmed; 0 if nothing is."""
        return max(0, length - self.head_trim - self.tail_trim)
