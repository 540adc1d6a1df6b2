"""The material of a catalogue's item, by which the bench knows how to work it.

A board may name it (`worked_as`); otherwise its plies and what cuts it decide. Glazing has its kind
and its build, a moulding its material.
"""

from __future__ import annotations

from service.domain.materials.catalogue import Board, Glazing, Moulding

METALS = frozenset({"aluminium", "aluminum", "metal", "steel", "brass"})
COMPOSITES = frozenset({"composite", "fibreboard", "mdf", "polystyrene", "plastic"})


def board_material(board: Board) -> str:
    """Return the material of a board: its code in `bench.materials.BOARDS`."""
    if board.worked_as:
        return board.worked_as
    if board.cut_by == "saw":
        return "wood_panel"
    return "mat_board" if board.ply or board.uses != ("backing",) else "foam_board"


def glazing_material(sheet: Glazing) -> str:
    """Return the material of a sheet of glazing; laminated glass with a finish is coated too."""
    if sheet.kind != "glass":
        return sheet.kind
    if sheet.build == "laminated" and sheet.finish not in ("", "clear"):
        return "coated_laminated_glass"
    return f"{sheet.build}_glass"


def moulding_material(moulding: Moulding) -> str:
    """Return the material of a moulding: metal, composite or wood."""
    named = moulding.material.strip().lower()
    if named in METALS:
        return "metal"
    return "composite" if named in COMPOSITES else "wood"
