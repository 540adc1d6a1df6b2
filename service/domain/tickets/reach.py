"""The reach of the bench's equipment, and the method used beyond it.

The squaring arm's stop sets a size; the rail limits the length of a cut; the guide sets a border up
to its widest setting; boards have a maximum thickness for cutting and one for bevelling.
"""

from __future__ import annotations

from service.domain.bench.materials import Way
from service.domain.jobs.mat import Bevel
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.shop import Bench
from service.domain.tickets.instructions import By, SizedBy

OVAL_CUTTER = "an oval cutter, its two axes set to the window's width and height"
ARCH_CUTTER = (
    "an oval cutter set to a circle for the head and a straightedge for the legs, or an arch "
    "template"
)
OTHER_CUTTERS = {"ellipse": OVAL_CUTTER, "arch": ARCH_CUTTER}


_OFF_THE_CUTTER: dict[Way, SizedBy] = {
    "saw": "saw",
    "order": "ordered",
    "table": "straightedge",
}


def sized_by(size: Size, thickness: Length, way: Way, bench: Bench) -> tuple[SizedBy, SizedBy]:
    """Return the methods by which a sheet is cut to its width and to its height.

    The cut that sets the width is as long as the sheet is high, and vice versa.
    """
    by = _OFF_THE_CUTTER.get(way)
    if by:
        return by, by
    if thickness > bench.thickest_board:
        return "straightedge", "straightedge"
    return (
        _one_way(size.width, size.height, bench),
        _one_way(size.height, size.width, bench),
    )


def _one_way(length: Length, cut: Length, bench: Bench) -> SizedBy:
    if cut > bench.rail:
        return "straightedge"
    return "stop" if length <= bench.squaring_arm else "mark"


def window_cut_by(setting: Length, cut: Length, thickness: Length, bench: Bench) -> By:
    """Return how one side of a window is cut: by the guide, a drawn line or a straightedge."""
    if thickness > bench.thickest_board or cut > bench.rail:
        return "straightedge"
    return "guide" if setting <= bench.widest_guide else "line"


def sheet_notes(
    size: Size, thickness: Length, way: Way, bench: Bench, ruler: Ruler
) -> tuple[str, ...]:
    """Return the notes on a sheet that the bench does not cut, or that is beyond its reach."""
    ways = sized_by(size, thickness, way, bench)
    note = ""
    if "ordered" in ways:
        note = "ordered cut to size: this bench does not cut it"
    elif thickness > bench.thickest_board and "straightedge" in ways:
        note = (
            f"thicker than the cutter takes ({ruler.with_unit(bench.thickest_board)}): cut it on "
            "the table along a steel straightedge, in several light passes"
        )
    elif way == "table":
        note = "cut on the table along a steel straightedge, in several light passes"
    elif "straightedge" in ways:
        note = (
            f"longer than the cutter's rail ({ruler.with_unit(bench.rail)}): mark both ends and "
            "cut on the table along a steel straightedge, or send it out"
        )
    elif "mark" in ways:
        note = (
            f"beyond the squaring arm's stop ({ruler.with_unit(bench.squaring_arm)}): mark the "
            "size at both ends and lay the marks under the rail"
        )
    return (note,) if note else ()


def mat_notes(
    thickness: Length, bevel: Bevel, ways: set[By], bench: Bench, ruler: Ruler
) -> tuple[str, ...]:
    """Return the notes on a mat's windows that are partly beyond the bench's reach."""
    notes = []
    if bevel != "straight" and thickness > bench.thickest_bevel:
        notes.append(
            f"too thick for a bevel here ({ruler.with_unit(bench.thickest_bevel)}): have it cut "
            "elsewhere, or ask whether a straight cut will do"
        )
    if "line" in ways:
        notes.append(
            f"a setting is beyond the guide ({ruler.with_unit(bench.widest_guide)}): draw that "
            "line, take the guide off and lay the line under the rail"
        )
    if "straightedge" in ways and thickness <= bench.thickest_board:
        notes.append(
            f"a cut is longer than the rail ({ruler.with_unit(bench.rail)}): cut it on the table "
            "with a hand bevel cutter along a steel straightedge"
        )
    return tuple(notes)
