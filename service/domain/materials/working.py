"""The material of a catalogue's item, by which the bench knows how to work it.

An item may name it (`worked_as`). Where it does not, what the item is decides: glazing by its kind
and finish, a board by its plies and what cuts it, a moulding by its material.
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
    """Return the material of a sheet of glazing; glass with a finish counts as coated."""
    if sheet.worked_as:
        return sheet.worked_as
    if sheet.kind != "glass":
        return sheet.kind
    return "plain_glass" if sheet.finish in ("", "clear") else "coated_glass"


def moulding_material(moulding: Moulding) -> str:
    """Return the material of a moulding: metal, composite or wood."""
    named = moulding.material.strip().lower()
    if named in METALS:
        return "metal"
    return "composite" if named in COMPOSITES else "wood"
