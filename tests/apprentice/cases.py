"""Jobs of every kind as documents, for the faults that are put into printed lines."""

from __future__ import annotations

from typing import Any

SIX_PHOTOGRAPHS = {
    "quantity": 2,
    "artwork": {"width": "5 in", "height": "7 in", "kind": "photograph"},
    "presentation": "overlap",
    "openings": {"arrangement": "grid", "rows": 2, "columns": 3, "gutter": "3/4 in"},
    "mats": [
        {
            "board": "WHITE",
            "border": {
                "top": "2 in",
                "right": "2 1/4 in",
                "bottom": "2 1/2 in",
                "left": "1 3/4 in",
            },
        }
    ],
    "glazing": {"sheet": "CLEAR"},
    "mounting": {"method": "hinged", "board": "WHITE"},
    "backing": {"board": "CARD"},
    "frames": [{"moulding": "OAK"}],
    "finishing": ["dust_cover", "wire"],
}
DOUBLE_MAT = {
    "artwork": {"width": "16 3/8 in", "height": "20 in", "thickness": "1/64 in", "kind": "paper"},
    "presentation": "overlap",
    "overlap": "1/8 in",
    "mats": [
        {
            "board": "WHITE",
            "border": {"top": "3 in", "right": "2 1/2 in", "bottom": "3 1/2 in", "left": "2 in"},
            "grooves": ["1/2 in"],
        },
        {"board": "BLACK", "reveal": "1/4 in"},
    ],
    "glazing": {"sheet": "CLEAR"},
    "mounting": {"method": "pasted", "board": "WHITE"},
    "backing": {"board": "CARD"},
    "frames": [{"moulding": "OAK"}],
    "finishing": ["sealed", "rabbet_tape", "dust_cover", "wire"],
}
SHADOW_BOX = {
    "quantity": 2,
    "artwork": {"width": "8 in", "height": "10 in", "kind": "object", "thickness": "1/16 in"},
    "presentation": "float",
    "glazing": {"sheet": "LAMINATED", "spacer": "1/8 in"},
    "mounting": {"method": "pasted", "board": "WHITE"},
    "backing": {"board": "CARD"},
    "frames": [{"moulding": "ALU"}],
    "finishing": ["sealed", "rabbet_tape", "wire", "dust_cover"],
}
CANVAS = {
    "artwork": {"width": "16 in", "height": "20 in", "kind": "canvas"},
    "presentation": "floater",
    "mounting": {"method": "screwed"},
    "frames": [{"moulding": "FLOAT"}, {"moulding": "OAK"}],
    "finishing": ["wire"],
}
ARCHES = {
    "artwork": {"width": "240 mm", "height": "310 mm", "thickness": "0.5 mm", "kind": "pastel"},
    "presentation": "overlap",
    "overlap": "4 mm",
    "openings": {
        "arrangement": "grid",
        "rows": 1,
        "columns": 2,
        "gutter": "30 mm",
        "shape": "arch",
    },
    "mats": [
        {"board": "THICK", "border": "65 mm"},
        {"board": "WHITE", "reveal": "5 mm", "bevel": "reverse"},
    ],
    "glazing": {"sheet": "PLASTIC"},
    "mounting": {"method": "hinged", "board": "WHITE"},
    "frames": [{"moulding": "LIP"}],
    "finishing": ["wire"],
}
FILLETS = {
    "artwork": {"width": "200 mm", "height": "260 mm", "kind": "paper"},
    "presentation": "overlap",
    "mats": [
        {"board": "WHITE", "border": "55 mm", "fillet": "GILT"},
        {"board": "BLACK", "reveal": "6 mm"},
    ],
    "mounting": {"method": "hinged"},
    "frames": [{"moulding": "OAK", "supply": "chop", "fillet": "GILT"}],
}
CASES: dict[str, tuple[str, str, dict[str, Any]]] = {
    "six photographs": ("in", "1/4", SIX_PHOTOGRAPHS),
    "double mat with a groove": ("in", "1/4", DOUBLE_MAT),
    "shadow box in aluminium": ("in", "1/4", SHADOW_BOX),
    "canvas in a floater": ("in", "1/4", CANVAS),
    "arches": ("mm", "7", ARCHES),
    "fillets": ("mm", "7", FILLETS),
}
"""By name: the ruler's unit, what a wrong figure is wrong by, and the job."""
