"""What was ordered, worked out by the apprentice's own arithmetic from the job document.

The rules are those of the trade's usual practice (border, overlap and reveal to the sight edge);
figures that have no source are settings of the shop. Exact, in millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from tests.apprentice.order import ZERO, Framed, Mat, Order, Size, Window
from tests.apprentice.readings import MM

SIDES = ("top", "right", "bottom", "left")
_LENGTH = re.compile(r"(?:(\d+) )?(\d+)/(\d+)|(\d+(?:\.\d+)?)")


class Reader:
    """Reads a job document and works the order out."""

    def __init__(
        self, job: Mapping[str, Any], shop: Mapping[str, Any], items: Mapping[str, Any]
    ) -> None:
        self.job, self.shop, self.items = job, shop, items
        self.sizing: Mapping[str, Any] = shop["sizing"]
        self.floats = job["presentation"] == "float"

    def length(self, text: Any) -> Fraction:
        """Return a length of the document: with its unit, or in the document's."""
        number, _, unit = str(text).rpartition(" ")
        if unit not in MM:
            number, unit = str(text), self.job["units"]
        found = _LENGTH.fullmatch(number)
        if found is None:
            raise ValueError(f"no length: {text!r}")
        value = Fraction(found[4]) if found[4] else Fraction(int(found[2]), int(found[3]))
        return (value + int(found[1] or 0)) * MM[unit]

    def given(self, name: str) -> Fraction:
        """Return a length of the job, or what the shop uses where it is not given."""
        text = self.job.get(name)
        return Fraction(self.sizing[name]) if text is None else self.length(text)

    def size(self, told: Any) -> Size:
        """Return a size: of an object with a width and a height, or "18 x 17 in"."""
        if isinstance(told, str):
            across, down = told.split(" x ")
            unit = down.rpartition(" ")[2]
            return self.length(f"{across} {unit}" if unit in MM else across), self.length(down)
        return self.length(told["width"]), self.length(told["height"])

    def four(self, told: Any) -> dict[str, Fraction]:
        """Return four sides: one length for all, or each its own."""
        if isinstance(told, Mapping):
            return {side: self.length(told[side]) for side in SIDES}
        return dict.fromkeys(SIDES, self.length(told))

    def order(self) -> Order:
        """Return the whole order."""
        job = self.job
        made = Order(job.get("quantity", 1), job)
        arts = self._artworks()
        made.arts = [self.size(art) for art in arts]
        made.art_thickness = max(self.length(art.get("thickness", "0 mm")) for art in arts)
        if job["presentation"] == "floater":
            made.gap = self.given("gap")
        else:
            self._package(made)
        self._frames(made)
        made.depth = self._depth(made)
        return made

    def _grows(self) -> list[dict[str, Fraction]]:
        """Return for each mat, top first, how far its window goes beyond what shows of the art."""
        grown, found = dict.fromkeys(SIDES, ZERO), []
        for at in reversed(range(len(self.job.get("mats", ())))):
            mat = self.job["mats"][at]
            wide = self.items[mat["fillet"]]["width"] if mat.get("fillet") else ZERO
            grown = {side: grown[side] + wide for side in SIDES}
            found.append(grown)
            if at:
                reveal = self.four(mat["reveal"]) if "reveal" in mat else None
                usual = self.sizing["reveal"]
                grown = {s: grown[s] + (reveal[s] if reveal else usual) for s in SIDES}
        return found[::-1]

    def _package(self, made: Order) -> None:
        job, mats = self.job, self.job.get("mats", [])
        inwards = ZERO
        if job["presentation"] == "overlap":
            inwards = self.given("overlap")
        if self.floats:
            inwards = -self.given("float_margin")
        shows = [(w - 2 * inwards, h - 2 * inwards) for w, h in made.arts]
        if not mats:
            made.package = shows[0]
            made.art_places = [(made.arts[0], -inwards, -inwards)]
            return
        grows = self._grows()
        tops = [
            (w + grows[0]["left"] + grows[0]["right"], h + grows[0]["top"] + grows[0]["bottom"])
            for w, h in shows
        ]
        windows = self._laid_out(made, tops)
        trim = ZERO
        for mat, grow in zip(mats, grows, strict=True):
            less = {side: grows[0][side] - grow[side] for side in SIDES}
            blank = (made.package[0] - 2 * trim, made.package[1] - 2 * trim)
            fillet = self.items[mat["fillet"]] if mat.get("fillet") else None
            inside = [
                Window(
                    w.shape,
                    w.x + less["left"],
                    w.y + less["top"],
                    w.width - less["left"] - less["right"],
                    w.height - less["top"] - less["bottom"],
                )
                for w in windows
            ]
            bevel = mat.get("bevel", "standard")
            round_ = [
                [self.length(text) for text in mat.get(name, ())]
                for name in ("grooves", "ruled_lines")
            ]
            made.mats.append(Mat(mat["board"], blank, trim, bevel, fillet, inside, *round_))
            trim = self.sizing["under_mat_trim"]
        last = made.mats[-1]
        wide = (last.fillet["width"] if last.fillet else ZERO) - inwards
        arts = made.arts if len(made.arts) > 1 else made.arts * len(last.windows)
        made.art_places = [
            (art, w.x + wide, w.y + wide) for art, w in zip(arts, last.windows, strict=True)
        ]

    def _laid_out(self, made: Order, tops: list[Size]) -> list[Window]:
        """Return the top mat's windows; sets the package."""
        job, openings = self.job, self.job.get("openings")
        border = self.four(job["mats"][0]["border"]) if "border" in job["mats"][0] else None
        fit = self.size(job["fit_to"]) if "fit_to" in job else None
        if isinstance(openings, list):
            windows = [
                Window(
                    each.get("shape", "rectangle"),
                    self.length(each["x"]),
                    self.length(each["y"]),
                    *top,
                )
                for each, top in zip(openings, tops, strict=True)
            ]
            right = max(w.x + w.width for w in windows)
            bottom = max(w.y + w.height for w in windows)
            made.package = fit or (right + border["right"], bottom + border["bottom"])
            return windows
        grid = openings or {"rows": 1, "columns": 1, "gutter": "0"}
        gutter = self.length(grid.get("gutter", "0"))
        wide, high = tops[0]
        block = (
            grid["columns"] * (wide + gutter) - gutter,
            grid["rows"] * (high + gutter) - gutter,
        )
        if border is None:
            weight = self.length(job.get("bottom_weight", "0"))
            across, down = fit[0] - block[0], fit[1] - block[1] - weight
            border = {"left": across / 2, "right": across / 2, "top": down / 2}
            border["bottom"] = down / 2 + weight
        made.package = (
            block[0] + border["left"] + border["right"],
            block[1] + border["top"] + border["bottom"],
        )
        return [
            Window(
                grid.get("shape", "rectangle"),
                border["left"] + column * (wide + gutter),
                border["top"] + row * (high + gutter),
                wide,
                high,
            )
            for row in range(grid["rows"])
            for column in range(grid["columns"])
        ]

    def _frames(self, made: Order) -> None:
        if made.package:
            holds, spare = made.package, self._allowance(made.package)
            made.allowance = spare
        else:
            wide, high = made.arts[0]
            holds, spare = (wide + 2 * made.gap, high + 2 * made.gap), ZERO
        for asked in self.job.get("frames", ()):
            moulding = self.items[asked["moulding"]]
            fillet = self.items[asked["fillet"]] if asked.get("fillet") else None
            lip = moulding["rabbet_width"] + (fillet["width"] if fillet else ZERO)
            round_ = 2 * (moulding["face_width"] - moulding["rabbet_width"])
            rabbet = (holds[0] + spare, holds[1] + spare)
            outside = (rabbet[0] + round_, rabbet[1] + round_)
            sight = (rabbet[0] - 2 * lip, rabbet[1] - 2 * lip)
            supply = asked.get("supply") or moulding["supplies"][0]
            sides = asked.get("sides", 4)
            made.frames.append(
                Framed(moulding, fillet, supply, sides, holds, rabbet, sight, outside)
            )
            holds, spare = outside, self.sizing["allowance"]

    def _allowance(self, package: Size) -> Fraction:
        allowance: Fraction = self.sizing["allowance"]
        if self.job.get("glazing") and self.items[self.job["glazing"]["sheet"]]["kind"] != "glass":
            for step in self.sizing["plastic_clearance"]:
                if max(package) > step["over"]:
                    allowance = max(allowance, step["allowance"])
        return allowance

    def _depth(self, made: Order) -> Fraction:
        """Return the depth of what lies in the rabbet; art inside a spacer's space adds nothing."""
        job, items = self.job, self.items
        depth = sum((items[mat.board]["thickness"] for mat in made.mats), ZERO)
        depth += sum((mat.fillet["depth"] for mat in made.mats if mat.fillet), ZERO)
        if made.frames and made.frames[0].fillet:
            depth += made.frames[0].fillet["depth"]
        glazing = job.get("glazing")
        if glazing:
            made.spacer = self._spacer(glazing)
            depth += items[glazing["sheet"]]["thickness"] + made.spacer
        for name in ("mounting", "backing"):
            if job.get(name, {}).get("board"):
                depth += items[job[name]["board"]]["thickness"]
        return depth + max(self._stands_out(made, art) for art in self._artworks())

    def _artworks(self) -> list[Mapping[str, Any]]:
        openings = self.job.get("openings")
        if isinstance(openings, list):
            return [each["artwork"] for each in openings]
        return [self.job["artwork"]]

    def _stands_out(self, made: Order, art: Mapping[str, Any]) -> Fraction:
        """Return what one artwork adds: floated art and objects lie in the space in front."""
        space = made.spacer if self.floats or art.get("kind") == "object" else ZERO
        if self.floats:
            space += sum((self.items[mat.board]["thickness"] for mat in made.mats), ZERO)
            space += sum((mat.fillet["depth"] for mat in made.mats if mat.fillet), ZERO)
        thick = self.length(art.get("thickness", "0 mm"))
        if art.get("kind") == "object" and space:
            made.objects.append((space, thick))
        return max(thick - space, ZERO)

    def _spacer(self, glazing: Mapping[str, Any]) -> Fraction:
        return self.length(glazing["spacer"]) if "spacer" in glazing else ZERO


def ordered(job: Mapping[str, Any], shop: Mapping[str, Any], items: Mapping[str, Any]) -> Order:
    """Return what a job document orders from a shop."""
    return Reader(job, shop, items).order()
