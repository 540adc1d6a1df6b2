"""The records of a bench ticket's pieces and steps."""

from __future__ import annotations

from typing import Annotated, Literal

from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing
from schemas.wire.values import Length, Number
from service.domain.bench.materials import MATERIALS, WAYS
from service.domain.jobs.mat import Shape

BY = ("guide", "line", "straightedge")
SIZED_BY = ("stop", "mark", "straightedge", "saw", "ordered")
PARTS = ("mat", "glazing", "mount", "backing", "rail", "fillet")
Side = Literal["top", "right", "bottom", "left"]
Code = Annotated[str, doc("Its code.")]
ItemCode = Annotated[str, doc("The item's code.")]
Piece = Annotated[int, at_least(1, "The piece.")]


class CutEnd(Record):
    """The start or the end of a cut: a line at this distance from this edge."""

    side: Annotated[Side, doc("The edge, named as the board lies.")]
    distance: Annotated[Length, doc("The distance from that edge.")]


class Cut(Record):
    """One straight cut of a window.

    Sides are named as the board lies on the bench: face down, left and right are exchanged against
    the front.
    """

    window: Annotated[int, at_least(1, "Which window of the mat.")]
    side: Annotated[Side, doc("The window's side, as the board lies.")]
    front_side: Annotated[Side, doc("The same side, seen from the front.")]
    by: Annotated[str, growing(BY, "By the mat guide, to a drawn line, or along a straightedge.")]
    setting: Annotated[
        Length, doc("The setting of the guide, or the line's distance from the edge.")
    ]
    start: Annotated[CutEnd, doc("Where the cut starts.")]
    stop: Annotated[CutEnd, doc("Where it stops.")]


class SizeCut(Record):
    """One cut that brings a sheet to its width or its height."""

    piece: Piece
    across: Annotated[Literal["width", "height"], doc("Which of the two.")]
    length: Annotated[Length, doc("The size to cut to.")]
    by: Annotated[
        str,
        growing(
            SIZED_BY,
            "By the arm's stop, to a mark, along a straightedge, by the saw, or it comes cut.",
        ),
    ]


class WindowPlace(Record):
    """The place of a window in its blank, from the left and top edges."""

    x: Annotated[Length, doc("From the left edge.")]
    y: Annotated[Length, doc("From the top edge.")]
    width: Annotated[Length, doc("The window's width.")]
    height: Annotated[Length, doc("The window's height.")]


class TicketWindow(Record):
    """A window of a mat, as the bench cuts it."""

    window: Annotated[int, at_least(1, "Its number in the mat.")]
    shape: Annotated[Shape, doc("Its shape.")]
    front: Annotated[WindowPlace, doc("Seen from the front.")]
    as_it_lies: Annotated[WindowPlace, doc("As the board lies on the bench.")]
    cuts: Annotated[tuple[Cut, ...], doc("Its straight cuts; none if it needs another cutter.")]
    other_cutter: Annotated[str, doc("The kind of cutter that it needs.")] | Unset = UNSET


class SizedBy(Record):
    """How the two size cuts of a sheet are made."""

    width: Annotated[str, growing(SIZED_BY, "For its width.")]
    height: Annotated[str, growing(SIZED_BY, "For its height.")]


class TicketPiece(Record):
    """One kind of piece.

    Boards and glazing have a width and a height, mats also windows. Rails and fillets have a
    length along their longest edge.
    """

    piece: Annotated[int, at_least(1, "Its number on the ticket.")]
    part: Annotated[str, growing(PARTS, "Its part in the package or the frame.")]
    name: Annotated[str, doc("Its name on the ticket.")]
    item: ItemCode
    description: Annotated[str, doc("The item, in words.")]
    quantity: Annotated[int, at_least(1, "The number, for all of the job's pieces.")]
    path: Annotated[
        str, doc("The place in the job that it comes from, as a JSON pointer (RFC 6901).")
    ]
    notes: Annotated[
        tuple[Annotated[str, doc("A note.")], ...],
        doc("What the bench must know, such as a direction."),
    ]
    width: Annotated[Length, doc("The blank's width.")] | Unset = UNSET
    height: Annotated[Length, doc("The blank's height.")] | Unset = UNSET
    thickness: Annotated[Length, doc("Its thickness.")] | Unset = UNSET
    grain: Annotated[bool, doc("True if its grain forbids turning it on the sheet.")] | Unset = (
        UNSET
    )
    sized_by: SizedBy | Unset = UNSET
    material: Annotated[str, growing(MATERIALS, "What the bench works it as.")] | Unset = UNSET
    way: (
        Annotated[str, growing(WAYS, "How this bench cuts it; `order`: it comes cut to size.")]
        | Unset
    ) = UNSET
    leaves: Annotated[str, doc("What the cut leaves, such as dust; may be empty.")] | Unset = UNSET
    layer: (
        Annotated[int, at_least(0, "Which mat, or which frame; 0 if it has no layer.")] | Unset
    ) = UNSET
    trim: (
        Annotated[
            Length,
            doc("How much smaller an under mat's blank is than the package, on each side."),
        ]
        | Unset
    ) = UNSET
    bevel: (
        Annotated[str, growing(("standard", "reverse", "straight"), "The windows' bevel.")] | Unset
    ) = UNSET
    lies: (
        Annotated[Literal["face_down", "face_up"], doc("How it lies while its windows are cut.")]
        | Unset
    ) = UNSET
    settings_from: (
        Annotated[
            Literal["own", "top_mat"],
            doc("The edges that settings are measured from: its own, or the top mat's."),
        ]
        | Unset
    ) = UNSET
    pencil_lines: Annotated[int, at_least(0, "The number of lines to draw.")] | Unset = UNSET
    windows: Annotated[tuple[TicketWindow, ...], doc("Its windows.")] | Unset = UNSET
    side: (
        Annotated[str, growing(("top", "left", "each"), "Which sides of the frame or window.")]
        | Unset
    ) = UNSET
    length: Annotated[Length, doc("Long point to long point.")] | Unset = UNSET
    rabbet_length: Annotated[Length, doc("A rail's length along its rabbet.")] | Unset = UNSET
    inner_length: Annotated[Length, doc("A fillet's length along its inner edge.")] | Unset = UNSET
    mitre_degrees: Annotated[Number, doc("The angle of each mitre.")] | Unset = UNSET
    supply: (
        Annotated[str, growing(("length", "chop", "join"), "How the moulding is supplied.")] | Unset
    ) = UNSET


class SetUpChange(Record):
    """One set-up that changes before a step."""

    what: Annotated[str, doc("What changes: slip_sheet, guide, head, depth, arm_stop and so on.")]
    to: Annotated[Length | str, doc("The new setting: a length, or a word.")]


class StepOperation(Record):
    """The part of one bench operation that belongs to a step."""

    operation: Code
    minutes: Annotated[Number, doc("Its minutes here.")]


class StepPart(Record):
    """What is done at one set-up of a step."""

    changes: Annotated[tuple[SetUpChange, ...], doc("What to set first; nothing else changes.")]
    lines: Annotated[
        tuple[Annotated[str, doc("An instruction.")], ...],
        doc("The printed instructions, in order."),
    ]


class Step(Record, kw_only=True):
    """One step, in the order that the work needs and that changes set-ups least."""

    step: Annotated[int, at_least(1, "Its number.")]
    work: Annotated[str, doc("The kind of work.")]
    machine: Annotated[str, growing(("cutter", "saw", "hand"), "Where it is done.")]
    text: Annotated[str, doc("What to do, without the cuts of windows.")]
    pieces: Annotated[
        tuple[Annotated[int, at_least(1, "A piece.")], ...], doc("The pieces of this step.")
    ]
    changes: Annotated[
        tuple[SetUpChange, ...],
        doc("What to set first; the guide and the stops may be set again by a later part."),
    ]
    size_cuts: Annotated[tuple[SizeCut, ...], doc("Cuts to size.")]
    cuts: Annotated[tuple[Cut, ...], doc("Cuts of windows.")]
    parts: (
        Annotated[
            tuple[StepPart, ...],
            doc("The step line by line; a ticket of an earlier release has none."),
        ]
        | Unset
    ) = UNSET
    cautions: Annotated[
        tuple[Annotated[str, doc("A code of `cautions`.")], ...], doc("What to look out for.")
    ]
    minutes: Annotated[Number, doc("Its minutes.")]
    operations: Annotated[
        tuple[StepOperation, ...], doc("The operations that its minutes come from.")
    ]
