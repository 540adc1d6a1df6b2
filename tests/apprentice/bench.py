"""The apprentice's bench: what is set up, what lies on it, and in what state it is."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from tests.apprentice.materials import material_of
from tests.apprentice.paper import Paper
from tests.apprentice.readings import Reading, read, read_figure


class Refused(Exception):
    """A line that cannot be done at the bench as it stands."""


def need(holds: object, otherwise: str) -> None:
    """Refuse the line unless something holds."""
    if not holds:
        raise Refused(otherwise)


@dataclass(slots=True)
class WindowCut:
    """One straight cut of a window: its distance from its edge, where it begins and ends."""

    distance: Reading
    begins: tuple[str, Reading]
    ends: tuple[str, Reading]
    by_hand: bool = False


@dataclass(slots=True, eq=False)
class Part:
    """One kind of piece on the bench; those of a batch are alike and are worked together."""

    number: int
    name: str
    code: str
    item: Mapping[str, Any]
    material: str
    quantity: int
    made: dict[str, Reading] = field(default_factory=dict)
    drawn: list[tuple[str, Reading]] = field(default_factory=list)
    cuts: dict[tuple[int, str], WindowCut] = field(default_factory=dict)
    shaped: dict[int, dict[str, Any]] = field(default_factory=dict)
    outlines: dict[tuple[str, int], list[dict[str, Reading]]] = field(default_factory=dict)
    lies: str = ""
    edges: str = "own"
    cut_lying: str = ""
    cut_edges: str = ""
    cut_head: str = ""
    fixed_to: Part | None = None
    inside_by: Reading | None = None
    stop_line: tuple[str, Reading] | None = None
    marked: dict[str, Reading] = field(default_factory=dict)
    facts: set[str] = field(default_factory=set)

    @property
    def thickness(self) -> Fraction:
        """The thickness by the catalogue, in millimetres."""
        return Fraction(self.item["thickness"])

    def sized(self) -> bool:
        """Return True if it has been brought to both its dimensions."""
        return {"width", "height"} <= set(self.made)

    def under_the_rail(self, across: str) -> Reading:
        """Return a dimension of what lies under the rail: the top mat's, if it is fixed to it."""
        part = self
        while part.edges == "top mat" and part.fixed_to is not None:
            part = part.fixed_to
        return part.made[across]


@dataclass(slots=True, eq=False)
class Frame:
    """One frame: its rails, its corners, what lies in it, and how that is held."""

    name: str
    rails: list[Part] = field(default_factory=list)
    corners: int = 0
    rabbet: tuple[Reading, Reading] | None = None
    facts: set[str] = field(default_factory=set)
    open_side: bool = False
    contents: str = ""
    held_by: str = ""
    springs: int = 0
    bridged: Reading | None = None
    extension: Reading | None = None


class Bench:
    """The bench with its tools. `shop` and `catalogue` tell what tools and materials there are."""

    def __init__(self, paper: Paper, shop: Mapping[str, Any], items: Mapping[str, Any]) -> None:
        self.paper, self.shop, self.items = paper, shop, items
        self.tools: Mapping[str, Any] = shop["bench"]
        self.unit: str = shop["ruler"]["unit"]
        self.step: Fraction = shop["ruler"]["step"]
        self.quantity = int(paper.head["Quantity"])
        self.stands: dict[str, Any] = {}
        self.depths: dict[str, str] = {}
        self.stops_in_use = any(
            "start stop" in line.text
            for step in paper.steps
            for line in step.lines
            if line.kind == "set"
        )
        self.end_stop_at: Reading | None = None
        self.frames: dict[str, Frame] = {}
        self.facts: dict[str, Any] = {}
        self.arts: list[dict[str, Any]] = []
        self.last: tuple[str, Part | None] = ("", None)
        self.parts: dict[int, Part] = {}
        for row in paper.pieces:
            need(row.item in items, f"the catalogue has no {row.item}")
            item = items[row.item]
            self.parts[row.number] = Part(
                row.number, row.name, row.item, item, material_of(item), row.quantity
            )

    def figure(self, text: str) -> Reading:
        """Return a printed length with its unit."""
        return read_figure(text, self.unit, self.step)

    def argument(self, kind: str, text: str | None) -> Any:
        """Return what a part of a line means; None for a part that is not there."""
        means: dict[str, Callable[[str], Any]] = {
            "figure": self.figure,
            "mark": lambda text: read(text, self.unit, self.step),
            "size": self._size,
            "part": lambda text: self.named(text)[0],
            "parts": self.named,
            "number": int,
            "frame": lambda text: self.frames.setdefault(text, Frame(text)),
        }
        return text if text is None or kind not in means else means[kind](text)

    def _size(self, text: str) -> tuple[Reading, Reading]:
        across, _, down = text.partition(" x ")
        return read(across, self.unit, self.step), self.figure(down)

    def named(self, text: str) -> list[Part]:
        """Return the parts named with their numbers: Top mat (1), Backing (4)."""
        found = []
        for name, number in re.findall(r"([A-Z][^():]*?) \((\d+)\)", text):
            part = self.parts.get(int(number))
            need(part and part.name == name, f"there is no {name} ({number})")
            found.append(part)
        return found

    def change(self, told: str) -> None:
        """Set what a line says: slip sheet out; guide 3 in; end stop 2 1/2 in."""
        for each in told.split("; "):
            found = re.fullmatch(
                r"(slip sheet|guide|head|blade depth|arm stop|start stop|end stop|saw blade"
                r"|saw angle|saw stop|panel saw|saw fence) (.+)",
                each,
            )
            need(found, f"nothing on this bench is set so: {each}")
            what, to = found[1], found[2]
            if what in ("arm stop", "start stop", "end stop", "saw stop", "saw fence"):
                self.stands[what] = self.figure(to)
            elif what == "guide":
                self.stands[what] = to if to == "off" else self.figure(to)
            elif what == "blade depth":
                need("head" in self.stands, "a blade depth without a head")
                self.depths[self.stands["head"]] = to
            else:
                self.stands[what] = to
            if what == "end stop":
                self.end_stop_at = None

    def standing(self, what: str, value: Any) -> None:
        """Refuse the line unless a component of the set-up stands so."""
        at = self.stands.get(what)
        need(at == value, f"{what} stands at {_told(at)}, not {_told(value)}")

    def before_glass(self) -> None:
        """Refuse to cut a board before the art is measured, or where splinters of glass may lie."""
        need(self.arts, "the art was not measured")
        cut = [part for part in self.parts.values() if "glass" in part.material and part.made]
        need(all("ordered" in part.facts for part in cut), "splinters may lie under the board")

    def depth(self) -> str:
        """Return the depth of the blade in the head that is on."""
        return self.depths.get(self.stands.get("head", ""), "")


def _told(value: Any) -> str:
    return f"{float(value.middle()):g} mm" if isinstance(value, Reading) else str(value)
