"""A cut ticket as a document, as read at the bench, stored and printed.

Lengths are given in three forms, as everywhere. Sides of cuts are named as the board lies on the
bench (`front_side` gives the side of the finished mat).
"""

from __future__ import annotations

from collections.abc import Iterator

from schemas.wire.figures import Figures, Json, number, ratio
from service.domain.jobs.mat import Window
from service.domain.measure.length import TICKS_PER_INCH, Length
from service.domain.measure.units import MG_PER_KG
from service.domain.tickets.cautions import CAUTIONS
from service.domain.tickets.instructions import Change, Cut, End, Part, SizeCut, Step
from service.domain.tickets.model import (
    CutTicket,
    FrameOn,
    HardwareUse,
    MatPiece,
    RodPiece,
    SheetPiece,
    TicketPiece,
    TicketWindow,
)


def ticket_document(ticket: CutTicket) -> Json:
    """Return the whole ticket of one job."""
    figures = Figures(ticket.ruler)
    used = {code for step in ticket.steps for code in step.cautions}
    return {
        "label": ticket.label,
        "quantity": ticket.quantity,
        "presentation": ticket.presentation,
        "ruler": {"unit": ticket.ruler.unit, "step": figures.length(ticket.ruler.step)},
        "stops": ticket.stops,
        "sizes": _sizes(ticket, figures),
        "frames": [_frame(frame, figures) for frame in ticket.frames],
        "package": [
            {
                "part": layer.part,
                "name": layer.name,
                "thickness": figures.length(layer.thickness),
            }
            for layer in ticket.stack
        ],
        "pieces": [_piece(piece, figures) for piece in ticket.pieces],
        "steps": [_step(step, figures) for step in ticket.steps],
        "cautions": {code: text for code, text in CAUTIONS.items() if code in used},
        "set_ups": {
            "changes": ticket.set_ups.changes,
            "at_least": ticket.set_ups.at_least,
            "proved": ticket.set_ups.proved,
        },
        "weight": {
            "kg": ratio(ticket.weight_mg, MG_PER_KG, 3),
            "safety_factor": number(ticket.safety_factor),
            "load_kg": number(ticket.weight_mg * ticket.safety_factor / MG_PER_KG),
        },
        "hardware": [_hardware(use) for use in ticket.hardware],
        "supplies": [
            {
                "item": line.item,
                "description": line.description,
                "quantity": number(line.quantity),
                "unit": line.unit,
            }
            for line in ticket.supplies
        ],
        "minutes": number(ticket.minutes),
        "advisories": [
            {
                "code": advisory.code,
                "severity": advisory.severity,
                "message": advisory.message,
                "path": advisory.pointer,
            }
            for advisory in ticket.advisories
        ],
    }


def _sizes(ticket: CutTicket, figures: Figures) -> Json:
    frames = ticket.frames
    inner, outer = (frames[0], frames[-1]) if frames else (None, None)
    united = ticket.package.united_ticks() if ticket.package else 0
    return {
        "art": [figures.size(size) for size in ticket.art],
        "shows": [figures.size(size) for size in ticket.shows],
        "package": figures.maybe_size(ticket.package),
        "allowance": figures.length(ticket.allowance),
        "gap": figures.length(ticket.gap),
        "rabbet": figures.maybe_size(inner.rabbet if inner else None),
        "frame_sight": figures.maybe_size(inner.sight if inner else None),
        "outside": figures.maybe_size(outer.outside if outer else ticket.package),
        "stack_depth": figures.length(ticket.stack_depth),
        "united_inches": ratio(united, TICKS_PER_INCH) if ticket.package else None,
    }


def _frame(frame: FrameOn, figures: Figures) -> Json:
    return {
        "item": frame.item,
        "sides": frame.sides,
        "holds": figures.size(frame.holds),
        "rabbet": figures.size(frame.rabbet),
        "sight": figures.size(frame.sight),
        "outside": figures.size(frame.outside),
        "face_width": figures.length(frame.face_width),
        "rabbet_width": figures.length(frame.rabbet_width),
        "rabbet_depth": figures.length(frame.rabbet_depth),
    }


def _piece(piece: TicketPiece, figures: Figures) -> Json:
    row: Json = {
        "piece": piece.number,
        "part": piece.part,
        "name": piece.name,
        "item": piece.item,
        "description": piece.description,
        "quantity": piece.quantity,
        "path": piece.pointer,
        "notes": list(piece.notes),
    }
    if isinstance(piece, SheetPiece):
        row["width"] = figures.length(piece.size.width)
        row["height"] = figures.length(piece.size.height)
        row["thickness"] = figures.length(piece.thickness)
        row["grain"] = piece.grain
        row["sized_by"] = {cut.across: cut.by for cut in piece.size_cuts}
    if isinstance(piece, SheetPiece | RodPiece):
        row["material"] = piece.worked.code
        row["way"] = piece.worked.way
        row["leaves"] = piece.worked.material.leaves
    if isinstance(piece, MatPiece):
        row.update(_mat(piece, figures))
    if isinstance(piece, RodPiece):
        row["layer"] = piece.layer
        row["side"] = piece.side
        row["length"] = figures.length(piece.length)
        row["rabbet_length" if piece.part == "rail" else "inner_length"] = figures.length(
            piece.inner
        )
        row["mitre_degrees"] = number(piece.mitre)
        row["supply"] = piece.supply
    return row


def _mat(piece: MatPiece, figures: Figures) -> Json:
    return {
        "layer": piece.layer,
        "trim": figures.length(piece.trim),
        "bevel": piece.bevel,
        "lies": piece.lies,
        "settings_from": piece.edges,
        "pencil_lines": piece.lines,
        "windows": [_window(window, figures) for window in piece.windows],
    }


def _window(window: TicketWindow, figures: Figures) -> Json:
    row: Json = {
        "window": window.number,
        "shape": window.front.shape,
        "front": _place(window.front, figures),
        "as_it_lies": _place(window.as_it_lies, figures),
        "cuts": [_cut(cut, figures) for cut in window.cuts],
    }
    if window.other_cutter:
        row["other_cutter"] = window.other_cutter
    return row


def _place(window: Window, figures: Figures) -> Json:
    return {
        "x": figures.length(window.x),
        "y": figures.length(window.y),
        **figures.size(window.size),
    }


def _cut(cut: Cut, figures: Figures) -> Json:
    return {
        "window": cut.window,
        "side": cut.side,
        "front_side": cut.front_side,
        "by": cut.by,
        "setting": figures.length(cut.setting),
        "start": _end(cut.start, figures),
        "stop": _end(cut.stop, figures),
    }


def _end(end: End, figures: Figures) -> Json:
    return {"side": end.side, "distance": figures.length(end.distance)}


def _size_cut(cut: SizeCut, figures: Figures) -> Json:
    return {
        "piece": cut.piece,
        "across": cut.across,
        "length": figures.length(cut.length),
        "by": cut.by,
    }


def _step(step: Step, figures: Figures) -> Json:
    return {
        "step": step.number,
        "work": step.work,
        "machine": step.machine,
        "text": step.text,
        "pieces": list(step.pieces),
        "changes": [_change(change, figures) for change in step.changes],
        "size_cuts": [_size_cut(cut, figures) for cut in step.size_cuts],
        "cuts": [_cut(cut, figures) for cut in step.cuts],
        "parts": [_part(part, figures) for part in step.parts],
        "cautions": list(step.cautions),
        "minutes": number(step.minutes),
        "operations": list(_operations(step)),
    }


def _part(part: Part, figures: Figures) -> Json:
    return {
        "changes": [_change(change, figures) for change in part.changes],
        "lines": list(part.lines),
    }


def _change(change: Change, figures: Figures) -> Json:
    to = figures.length(change.to) if isinstance(change.to, Length) else change.to
    return {"what": change.what, "to": to}


def _operations(step: Step) -> Iterator[Json]:
    for share in step.shares:
        yield {"operation": share.operation, "minutes": ratio(share.parts, share.per)}


def _hardware(use: HardwareUse) -> Json:
    return {
        "item": use.item,
        "description": use.description,
        "role": use.role,
        "quantity": number(use.quantity),
        "rating_kg": number(use.rating_kg),
        "load_kg": number(use.load_kg),
        "carries": use.carries,
        "unit": use.unit,
    }
