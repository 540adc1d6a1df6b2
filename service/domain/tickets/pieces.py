"""The pieces of a ticket, numbered in the order of the cut list."""

from __future__ import annotations

from fractions import Fraction

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.frame import FrameSizes, polygon_side
from service.domain.materials.catalogue import Board, Fillet, Glazing
from service.domain.measure.length import Length, Size
from service.domain.shop import Shop
from service.domain.tickets.model import MatPiece, RodPiece, SheetPiece, SizeCut, TicketPiece
from service.domain.tickets.reach import mat_notes, sheet_notes, sized_by
from service.domain.tickets.window_cuts import how_it_lies, ticket_windows

_NAMES = {"glazing": "Glazing", "mount": "Mount", "backing": "Backing"}


def ticket_pieces(made: JobEstimate, shop: Shop, *, stops: bool) -> tuple[TicketPiece, ...]:
    """Every row of the cut list as the bench needs it."""
    return tuple(
        _piece(piece, number, made, shop, stops=stops)
        for number, piece in enumerate(made.pieces, start=1)
    )


def _piece(piece: Piece, number: int, made: JobEstimate, shop: Shop, *, stops: bool) -> TicketPiece:
    if piece.size is None:
        return _rod(piece, number, made)
    if piece.part == "mat":
        return _mat(piece, piece.size, number, made, shop, stops=stops)
    item = piece.item
    thickness = item.thickness if isinstance(item, Board | Glazing) else Length(0)
    return SheetPiece(
        number=number,
        part=piece.part,
        name=_NAMES[piece.part],
        item=item.code,
        description=item.description,
        quantity=piece.quantity,
        pointer=piece.pointer,
        notes=_beyond(piece.size, thickness, item, shop),
        size=piece.size,
        thickness=thickness,
        size_cuts=_size_cuts(number, piece.size, thickness, shop),
        grain=isinstance(item, Board) and item.grain,
    )


def _beyond(size: Size, thickness: Length, item: object, shop: Shop) -> tuple[str, ...]:
    if isinstance(item, Glazing) and "straightedge" in sized_by(size, thickness, shop.bench):
        return ("longer than the cutter's rail: score it on the table along a straightedge",)
    return sheet_notes(size, thickness, shop.bench, shop.ruler)


def _size_cuts(number: int, size: Size, thickness: Length, shop: Shop) -> tuple[SizeCut, ...]:
    across, down = sized_by(size, thickness, shop.bench)
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
        notes=(*sheet_notes(size, board.thickness, shop.bench, shop.ruler), *notes),
        size=size,
        thickness=board.thickness,
        size_cuts=_size_cuts(number, size, board.thickness, shop),
        grain=board.grain,
        layer=piece.layer,
        trim=piece.trim,
        bevel=layer.mat.bevel,
        lies=lies,
        edges=edges,
        lines=(1 if stops else 4 * straight) if straight else 0,
        windows=windows,
    )


def _rod(piece: Piece, number: int, made: JobEstimate) -> RodPiece:
    length, item = piece.length or Length(0), piece.item
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
    """A rail measured along its rabbet: the rabbet's own side."""
    if frame.frame.sides != 4:
        return polygon_side(frame.rabbet.width, frame.frame.sides)
    return frame.rabbet.width if side == "top" else frame.rabbet.height
