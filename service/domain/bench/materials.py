"""The working method of every material: how it is cut, what it leaves, what must not be done to it.

All rows are common practice without a published source unless one is named. A shop replaces the way
of cutting a material in its settings (`Bench.ways`), within what the material allows: `cut_by`
lists the possible ways, the usual one first.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from service.domain.value import dataclass

Way = Literal["blade", "table", "scribe", "snap", "saw", "chop", "order"]
Who = Literal["any", "trained", "supplier"]
"""Any hand, a hand trained for it, or the supplier's."""
WAYS: Mapping[Way, str] = {
    "blade": "the cutter's blade, under the rail",
    "table": "a knife along a steel straightedge, on the table",
    "scribe": "one scribe with oil, broken at once",
    "snap": "scored in several passes, then snapped over an edge",
    "saw": "a saw with the blade that the material asks for",
    "chop": "a guillotine chopper",
    "order": "ordered cut to size",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material as the bench works it.

    Attributes:
        name: the material in words.
        cut_by: the ways in which it can be cut, the usual one first.
        lies: which side is up while it is cut, in words; empty if either may be.
        saw_blade: the saw's blade, where it can be sawn.
        faces: how many faces are scribed, each broken for itself.
        leaves: what the cut leaves.
        after: what is done at once after a cut, as the beginning of a line.
        never: what must not be done to it.
        cautions: codes of the cautions that belong to cutting it, by way.
        who: who may cut it, by way; any hand where no way is named.
    """

    name: str
    cut_by: tuple[Way, ...]
    lies: str = ""
    saw_blade: str = ""
    faces: int = 1
    leaves: str = ""
    after: str = ""
    never: tuple[str, ...] = ()
    cautions: Mapping[str, tuple[str, ...]]
    who: Mapping[Way, Who]


_BOARD: Mapping[str, tuple[str, ...]] = {"blade": ("blade",), "table": ("blade",)}
_SAWN_WOOD: Mapping[str, tuple[str, ...]] = {"saw": ("saw", "dust"), "chop": ("chopper",)}
_GLASS: Mapping[str, tuple[str, ...]] = {"scribe": ("glass",), "order": ("glass",)}
_PLASTIC: Mapping[str, tuple[str, ...]] = {"snap": ("snap", "blade"), "saw": ("saw", "chips")}
_BY_HAND: Mapping[Way, Who] = {"order": "supplier"}
_BY_MACHINE: Mapping[Way, Who] = {"saw": "trained", "chop": "trained", "order": "supplier"}
"""Common practice, no source: machines and laminated glass are for a trained hand."""
_ONCE = "go over a scribed line again"

BOARDS: Mapping[str, Material] = {
    "mat_board": Material(
        name="mat or mount board",
        cut_by=("blade", "table", "order"),
        lies="colour side down",
        cautions=_BOARD,
        who=_BY_HAND,
    ),
    "foam_board": Material(
        name="foam board", cut_by=("blade", "table", "order"), cautions=_BOARD, who=_BY_HAND
    ),
    "corrugated_board": Material(
        name="corrugated board", cut_by=("blade", "table", "order"), cautions=_BOARD, who=_BY_HAND
    ),
    "fluted_plastic": Material(
        name="fluted plastic sheet",
        cut_by=("blade", "table", "order"),
        cautions=_BOARD,
        who=_BY_HAND,
    ),
    "wood_panel": Material(
        name="fibreboard, hardboard or plywood",
        cut_by=("saw", "order"),
        saw_blade="panel blade",
        leaves="dust",
        never=("cut with a mat blade",),
        # Fibreboard dust is treated as hardwood dust: HSE EH40 as told in proaktive.co.uk.
        cautions=_SAWN_WOOD,
        who=_BY_MACHINE,
    ),
}
GLAZING: Mapping[str, Material] = {
    "plain_glass": Material(
        name="float glass",
        cut_by=("scribe", "order"),
        leaves="sharp edges, splinters",
        # Scored once, broken soon (common practice, no source).
        never=(_ONCE,),
        cautions=_GLASS,
        who=_BY_HAND,
    ),
    "coated_glass": Material(
        name="coated glass",
        cut_by=("scribe", "order"),
        lies="the side up that its maker marks as uncoated",
        leaves="sharp edges, splinters",
        never=(_ONCE, "touch the coating"),
        cautions=_GLASS,
        who=_BY_HAND,
    ),
    "laminated_glass": Material(
        name="laminated glass",
        cut_by=("scribe", "order"),
        faces=2,
        leaves="sharp edges, splinters",
        # Both faces on one line, then the film is parted (common practice, no source).
        after="Part the film",
        never=(_ONCE, "break by one scribe"),
        cautions={**_GLASS, "scribe": ("glass", "blade")},
        who={"scribe": "trained", "order": "supplier"},
    ),
    "coated_laminated_glass": Material(
        name="coated laminated glass",
        cut_by=("order",),
        never=("cut at the bench",),
        cautions=_GLASS,
        who=_BY_HAND,
    ),
    "mirror_glass": Material(
        name="mirror glass",
        cut_by=("scribe", "order"),
        lies="the glass side up, the silvered side dry and whole",
        leaves="sharp edges, splinters",
        # Scribed on the glass face, never on the paint (common practice, no source).
        never=(_ONCE, "scribe the silvered side"),
        cautions=_GLASS,
        who=_BY_HAND,
    ),
    "acrylic": Material(
        name="acrylic sheet",
        cut_by=("snap", "saw", "order"),
        lies="its film left on",
        saw_blade="plastics blade",
        leaves="splinters",
        never=("wipe dry or with solvents",),
        cautions=_PLASTIC,
        who=_BY_MACHINE,
    ),
    "polycarbonate": Material(
        name="polycarbonate sheet",
        cut_by=("saw", "order"),
        lies="its film left on",
        saw_blade="plastics blade",
        leaves="chips",
        # It bends and does not break at a score (common practice, no source).
        never=("score, since it does not snap", "wipe dry or with solvents"),
        cautions=_PLASTIC,
        who=_BY_MACHINE,
    ),
}
MOULDINGS: Mapping[str, Material] = {
    "wood": Material(
        name="wood moulding",
        cut_by=("saw", "chop", "order"),
        saw_blade="wood blade",
        leaves="dust",
        cautions=_SAWN_WOOD,
        who=_BY_MACHINE,
    ),
    "composite": Material(
        name="composite moulding",
        cut_by=("saw", "chop", "order"),
        saw_blade="wood blade",
        leaves="dust",
        cautions=_SAWN_WOOD,
        who=_BY_MACHINE,
    ),
    "metal": Material(
        name="aluminium moulding",
        cut_by=("saw", "order"),
        saw_blade="non-ferrous blade",
        leaves="a sharp burr, chips",
        # Lubricant, and the blade stopped before it is raised (common practice, no source).
        after="Take the burr off both ends",
        never=("glue or pin",),
        cautions={"saw": ("saw", "metal_saw")},
        who=_BY_MACHINE,
    ),
}
FILLETS: Mapping[str, Material] = {
    "fillet": Material(
        name="fillet",
        cut_by=("saw", "chop", "order"),
        saw_blade="wood blade",
        leaves="dust",
        cautions=_SAWN_WOOD,
        who=_BY_MACHINE,
    ),
}
MATERIALS: Mapping[str, Material] = {**BOARDS, **GLAZING, **MOULDINGS, **FILLETS}
