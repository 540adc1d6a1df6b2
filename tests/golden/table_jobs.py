"""Jobs as they come over a counter: invented, of every kind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Job = Mapping[str, Any]


def came(art: str, how: str = "overlap", kind: str = "paper", deep: str = "0", **more: Any) -> Job:
    """Return the document of a picture of this size; overlaps are 1/8 in a side."""
    width, height = art.split(" x ")
    artwork = {"width": width, "height": height, "kind": kind, "thickness": deep}
    return {"artwork": artwork, "presentation": how, **more}


def mat(border: Any = "2", board: str = "WHITE", **more: Any) -> Job:
    """Return a top mat."""
    return {"board": board, "border": border, **more}


def under(reveal: str = "1/4", board: str = "BLACK", **more: Any) -> Job:
    """Return an under mat."""
    return {"board": board, "reveal": reveal, **more}


def grid(rows: int, columns: int, gutter: str = "1", shape: str = "rectangle") -> Job:
    """Return windows in rows and columns."""
    shaped = {"shape": shape} if shape != "rectangle" else {}
    return {"arrangement": "grid", "rows": rows, "columns": columns, "gutter": gutter, **shaped}


def framed(moulding: str = "OAK", **more: Any) -> list[Job]:
    """Return one frame."""
    return [{"moulding": moulding, **more}]


GLASS, HINGED = {"sheet": "CLEAR"}, {"method": "hinged", "board": "WHITE"}
FOAM = {"board": "FOAM"}
BEHIND: dict[str, Any] = {"glazing": GLASS, "mounting": HINGED, "backing": FOAM}
"""Picture glass, hinged on a mount board, foam board behind."""
PLAIN: dict[str, Any] = {"mats": [mat()], **BEHIND, "frames": framed()}
DOUBLE = [mat("3"), under()]
CANVAS: dict[str, Any] = {"how": "floater", "kind": "canvas", "deep": "3/4"}


def glazed(sheet: str, art: str = "8 x 10") -> Job:
    """Return a print without a mat, under this sheet."""
    return came(art, "full_bleed", "reproduction", glazing={"sheet": sheet}, frames=framed())


JOBS: Mapping[str, Job] = {
    "print under one mat": came("8 x 10", **PLAIN),
    "batch of five prints": came("8 x 10", quantity=5, **PLAIN),
    "double mat": came("8 x 10", **{**PLAIN, "mats": DOUBLE}),
    "triple mat": came("8 x 10", **{**PLAIN, "mats": [*DOUBLE, under("1/8", "WHITE")]}),
    "unequal borders": came("8 x 10", **{**PLAIN, "mats": [mat(
        {"top": "3", "right": "2 1/2", "bottom": "3 1/2", "left": "2"})]}),
    "fit to 16 x 20": came("11 x 14", fit_to="16 x 20", **{**PLAIN, "mats": [{"board": "WHITE"}]}),
    "bottom weight": came("11 x 14", fit_to="16 x 20", bottom_weight="1/2",
        **{**PLAIN, "mats": [{"board": "WHITE"}]}),
    "six photographs": came("5 x 7", kind="photograph", openings=grid(2, 3), **PLAIN),
    "twelve windows, double mat": came("4 x 6", kind="photograph", openings=grid(3, 4),
        **{**PLAIN, "mats": [mat(), under()]}),
    "oval": came("8 x 10", openings=grid(1, 1, "0", "ellipse"), **PLAIN),
    "arch": came("8 x 10", openings=grid(1, 1, "0", "arch"), **PLAIN),
    "v-groove": came("8 x 10", **{**PLAIN, "mats": [mat("3", grooves=["1/2"])]}),
    "two ruled lines": came("8 x 10", **{**PLAIN, "mats": [mat("3", ruled_lines=["1/4", "1/2"])]}),
    "fillet in the mat": came("8 x 10", **{**PLAIN, "mats": [mat(fillet="GILT")]}),
    "fillet in the frame": came("8 x 10", **{**PLAIN, "frames": framed(fillet="GILT")}),
    "8-ply mat": came("8 x 10", **{**PLAIN, "mats": [mat("3", "THICK")]}),
    "reverse bevel under a mat": came("8 x 10", **{**PLAIN, "mats": [
        mat("3"), under(bevel="reverse")]}),
    "floated sheet": came("8 x 10", "float", float_margin="1", **{**BEHIND,
        "glazing": {"sheet": "CLEAR", "spacer": "1/8"},
        "mounting": {"method": "floated", "board": "WHITE"}}, frames=framed()),
    "shadow box": came("6 x 8", "float", "object", "1/4", float_margin="2", backing=FOAM,
        glazing={"sheet": "CLEAR", "spacer": "1/2"}, mounting={"board": "WHITE"},
        frames=framed("DEEP")),
    "object box": came("4 x 4", "float", "object", "1 3/4", float_margin="2", backing=FOAM,
        glazing={"sheet": "CLEAR", "spacer": "2"}, mounting={"board": "WHITE"},
        frames=framed("BOX")),
    "needlework, laced": came("10 x 12", kind="textile", deep="1/16", mats=[mat()], glazing=GLASS,
        mounting={"method": "laced", "board": "WHITE"}, backing=FOAM, frames=framed()),
    "canvas on bars in a wooden frame": came("16 x 20", "full_bleed", "canvas", "3/4",
        mounting={"method": "stretched"}, frames=framed("BOX")),
    "canvas in a floater": came("16 x 20", **CANVAS, mounting={"method": "screwed"},
        frames=framed("FLOAT")),
    "floater in an outer frame": came("16 x 20", **CANVAS, mounting={"method": "screwed"},
        frames=[*framed("FLOAT"), *framed("LIP")]),
    "stacked frames": came("8 x 10", **{**PLAIN, "frames": [*framed(), *framed("LIP")]}),
    "aluminium frame": came("8 x 10", **{**PLAIN, "frames": framed("METAL")}),
    "aluminium, cut by the supplier": came("8 x 10", **{**PLAIN,
        "frames": framed("METAL", supply="chop")}),
    "aluminium, joined": came("8 x 10", **{**PLAIN, "frames": framed("METAL", supply="join")}),
    "octagon": came("12 x 12", "full_bleed", "reproduction", glazing=GLASS, backing=FOAM,
        frames=framed(sides=8)),
    "aluminium octagon": came("12 x 12", "full_bleed", "reproduction", glazing=GLASS,
        frames=framed("METAL", sides=8)),
    "mirror": glazed("MIRROR", "16 x 20"),
    "glass only": came("16 x 20", "full_bleed", glazing=GLASS),
    "acrylic over 32 in": glazed("PLASTIC", "24 x 36"),
    "thick acrylic": glazed("THICKAC"),
    "polycarbonate": glazed("POLY"),
    "laminated glass": glazed("LAMINATED"),
    "coated laminate": glazed("LAMCOAT"),
    "coated glass": glazed("COATED"),
    "fibreboard behind": came("8 x 10", **{**PLAIN, "backing": {"board": "FIBRE"}}),
    "foam board of 1/2 in behind": came("8 x 10", **{**PLAIN, "backing": {"board": "FOAM12"}}),
    "frame only": came("8 x 10", "full_bleed", frames=framed()),
    "mat only": came("8 x 10", mats=[mat()]),
    "mount with corners": came("8 x 10", "full_bleed", "photograph",
        mounting={"method": "corners", "board": "WHITE"}),
    "rails cut by the supplier": came("8 x 10", **{**PLAIN, "frames": framed(supply="chop")}),
    "frame that comes joined": came("8 x 10", **{**PLAIN, "frames": framed(supply="join")}),
    "dust cover and wire": came("16 x 20", **PLAIN, finishing=["dust_cover", "wire"]),
    "sealed package and rabbet": came("8 x 10", **PLAIN, finishing=["sealed", "rabbet_tape"]),
    "shop without stops": came("8 x 10", **PLAIN),
    "metric shop": {**came("240 x 310", overlap="3", **{**PLAIN, "mats": [mat("50")]})},
    "poster, dry mounted": came("24 x 30", "full_bleed", "reproduction", glazing=GLASS,
        mounting={"method": "dry_mounted", "board": "WHITE"}, frames=framed()),
}  # fmt: skip
