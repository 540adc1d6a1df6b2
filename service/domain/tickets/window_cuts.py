"""From a mat's windows to the four cuts of each, as the board lies on the bench.

A standard bevel and a straight cut are made from the back: the board lies face down and left and
right change places. Its sight edge is at the back, where the blade goes in, so the guide's setting
is the border. A reverse bevel has its sight edge at the face, so that board lies face up and the
same cutter, leaning the same way, goes in at the sight edge and comes out wider at the back. Each
side is set from its own edge (see `service.domain.labour.drivers`), whichever way the board lies.

The board is turned so that the side to be cut lies along the guide, at the operator's left; the cut
starts at the line of the nearer neighbour and goes away from the body to the line of the other.
"""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.jobs.opening import Window
from service.domain.jobs.sizes import Layer
from service.domain.measure.length import Length, Size
from service.domain.shop import Bench
from service.domain.tickets.model import OTHER_SIDE, Cut, Edges, End, Lies, Side, TicketWindow
from service.domain.tickets.reach import OTHER_CUTTERS, window_cut_by

NEIGHBOURS: dict[Side, tuple[Side, Side]] = {
    "left": ("bottom", "top"),
    "top": ("left", "right"),
    "right": ("top", "bottom"),
    "bottom": ("right", "left"),
}
"""For the side along the guide, at the operator's left: the side nearest the body, the far one."""


def how_it_lies(layer: Layer, position: int) -> tuple[Lies, Edges]:
    """How a mat lies for its windows, and whose edges they are set from.

    An under mat is cut fixed to the top mat. One with a reverse bevel cannot be: it lies face up,
    and the top mat would lie under it; so it is cut by itself and fixed afterwards.
    """
    if layer.mat.bevel == "reverse":
        return "face_up", "own"
    return "face_down", "top_mat" if position else "own"


def ticket_windows(
    layer: Layer, position: int, piece: int, package: Size, bench: Bench
) -> tuple[TicketWindow, ...]:
    """All windows of a mat, numbered from 1, each with its cuts."""
    lies, edges = how_it_lies(layer, position)
    made = []
    on_package = layer.windows
    on_blank = layer.on_blank()
    bounds = package if edges == "top_mat" else layer.blank
    for at, blank_window in enumerate(on_blank):
        window = on_package[at] if edges == "top_mat" else blank_window
        lying = turned_over(window, bounds) if lies == "face_down" else window
        other = OTHER_CUTTERS.get(window.shape, "")
        cuts = () if other else tuple(_cuts(lying, bounds, lies, piece, at + 1, layer, bench))
        made.append(
            TicketWindow(
                number=at + 1, front=blank_window, as_it_lies=lying, cuts=cuts, other_cutter=other
            )
        )
    return tuple(made)


def turned_over(window: Window, bounds: Size) -> Window:
    """The window seen from the other face of a sheet of `bounds`: x counts from the other side."""
    return Window(window.shape, bounds.width - window.right(), window.y, window.size)


def _cuts(
    window: Window, bounds: Size, lies: Lies, piece: int, number: int, layer: Layer, bench: Bench
) -> Iterator[Cut]:
    from_edge: dict[Side, Length] = {
        "top": window.y,
        "right": bounds.width - window.right(),
        "bottom": bounds.height - window.bottom(),
        "left": window.x,
    }
    for side, (near, far) in NEIGHBOURS.items():
        long = window.size.height if side in ("left", "right") else window.size.width
        yield Cut(
            piece=piece,
            window=number,
            side=side,
            front_side=OTHER_SIDE[side] if lies == "face_down" else side,
            setting=from_edge[side],
            start=End(near, from_edge[near]),
            stop=End(far, from_edge[far]),
            by=window_cut_by(from_edge[side], long, layer.mat.board.thickness, bench),
        )
