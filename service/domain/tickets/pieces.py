"""A ticket's pieces in the order of the cut list, and the four cuts of each window."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.frame import FrameSizes, polygon_side
from service.domain.jobs.mat import Window
from service.domain.jobs.sizes import Layer
from service.domain.jobs.working import Worked, blade_passes, rod_work, sheet_work
from service.domain.materials.catalogue import Board, Fillet, Glazing, Moulding
from service.domain.measure.length import Length, Size
from service.domain.shop import Bench, Shop
from service.domain.tickets.instructions import OTHER_SIDE, Cut, End, Side, SizeCut
from service.domain.tickets.model import (
    Edges,
    Lies,
    MatPiece,
    RodPiece,
    SheetPiece,
    TicketPiece,
    TicketWindow,
)
from service.domain.tickets.reach import (
    OTHER_CUTTERS,
    mat_notes,
    sheet_notes,
    sized_by,
    window_cut_by,
)

_NAMES = {"glazing": "Glazing", "mount": "Mount", "backing": "Backing"}


def ticket_pieces(made: JobEstimate, shop: Shop, *, stops: bool) -> tuple[TicketPiece, ...]:
    """Return every row of the cut list, with the details that the bench needs."""
    return tuple(
        _piece(piece, number, made, shop, stops=stops)
        for number, piece in enumerate(made.pieces, start=1)
    )


def _piece(piece: Piece, number: int, made: JobEstimate, shop: Shop, *, stops: bool) -> TicketPiece:
    if piece.size is None:
        return _rod(piece, number, made, shop)
    if piece.part == "mat":
        return _mat(piece, piece.size, number, made, shop, stops=stops)
    item = piece.item
    if not isinstance(item, Board | Glazing):
        raise TypeError(f"{item.code} is no sheet")
    worked = sheet_work(item, piece.size, shop.bench)
    return SheetPiece(
        number=number,
        part=piece.part,
        name=_NAMES[piece.part],
        item=item.code,
        description=item.description,
        quantity=piece.quantity,
        pointer=piece.pointer,
        notes=_beyond(piece.size, item, worked, shop),
        size=piece.size,
        thickness=item.thickness,
        size_cuts=_size_cuts(number, piece.size, item.thickness, worked, shop),
        worked=worked,
        grain=item.grain,
        passes=blade_passes(item, shop.bench) if isinstance(item, Board) else 1,
    )


def _beyond(size: Size, item: Board | Glazing, worked: Worked, shop: Shop) -> tuple[str, ...]:
    ways = sized_by(size, item.thickness, worked.way, shop.bench)
    if isinstance(item, Glazing) and "straightedge" in ways:
        return ("longer than the cutter's rail: score it on the table along a straightedge",)
    return sheet_notes(size, item.thickness, worked.way, shop.bench, shop.ruler)


def _size_cuts(
    number: int, size: Size, thickness: Length, worked: Worked, shop: Shop
) -> tuple[SizeCut, ...]:
    across, down = sized_by(size, thickness, worked.way, shop.bench)
    return (
        SizeCut(number, "width", size.width, across),
        SizeCut(number, "height", size.height, down),
    )


def _mat(
    piece: Piece, size: Size, number: int, made: JobEstimate, shop: Shop, *, stops: bool
) -> MatPiece:
    position = piece.layer - 1
    layer = made.sizes.layers[position]
    board, package = layer.mat.board, made.sizes.package or layer.blank
    lies, edges = how_it_lies(layer, position)
    worked = sheet_work(board, size, shop.bench)
    windows = ticket_windows(layer, position, number, package, shop.bench)
    ways = {cut.by for window in windows for cut in window.cuts}
    straight = sum(1 for window in windows if window.cuts)
    notes = mat_notes(board.thickness, layer.mat.bevel, ways, shop.bench, shop.ruler)
    return MatPiece(
        number=number,
        part="mat",
        name="Top mat" if position == 0 else f"Mat {position + 1}",
        item=board.code,
        description=board.description,
        quantity=piece.quantity,
        pointer=piece.pointer,
        notes=(
            *sheet_notes(size, board.thickness, worked.way, shop.bench, shop.ruler),
            *notes,
        ),
        size=size,
        thickness=board.thickness,
        size_cuts=_size_cuts(number, size, board.thickness, worked, shop),
        worked=worked,
        grain=board.grain,
        passes=blade_passes(board, shop.bench),
        layer=piece.layer,
        trim=piece.trim,
        bevel=layer.mat.bevel,
        lies=lies,
        edges=edges,
        lines=(1 if stops else 4 * straight) if straight else 0,
        windows=windows,
    )


def _rod(piece: Piece, number: int, made: JobEstimate, shop: Shop) -> RodPiece:
    length, item = piece.length or Length(0), piece.item
    if not isinstance(item, Moulding | Fillet):
        raise TypeError(f"{item.code} is neither moulding nor fillet")
    frame = made.sizes.frames[piece.layer - 1] if piece.part == "rail" else None
    if frame is not None:
        inner = rabbet_length(frame, piece.side)
    else:
        inner = length - 2 * item.width if isinstance(item, Fillet) else length
    return RodPiece(
        number=number,
        part=piece.part,
        name=_rod_name(piece, len(made.sizes.frames)),
        item=item.code,
        description=item.description,
        quantity=piece.quantity,
        pointer=piece.pointer,
        side=piece.side,
        length=length,
        inner=inner,
        mitre=piece.mitre or Fraction(45),
        worked=rod_work(item, shop.bench),
        supply=frame.frame.supply if frame else "length",
        layer=piece.layer,
    )


def _rod_name(piece: Piece, frames: int) -> str:
    sides = {"top": "top and bottom", "left": "left and right"}.get(piece.side, "all sides")
    if piece.part == "rail":
        which = f" of frame {piece.layer}" if frames > 1 else ""
        return f"Rails{which}, {sides}"
    where = "frame" if piece.pointer.startswith("/frames") else "mat"
    return f"Fillet of {where} {piece.layer}, {sides}"


def rabbet_length(frame: FrameSizes, side: str) -> Length:
    """Return a rail's length along its rabbet: the rabbet's own side."""
    if frame.frame.sides != 4:
        return polygon_side(frame.rabbet.width, frame.frame.sides)
    return frame.rabbet.width if side == "top" else frame.rabbet.height


NEIGHBOURS: dict[Side, tuple[Side, Side]] = {
    "left": ("bottom", "top"),
    "top": ("left", "right"),
    "right": ("top", "bottom"),
    "bottom": ("right", "left"),
}
"""For the side along the guide, at the operator's left: the near side, the far side."""


def how_it_lies(layer: Layer, position: int) -> tuple[Lies, Edges]:
    """Return which face of a mat is up for its windows, and the edges they are measured from.

    An under mat is cut while fixed to the top mat. One with a reverse bevel cannot be: it lies face
    up, and the top mat would lie under it; so it is cut separately and fixed afterwards.
    """
    if layer.mat.bevel == "reverse":
        return "face_up", "own"
    return "face_down", "top_mat" if position else "own"


def ticket_windows(
    layer: Layer, position: int, piece: int, package: Size, bench: Bench
) -> tuple[TicketWindow, ...]:
    """Return all windows of a mat, numbered from 1, each with its cuts."""
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
    """Return the window seen from the other face of a sheet of `bounds`: x is mirrored."""
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
            run=bounds.height if side in ("left", "right") else bounds.width,
        )
