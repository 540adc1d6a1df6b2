"""A cut ticket as a document, as read at the bench, stored and printed.

Lengths are given in three forms, as everywhere. Sides of cuts are named as the board lies on the
bench (`front_side` gives the side of the finished mat).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from schemas.tickets import cut_shapes, shapes
from schemas.wire.figures import Figures, number, ratio
from schemas.wire.record import UNSET
from schemas.wire.values import Advisory, PhotographShown
from service.domain.jobs.mat import Window
from service.domain.jobs.work import NEW
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


def ticket_document(ticket: CutTicket) -> shapes.CutTicket:
    """Return the whole ticket of one job."""
    figures = Figures(ticket.ruler)
    used = {code for step in ticket.steps for code in step.cautions}
    return shapes.CutTicket(
        label=ticket.label,
        quantity=ticket.quantity,
        presentation=ticket.presentation,
        ruler=shapes.TicketRuler(unit=ticket.ruler.unit, step=figures.length(ticket.ruler.step)),
        stops=ticket.stops,
        sizes=_sizes(ticket, figures),
        frames=tuple(_frame(frame, figures) for frame in ticket.frames),
        package=tuple(
            shapes.PackageLayer(layer.part, layer.name, figures.length(layer.thickness))
            for layer in ticket.stack
        ),
        pieces=tuple(_piece(piece, figures) for piece in ticket.pieces),
        steps=tuple(_step(step, figures) for step in ticket.steps),
        cautions={code: text for code, text in CAUTIONS.items() if code in used},
        set_ups=shapes.SetUps(
            changes=ticket.set_ups.changes,
            at_least=ticket.set_ups.at_least,
            proved=ticket.set_ups.proved,
        ),
        weight=shapes.TicketWeight(
            kg=ratio(ticket.weight_mg, MG_PER_KG, 3),
            safety_factor=number(ticket.safety_factor),
            load_kg=number(ticket.weight_mg * ticket.safety_factor / MG_PER_KG),
        ),
        hardware=tuple(_hardware(use) for use in ticket.hardware),
        supplies=tuple(
            shapes.TicketSupply(line.item, line.description, number(line.quantity), line.unit)
            for line in ticket.supplies
        ),
        minutes=number(ticket.minutes),
        advisories=tuple(
            Advisory(
                advisory.code,
                advisory.severity,
                advisory.message,
                advisory.pointer,
                advisory.overridden or UNSET,
            )
            for advisory in ticket.advisories
        ),
        before_first_cut=tuple(_before(ticket)) or UNSET,
        job_work=UNSET if ticket.work == NEW else ticket.work,
    )


def _before(ticket: CutTicket) -> Iterator[shapes.BeforeCut]:
    """Yield what the hand has to know before the first cut: the condition, then the notes."""
    for position, found in enumerate(ticket.condition):
        photographs = tuple([PhotographShown(each.url, each.sha256) for each in found.photographs])
        text = f"{found.description}: {found.words}" if found.words else found.description
        path = f"/condition/{position}"
        yield shapes.BeforeCut("condition", text, path, photographs=photographs or UNSET)
    for note in ticket.notes:
        yield shapes.BeforeCut("note", note.text, note.pointer, inside=note.inside)


def _sizes(ticket: CutTicket, figures: Figures) -> shapes.TicketSizes:
    frames = ticket.frames
    inner, outer = (frames[0], frames[-1]) if frames else (None, None)
    united = ticket.package.united_ticks() if ticket.package else 0
    return shapes.TicketSizes(
        art=tuple(figures.size(size) for size in ticket.art),
        shows=tuple(figures.size(size) for size in ticket.shows),
        package=figures.maybe_size(ticket.package),
        allowance=figures.length(ticket.allowance),
        gap=figures.length(ticket.gap),
        rabbet=figures.maybe_size(inner.rabbet if inner else None),
        frame_sight=figures.maybe_size(inner.sight if inner else None),
        outside=figures.maybe_size(outer.outside if outer else ticket.package),
        stack_depth=figures.length(ticket.stack_depth),
        united_inches=ratio(united, TICKS_PER_INCH) if ticket.package else None,
        art_places=tuple([_place(each, figures) for each in ticket.floated]) or UNSET,
    )


def _frame(frame: FrameOn, figures: Figures) -> shapes.TicketFrame:
    return shapes.TicketFrame(
        item=frame.item,
        sides=frame.sides,
        holds=figures.size(frame.holds),
        rabbet=figures.size(frame.rabbet),
        sight=figures.size(frame.sight),
        outside=figures.size(frame.outside),
        face_width=figures.length(frame.face_width),
        rabbet_width=figures.length(frame.rabbet_width),
        rabbet_depth=figures.length(frame.rabbet_depth),
    )


def _piece(piece: TicketPiece, figures: Figures) -> cut_shapes.TicketPiece:
    more: dict[str, Any] = {}
    if isinstance(piece, SheetPiece):
        more |= _sheet(piece, figures)
    if isinstance(piece, SheetPiece | RodPiece):
        more |= {
            "material": piece.worked.code,
            "way": piece.worked.way,
            "leaves": piece.worked.material.leaves,
        }
    if isinstance(piece, MatPiece):
        more |= _mat(piece, figures)
    if isinstance(piece, RodPiece):
        more |= _rod(piece, figures)
    return cut_shapes.TicketPiece(
        piece=piece.number,
        part=piece.part,
        name=piece.name,
        item=piece.item,
        description=piece.description,
        quantity=piece.quantity,
        path=piece.pointer,
        notes=piece.notes,
        **more,
    )


def _sheet(piece: SheetPiece, figures: Figures) -> dict[str, object]:
    return {
        "width": figures.length(piece.size.width),
        "height": figures.length(piece.size.height),
        "thickness": figures.length(piece.thickness),
        "grain": piece.grain,
        "sized_by": cut_shapes.SizedBy(**{cut.across: cut.by for cut in piece.size_cuts}),
    }


def _mat(piece: MatPiece, figures: Figures) -> dict[str, object]:
    return {
        "layer": piece.layer,
        "trim": figures.length(piece.trim),
        "bevel": piece.bevel,
        "lies": piece.lies,
        "settings_from": piece.edges,
        "pencil_lines": piece.lines,
        "windows": tuple(_window(window, figures) for window in piece.windows),
    }


def _rod(piece: RodPiece, figures: Figures) -> dict[str, object]:
    inner = "rabbet_length" if piece.part == "rail" else "inner_length"
    return {
        "layer": piece.layer,
        "side": piece.side,
        "length": figures.length(piece.length),
        inner: figures.length(piece.inner),
        "mitre_degrees": number(piece.mitre),
        "supply": piece.supply,
    }


def _window(window: TicketWindow, figures: Figures) -> cut_shapes.TicketWindow:
    return cut_shapes.TicketWindow(
        window=window.number,
        shape=window.front.shape,
        front=_place(window.front, figures),
        as_it_lies=_place(window.as_it_lies, figures),
        cuts=tuple(_cut(cut, figures) for cut in window.cuts),
        other_cutter=window.other_cutter or UNSET,
    )


def _place(window: Window, figures: Figures) -> cut_shapes.WindowPlace:
    return cut_shapes.WindowPlace(
        x=figures.length(window.x),
        y=figures.length(window.y),
        width=figures.length(window.size.width),
        height=figures.length(window.size.height),
    )


def _cut(cut: Cut, figures: Figures) -> cut_shapes.Cut:
    return cut_shapes.Cut(
        window=cut.window,
        side=cut.side,
        front_side=cut.front_side,
        by=cut.by,
        setting=figures.length(cut.setting),
        start=_end(cut.start, figures),
        stop=_end(cut.stop, figures),
    )


def _end(end: End, figures: Figures) -> cut_shapes.CutEnd:
    return cut_shapes.CutEnd(end.side, figures.length(end.distance))


def _size_cut(cut: SizeCut, figures: Figures) -> cut_shapes.SizeCut:
    return cut_shapes.SizeCut(cut.piece, cut.across, figures.length(cut.length), cut.by)


def _step(step: Step, figures: Figures) -> cut_shapes.Step:
    return cut_shapes.Step(
        step=step.number,
        work=step.work,
        machine=step.machine,
        text=step.text,
        pieces=step.pieces,
        changes=tuple(_change(change, figures) for change in step.changes),
        size_cuts=tuple(_size_cut(cut, figures) for cut in step.size_cuts),
        cuts=tuple(_cut(cut, figures) for cut in step.cuts),
        parts=tuple(_part(part, figures) for part in step.parts),
        cautions=step.cautions,
        minutes=number(step.minutes),
        operations=tuple(
            cut_shapes.StepOperation(share.operation, ratio(share.parts, share.per))
            for share in step.shares
        ),
    )


def _part(part: Part, figures: Figures) -> cut_shapes.StepPart:
    changes = tuple(_change(change, figures) for change in part.changes)
    return cut_shapes.StepPart(changes, tuple(part.lines))


def _change(change: Change, figures: Figures) -> cut_shapes.SetUpChange:
    to = figures.length(change.to) if isinstance(change.to, Length) else change.to
    return cut_shapes.SetUpChange(change.what, to)


def _hardware(use: HardwareUse) -> shapes.TicketHardware:
    return shapes.TicketHardware(
        item=use.item,
        description=use.description,
        role=use.role,
        quantity=number(use.quantity),
        unit=use.unit,
        rating_kg=number(use.rating_kg),
        load_kg=number(use.load_kg),
        carries=use.carries,
    )
