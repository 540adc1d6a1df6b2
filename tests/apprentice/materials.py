"""What the apprentice knows of materials: what may be done to each, and with what.

Common practice, no source, but for: laminated glass is scribed on both faces (agrrmag.com, March
2013); polycarbonate bends and does not break at a score (ermax-design.com); mirror is scribed on
its glass side (win-doormachinery.com); aluminium is not glued but screwed at corner angles.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

METALS = ("aluminium", "aluminum", "metal", "steel", "brass")
COMPOSITES = ("composite", "fibreboard", "mdf", "polystyrene", "plastic")
KNIFE = frozenset({"mat board", "foam board", "corrugated board", "fluted plastic"})
SAW_BLADES = {
    "wood panel": "panel blade",
    "acrylic": "plastics blade",
    "polycarbonate": "plastics blade",
    "wood": "wood blade",
    "composite": "wood blade",
    "metal": "non-ferrous blade",
}
SCRIBED = frozenset({"plain glass", "coated glass", "laminated glass", "mirror glass"})
LIES = {
    "coated glass": "the side up that its maker marks as uncoated",
    "mirror glass": "the glass side up, the silvered side dry and whole",
    "acrylic": "its film left on",
    "polycarbonate": "its film left on",
}
"""How a sheet must have been laid before it is cut."""


def material_of(item: Mapping[str, Any]) -> str:
    """Return the material of an item of the catalogue."""
    if "build" in item:
        return _glazing(item)
    if "face_width" in item:
        named = item["material"].strip().lower()
        return "metal" if named in METALS else "composite" if named in COMPOSITES else "wood"
    return _board(item) if "uses" in item else "fillet"


def _glazing(item: Mapping[str, Any]) -> str:
    if item["kind"] != "glass":
        return str(item["kind"])
    if item["build"] == "laminated" and item["finish"] not in ("", "clear"):
        return "coated laminated glass"
    return f"{item['build']} glass"


def _board(item: Mapping[str, Any]) -> str:
    if item["worked_as"]:
        return str(item["worked_as"]).replace("_", " ")
    if item["cut_by"] == "saw":
        return "wood panel"
    return "mat board" if item["ply"] or "backing" not in item["uses"] else "foam board"
