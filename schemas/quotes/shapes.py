"""The records of a stored quote's answers: the quote, its rows, revisions, changes and promise."""

from __future__ import annotations

from typing import Annotated

from schemas.estimates.shapes import (
    CostsIfSeen,
    Jobs,
    ListInForce,
    OrderLines,
    OrderNotes,
    Payable,
    Totals,
    WorkedOutBy,
    Working,
)
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing, named, text
from schemas.wire.values import Currency, Day, Instant, Length, Money, Next, Number, Until, Uuid
from service.domain.quotes.life import STATUSES
from service.domain.tickets.handover import HANDOVER, HANDOVERS

Identifier = Annotated[Uuid, doc("Its identifier.")]
NumberOfQuote = Annotated[
    str,
    text(
        "Its number, to be read out and printed; it ends with a check digit.",
        "^Q[0-9]{6,}$",
        "Q100014",
    ),
]
QuoteNumber = Annotated[str, doc("The quote's number.")]
RevisionNumber = Annotated[
    int, at_least(1, "Which calculation of the quote this is, counted from 1.")
]
AsSent = Annotated[str, doc("As sent.")]


class CustomerShown(Record):
    """The customer; only the fields that were given."""

    name: AsSent | Unset = UNSET
    email: AsSent | Unset = UNSET
    telephone: AsSent | Unset = UNSET
    note: AsSent | Unset = UNSET
    id: Annotated[str, doc("The customer's record in the shop, if one was named.")] | Unset = UNSET


class QuoteTicket(Record):
    """A ticket of a quote."""

    id: Identifier
    number: Annotated[str, doc("Its number.")]
    job: Annotated[int, at_least(1, "Which of the quote's jobs, from 1.")]
    status: Annotated[str, growing(HANDOVER.states, "How far it is, to its collection.")]
    shelf: Annotated[str, doc("Where it stands until it is collected.")] | Unset = UNSET


class RevisionRow(Record):
    """A revision as a list shows it."""

    revision: Annotated[int, at_least(1, "Its number.")]
    choice: Annotated[
        str | None,
        doc(
            "Its name among the alternative choices; null for the first revision and for one that "
            "replaced those before it."
        ),
    ]
    created_at: Annotated[Instant, doc("When it was calculated.")]
    price_list: ListInForce
    currency: Annotated[str, doc("The currency of its amounts (ISO 4217).")]
    total: Annotated[Money, doc("The total that the customer was told.")]


HandedOver = Annotated[
    str,
    growing(
        HANDOVERS,
        "The steps after `done`, once there are any. `ready`: all of it stands on the shelf. "
        "`partly_collected`: the customer has some of its tickets. `collected`: all of them. "
        "They are told beside the status, which stays what it is, so that programs that know no "
        "state after `done` go on.",
    ),
]


class QuoteHead(Record, kw_only=True):
    """What every answer with a quote begins with."""

    id: Identifier
    number: NumberOfQuote
    status: Annotated[
        str,
        growing(
            STATUSES,
            "`draft`: left by a public form. `issued`: given by the shop. `accepted`: accepted by "
            "the customer; its tickets are made. `in_work`, `done`: the bench has begun, has "
            "finished. `declined`: the customer does not want it. `expired`: `valid_until` is "
            "past; this follows from the day alone and does not change `updated_at`. "
            "`withdrawn`: taken back by the shop.",
        ),
    ]
    revision: RevisionNumber
    reference: Annotated[str, doc("The caller's own number for it; empty if none was given.")]
    customer: CustomerShown
    created_at: Annotated[Instant, doc("When it was first stored (RFC 3339, UTC).")]
    updated_at: Annotated[Instant, doc("When it last changed (RFC 3339, UTC).")]
    valid_until: Annotated[Day, doc("The last day of its validity, in the shop's time zone.")]
    deposit_due: Annotated[
        Money, doc("The deposit due on acceptance: the shop's percentage, half up.")
    ]
    promised: Annotated[
        Day | None, doc("The day it will be ready, promised on acceptance; null before.")
    ]
    handover: HandedOver | Unset = UNSET
    paid: Annotated[Money, doc("All payments that the till reported, less what was given back.")]
    balance_due: Annotated[
        Money,
        doc(
            "What the customer still owes: from the acceptance on the total less `paid`. Below "
            "zero, what the shop owes back."
        ),
    ]
    reason: Annotated[str, doc("The reason for declining or withdrawing it.")] | Unset = UNSET


class QuoteRow(QuoteHead, kw_only=True):
    """A quote as a list shows it: without its jobs."""

    currency: Currency
    total: Payable


class AlreadyCut(Record, kw_only=True):
    """Pieces that were cut, or begun, before a change of order did away with them."""

    ticket: Annotated[str, doc("The ticket that was withdrawn.")]
    part: Annotated[str, doc("The part: mat, glazing, rail, ….")]
    item: Annotated[str, doc("The item's code.")]
    quantity: Annotated[int, at_least(1, "Number of pieces.")]
    size: Annotated[tuple[Length, ...], doc("Width and height, or the length of a rail.")]
    cost: (
        Annotated[
            Money | None,
            doc("What their material costs, for keys that see costs; null if unknown."),
        ]
        | Unset
    ) = UNSET


class QuoteTop(QuoteHead, kw_only=True):
    """What an answer says before the stored result of the calculation."""

    tickets: Annotated[tuple[QuoteTicket, ...], doc("Its tickets, once it is accepted.")]
    choices: (
        Annotated[
            tuple[RevisionRow, ...],
            doc("The revisions that the customer may choose from, if there are several."),
        ]
        | Unset
    ) = UNSET
    already_cut: (
        Annotated[
            tuple[AlreadyCut, ...],
            doc("What was cut before the order changed; the shop decides who pays for it."),
        ]
        | Unset
    ) = UNSET
    costs: CostsIfSeen = UNSET


class Quote(QuoteTop, kw_only=True):
    """A stored quote.

    Its figures are those of the day it was made: no later price list, catalogue or setting changes
    them.
    """

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    lines: OrderLines = UNSET
    notes: OrderNotes = UNSET


class QuoteList(Record):
    """A page of a list, newest first."""

    items: Annotated[tuple[QuoteRow, ...], doc("The page.")]
    next: Next
    until: Until


class RevisionTop(Record, kw_only=True):
    """What the answer with a revision says before its stored result."""

    id: Identifier
    number: NumberOfQuote
    revision: RevisionNumber
    created_at: Annotated[Instant, doc("When it was calculated (RFC 3339, UTC).")]
    costs: CostsIfSeen = UNSET


class QuoteRevision(RevisionTop, kw_only=True):
    """One revision of a stored quote, as the customer was told."""

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    lines: OrderLines = UNSET
    notes: OrderNotes = UNSET


class RevisionList(Record):
    """Every revision of a quote, the first one first."""

    number: QuoteNumber
    items: Annotated[tuple[RevisionRow, ...], doc("All of them.")]


class Change(Record):
    """One thing that changed."""

    path: Annotated[str, doc("The place in the answer, as a JSON pointer (RFC 6901).")]
    text: Annotated[str, doc("What changed, in words.")]


class Changes(Record):
    """What changed from one revision to the next."""

    number: QuoteNumber
    before: Annotated[int, at_least(1, "The previous revision.")] = named(name="from")
    to: Annotated[int, at_least(1, "The requested revision.")]
    changes: Annotated[
        tuple[Change, ...], doc("One sentence for each change; empty if nothing changed.")
    ]


class Promise(Record):
    """When a quote will be ready.

    The day follows from the minutes of every unfinished ticket and its own, spread over the
    bench's working days.
    """

    number: QuoteNumber
    status: Annotated[str, growing(STATUSES, "Its state.")]
    given: Annotated[bool, doc("True if the day was promised on acceptance and stays fixed.")]
    day: Annotated[
        Day | None,
        doc(
            "The day; null if the quote is over, if it cannot be made, or if ten years would not "
            "be enough."
        ),
    ]
    minutes: Annotated[Number, doc("Its own minutes.")]
    open_minutes: Annotated[Number, doc("The minutes of every unfinished ticket.")]
    lead_days: Annotated[
        int, at_least(0, "Days that pass before work can begin; a setting of the shop.")
    ]
    wanted_by: Annotated[Day, doc("The day by which the customer wants it.")] | Unset = UNSET
    first_day: (
        Annotated[
            Day,
            doc("The first day that could be promised without breaking another promise."),
        ]
        | Unset
    ) = UNSET


class Workings(Record):
    """How every figure of a quote was calculated on its day."""

    number: NumberOfQuote
    revision: RevisionNumber
    worked_out_by: Annotated[WorkedOutBy, doc("The calculation of the quote's figures.")]
    workings: Annotated[tuple[Working, ...], doc("One for every figure.")]
