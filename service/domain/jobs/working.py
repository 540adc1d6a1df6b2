"""How a shop's bench works each piece: its material, and the way in which it is cut.

What is charged, what is advised and what the ticket says all go by this.

The usual way of a material follows from what it is and how thick it is. The catalogue's tool of an
item (`cut_by`) comes before it, the shop's own way (`Bench.ways`) before both. Nothing is cut in a
way that its material does not allow.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.bench.materials import MATERIALS, Material, Way
from service.domain.jobs.job import Job
from service.domain.jobs.sizes import Sizes
from service.domain.materials.catalogue import Board, Fillet, Glazing, Moulding
from service.domain.materials.working import board_material, glazing_material, moulding_material
from service.domain.measure.length import Length, Size
from service.domain.shop import Bench
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Worked:
    """The material of a piece by its code, and the way in which this bench cuts it."""

    code: str
    way: Way

    @property
    def material(self) -> Material:
        """The material's working method."""
        return MATERIALS[self.code]

    @property
    def ordered(self) -> bool:
        """True if the bench does not cut it: it is ordered cut to size."""
        return self.way == "order"

    def cautions(self) -> tuple[str, ...]:
        """Return the codes of the cautions for cutting it in this way, and who may do it."""
        trained = ("trained",) if self.material.who.get(self.way) == "trained" else ()
        return (*self.material.cautions.get(self.way, ()), *trained)


def sheet_work(item: Board | Glazing, size: Size, bench: Bench) -> Worked:
    """Return how a sheet is brought to a size."""
    code = board_material(item) if isinstance(item, Board) else glazing_material(item)
    own = _own_way(code, bench)
    if own == "snap" and item.thickness > bench.thickest_snap:
        own = None
    way = own or _catalogue_way(item, code) or _usual_way(item, code, bench)
    if way == "saw" and size.longer() > bench.panel_reach:
        way = "order"
    return Worked(code, way)


def blade_passes(board: Board, bench: Bench) -> int:
    """Return how often the blade goes over a cut of a board; once but for thick mat board."""
    return bench.passes(board.thickness) if board_material(board) == "mat_board" else 1


def sheets(job: Job, sizes: Sizes) -> Iterator[tuple[str, Board | Glazing, Size]]:
    """Yield the pointer, item and size of every sheet of a job: mats, glazing, mount, backing."""
    for position, layer in enumerate(sizes.layers):
        yield f"/mats/{position}/board", layer.mat.board, layer.blank
    if sizes.package is None:
        return
    if job.glazing:
        yield "/glazing/sheet", job.glazing.sheet, sizes.package
    if job.mount:
        yield "/mounting/board", job.mount, sizes.package
    if job.backing:
        yield "/backing/board", job.backing, sizes.package


def kerf(item: Board | Glazing, size: Size, bench: Bench) -> Length:
    """Return what a cut of a sheet takes: the saw's if it is sawn, else that of its own tool."""
    sawn = sheet_work(item, size, bench).way == "saw"
    return bench.kerf("saw" if sawn else item.cut_by)


def rod_work(item: Moulding | Fillet, bench: Bench) -> Worked:
    """Return how the rails of a moulding, or the pieces of a fillet, are cut."""
    code = moulding_material(item) if isinstance(item, Moulding) else "fillet"
    return Worked(code, _own_way(code, bench) or MATERIALS[code].cut_by[0])


def _own_way(code: str, bench: Bench) -> Way | None:
    return next((each.cut_by for each in bench.ways if each.material == code), None)


def _catalogue_way(item: Board | Glazing, code: str) -> Way | None:
    named: Way | None = {"saw": "saw", "table": "table"}.get(item.cut_by)  # type: ignore[assignment]
    return named if named in MATERIALS[code].cut_by else None


def _usual_way(item: Board | Glazing, code: str, bench: Bench) -> Way:
    usual = MATERIALS[code].cut_by[0]
    if usual == "blade" and item.thickness > bench.thickest_board:
        return "table"
    if usual == "snap" and item.thickness > bench.thickest_snap:
        return "saw"
    return usual
