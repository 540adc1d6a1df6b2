"""The records of bench tickets: the document that is stored, and what is shown of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from schemas.tickets.cut_shapes import Code, Step, TicketPiece, WindowPlace
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing, text
from schemas.wire.values import (
    Advisory,
    Day,
    Instant,
    Length,
    Next,
    Number,
    PhotographShown,
    Size,
    Until,
    Uuid,
)
from service.domain.jobs.work import WORKS
from service.domain.tickets.handover import COLLECTED, READY
from service.domain.tickets.progress import PIECE_LIFE, TICKET_LIFE

UNITS = ("piece", "linear_foot", "square_foot")
Label = Annotated[str, doc("The job's label.")]
Quantity = Annotated[int, at_least(1, "The number of framed pieces.")]
InWords = Annotated[str, doc("The item, in words.")]


class TicketRuler(Record):
    """The ruler that a ticket's marks belong to."""

    unit: Annotated[Literal["in", "mm", "cm"], doc("Its unit.")]
    step: Annotated[Length, doc("The distance between marks.")]


class TicketSizes(Record):
    """The sizes of one framed piece; null if it has no such part."""

    art: Annotated[tuple[Size, ...], doc("The artwork, or the artwork of each window.")]
    shows: Annotated[tuple[Size, ...], doc("The visible part of each.")]
    package: Annotated[Size | None, doc("The package.")]
    allowance: Annotated[Length, doc("How much larger the rabbet is than the package, in total.")]
    gap: Annotated[Length, doc("The gap around a canvas in a floater frame.")]
    rabbet: Annotated[Size | None, doc("The innermost frame's rabbet.")]
    frame_sight: Annotated[Size | None, doc("The innermost frame's sight opening.")]
    outside: Annotated[Size | None, doc("The outermost frame, or the package without one.")]
    stack_depth: Annotated[Length, doc("From the glazing to the backing.")]
    united_inches: Annotated[Number | None, doc("Width plus height of the package, in inches.")]
    art_places: (
        Annotated[
            tuple[WindowPlace, ...],
            doc("Where floated art lies on its board, if its margin differs by side."),
        ]
        | Unset
    ) = UNSET


class TicketFrame(Record):
    """One frame, the innermost first."""

    item: Annotated[str, doc("The moulding's code.")]
    sides: Annotated[int, at_least(3, "The number of sides.")]
    holds: Annotated[Size, doc("The size of what it holds.")]
    rabbet: Annotated[Size, doc("Its rabbet.")]
    sight: Annotated[Size, doc("Its sight opening.")]
    outside: Annotated[Size, doc("Its outside.")]
    face_width: Annotated[Length, doc("The width of the moulding's face.")]
    rabbet_width: Annotated[Length, doc("The width of the rabbet.")]
    rabbet_depth: Annotated[Length, doc("The depth of the rabbet.")]


class PackageLayer(Record):
    """One layer of the package, from the glazing backwards."""

    part: Annotated[str, doc("Its part.")]
    name: Annotated[str, doc("Its name.")]
    thickness: Annotated[Length, doc("Its thickness.")]


class SetUps(Record):
    """How often the set-up changes."""

    changes: Annotated[int, at_least(0, "The number for the whole ticket.")]
    at_least: Annotated[int, at_least(0, "No order of the steps needs fewer.")]
    proved: Annotated[bool, doc("True if this is proved to be the least number.")]


class TicketWeight(Record):
    """The weight of one framed piece, without the artwork."""

    kg: Annotated[Number, doc("Kilograms.")]
    safety_factor: Annotated[Number, doc("The factor by which it is multiplied.")]
    load_kg: Annotated[Number, doc("The load that hardware must be rated for.")]


class TicketHardware(Record, kw_only=True):
    """Hardware, with the load that it was chosen for."""

    item: Code
    description: InWords
    role: Annotated[str, doc("Its purpose.")]
    quantity: Annotated[Number, doc("The quantity.")]
    unit: (
        Annotated[
            str, growing(("piece", "linear_foot"), "The unit; tickets of earlier releases lack it.")
        ]
        | Unset
    ) = UNSET
    rating_kg: Annotated[Number, doc("The load that it is rated for.")]
    load_kg: Annotated[Number, doc("The weight times the factor.")]
    carries: Annotated[bool, doc("True if the rating is high enough.")]


class TicketSupply(Record):
    """Supplies for all of the job's pieces."""

    item: Code
    description: InWords
    quantity: Annotated[Number, doc("The quantity.")]
    unit: Annotated[str, growing(UNITS, "The unit of the quantity.")]


class Lot(Record):
    """A number of pieces of one kind in the same state.

    The lots of a kind that are not spoiled always add up to its quantity.
    """

    piece: Annotated[int, at_least(1, "Its number, as used in addresses.")]
    like: Annotated[int, at_least(1, "Which of `pieces` it is cut as.")]
    quantity: Annotated[int, at_least(1, "The number of pieces.")]
    status: Annotated[str, growing(PIECE_LIFE.states, "Their state.")]
    reason: Annotated[str, doc("Why they are spoiled.")] | Unset = UNSET
    recut_of: Annotated[int, at_least(1, "The spoiled lot that it replaces.")] | Unset = UNSET


class TicketQuote(Record):
    """The quote of a ticket."""

    id: Annotated[Uuid, doc("The quote's identifier.")]
    number: Annotated[str, doc("The quote's number.")]
    job: Annotated[int, at_least(1, "Which of its jobs, from 1.")]
    jobs: Annotated[int, at_least(1, "The number of its jobs.")]


TicketId = Annotated[Uuid, doc("Its identifier.")]
TicketNumber = Annotated[
    str,
    text(
        "Its number, to be read out and printed; it ends with a check digit.",
        "^T[0-9]{6,}$",
        "T100014",
    ),
]
Status = Annotated[
    str, growing(TICKET_LIFE.states, "How far the bench is; withdrawn with its quote.")
]
Reference = Annotated[str, doc("The quote's reference.")]
Promised = Annotated[Day | None, doc("The promised day.")]
Made = Annotated[Instant, doc("When it was made.")]
Pressed = Annotated[Instant, doc("When the bench last recorded progress.")]
HandedOver = Annotated[
    str,
    growing(
        (READY, COLLECTED),
        "`ready`: it stands on the shelf. `collected`: the customer has it. The status stays "
        "`done`.",
    ),
]
Shelf = Annotated[str, doc("Where it stands until it is collected.")]
ReadyAt = Annotated[Instant, doc("When it was put there.")]
CollectedAt = Annotated[Instant, doc("When it was collected.")]
CollectedBy = Annotated[str, doc("Who took it along.")]
Progress = Annotated[tuple[Lot, ...], doc("The state of every piece.")]


class TicketHead(Record, kw_only=True):
    """What every answer with a ticket begins with."""

    id: TicketId
    number: TicketNumber
    status: Status
    quote: TicketQuote
    reference: Reference
    promised: Promised
    handover: HandedOver | Unset = UNSET
    shelf: Shelf | Unset = UNSET
    ready_at: ReadyAt | Unset = UNSET
    collected_at: CollectedAt | Unset = UNSET
    collected_by: CollectedBy | Unset = UNSET
    created_at: Made
    updated_at: Pressed


class TicketRow(TicketHead, kw_only=True):
    """A ticket as a list shows it."""

    label: Label
    quantity: Quantity
    minutes: Annotated[Number, doc("The total of the bench's minutes.")]


class TicketTop(TicketHead, kw_only=True):
    """What an answer says before the stored document."""

    progress: Progress


class BeforeCut(Record):
    """Something that the hand has to know before the first cut."""

    kind: Annotated[
        str, growing(("condition", "note"), "The condition in which it came in, or a note.")
    ]
    text: Annotated[str, doc("In words; a note may have several lines.")]
    path: Annotated[str, doc("What it is about, as a pointer into the job; empty for it all.")]
    inside: Annotated[bool, doc("True for a note that is for the shop alone.")] | Unset = UNSET
    photographs: Annotated[tuple[PhotographShown, ...], doc("Photographs of it.")] | Unset = UNSET


_WORK = "The kind of work, if it is not new framing."
BeforeFirstCut = (
    Annotated[
        tuple[BeforeCut, ...],
        doc("The condition at intake and the notes, to be read before the first cut."),
    ]
    | Unset
)


class CutTicket(Record):
    """The document of a ticket as it is stored."""

    label: Label
    quantity: Quantity
    presentation: Annotated[str, doc("How the artwork is presented.")]
    ruler: TicketRuler
    stops: Annotated[bool, doc("True if the cutter's stops replace pencil lines.")]
    sizes: TicketSizes
    frames: Annotated[tuple[TicketFrame, ...], doc("The frames.")]
    package: Annotated[tuple[PackageLayer, ...], doc("The layers of the package.")]
    pieces: Annotated[tuple[TicketPiece, ...], doc("What is to be cut.")]
    steps: Annotated[tuple[Step, ...], doc("What is to be done, in order.")]
    cautions: Annotated[
        Mapping[str, str], doc("The cautions of its steps in full, by their codes.")
    ]
    set_ups: SetUps
    weight: TicketWeight
    hardware: Annotated[tuple[TicketHardware, ...], doc("The hardware that it hangs by.")]
    supplies: Annotated[tuple[TicketSupply, ...], doc("Further supplies.")]
    minutes: Annotated[Number, doc("The total of the bench's minutes, the same as the quote's.")]
    advisories: Annotated[tuple[Advisory, ...], doc("The advisories.")]
    before_first_cut: BeforeFirstCut = UNSET
    job_work: Annotated[str, growing(WORKS, _WORK)] | Unset = UNSET


class Ticket(CutTicket, kw_only=True):
    """A bench ticket.

    All but its head and `progress` is written once, when its quote is accepted, and is never
    calculated again. It contains no price and no customer.
    """

    id: TicketId
    number: TicketNumber
    status: Status
    quote: TicketQuote
    reference: Reference
    promised: Promised
    handover: HandedOver | Unset = UNSET
    shelf: Shelf | Unset = UNSET
    ready_at: ReadyAt | Unset = UNSET
    collected_at: CollectedAt | Unset = UNSET
    collected_by: CollectedBy | Unset = UNSET
    created_at: Made
    updated_at: Pressed
    progress: Progress


class TicketList(Record):
    """A page of a list, newest first."""

    items: Annotated[tuple[TicketRow, ...], doc("The page.")]
    next: Next
    until: Until
