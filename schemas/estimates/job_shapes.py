"""The records of a calculated job: sizes, cut list, materials, bench time, lines, discounts."""

from __future__ import annotations

from typing import Annotated

from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing
from schemas.wire.values import (
    Advisory,
    Length,
    Money,
    Number,
    PhotographShown,
    Pointer,
    Rate,
    Sides,
    Size,
)
from service.domain.jobs.mat import Shape
from service.domain.jobs.use import COMPONENTS
from service.domain.jobs.work import WORKS
from service.domain.prices.lists import BASES
from service.domain.shop import ASKED, DRIVERS

METHODS = ("rate", "whole", "marginal")
PARTS = ("mat", "glazing", "mount", "backing", "rail", "fillet")
RAILS = ("top", "left", "each")
Basis = Annotated[str, growing(BASES, "What the quantity counts.")]
Item = Annotated[str, doc("The item's code.")]


class Opening(Record):
    """A window in a mat, by its sight edge.

    It is measured from the left and top edges of the mat's own blank, seen from the front.
    """

    shape: Annotated[Shape, doc("The window's shape.")]
    x: Annotated[Length, doc("From the blank's left edge.")]
    y: Annotated[Length, doc("From the blank's top edge.")]
    width: Annotated[Length, doc("The window's width.")]
    height: Annotated[Length, doc("The window's height.")]
    centre_x: (
        Annotated[Length, doc("The centre of an oval, or of an arch's half circle.")] | Unset
    ) = UNSET
    centre_y: Annotated[Length, doc("The centre; for an arch this is the spring line.")] | Unset = (
        UNSET
    )
    radius_x: (
        Annotated[Length, doc("Half of an oval's horizontal axis, or the radius of an arch.")]
        | Unset
    ) = UNSET
    radius_y: (
        Annotated[Length, doc("Half of an oval's vertical axis, or the radius of an arch.")] | Unset
    ) = UNSET


class Piece(Record):
    """A row of the cut list.

    Boards and glazing have a width and a height. Rails and fillets have a length along their
    longest edge, and a mitre.
    """

    part: Annotated[str, growing(PARTS, "Its part in the package or the frame.")]
    item: Item
    quantity: Annotated[int, at_least(1, "How many to cut, for all of the job's pieces.")]
    path: Pointer
    layer: (
        Annotated[
            int,
            at_least(1, "Which mat, from the glazing inwards, or which frame, from the inside."),
        ]
        | Unset
    ) = UNSET
    width: Annotated[Length, doc("The blank's width.")] | Unset = UNSET
    height: Annotated[Length, doc("The blank's height.")] | Unset = UNSET
    openings: Annotated[tuple[Opening, ...], doc("The windows of a mat.")] | Unset = UNSET
    trim: (
        Annotated[Length, doc("How much smaller the mat's blank is than the package, per side.")]
        | Unset
    ) = UNSET
    grooves: (
        Annotated[tuple[Opening, ...], doc("The grooves round its windows, by window.")] | Unset
    ) = UNSET
    ruled_lines: (
        Annotated[tuple[Opening, ...], doc("The lines drawn round its windows, by window.")] | Unset
    ) = UNSET
    side: Annotated[str, growing(RAILS, "Which sides of the frame or the window.")] | Unset = UNSET
    length: (
        Annotated[
            Length,
            doc(
                "Long point to long point. A side of a frame of more than four is the width across "
                "flats times tan(180°/n), to the nearest 1/16 µm."
            ),
        ]
        | Unset
    ) = UNSET
    mitre_degrees: Annotated[Number, doc("The angle of each mitre.")] | Unset = UNSET


class ArtPlace(Record):
    """The place of floated art on its mount board.

    It is measured from the board's left and top edges, seen from the front.
    """

    x: Annotated[Length, doc("The art's left edge.")]
    y: Annotated[Length, doc("The art's top edge.")]
    width: Annotated[Length, doc("The art's width.")]
    height: Annotated[Length, doc("The art's height.")]
    margins: Annotated[Sides, doc("From each of its edges to the board's edge on that side.")]
    centre_x: Annotated[Length, doc("The vertical centre line.")]
    centre_y: Annotated[Length, doc("The horizontal centre line.")]


class HangingSizes(Record):
    """The rings and the wire on the back of the outermost frame."""

    ring_drop: Annotated[Length, doc("From the frame's upper edge down to the rings.")]
    ring_inset: Annotated[Length, doc("From each vertical edge inwards to its ring.")]
    span: Annotated[Length, doc("From ring to ring.")]
    rise: Annotated[
        Length, doc("How far the middle of the wire stands above the rings; 0 without a wire.")
    ]
    wire: Annotated[Length, doc("The wire to cut, with the ends for both knots; 0 without a wire.")]


class Sizes(Record):
    """The sizes of a job, from the artwork outwards; null if the job has no such part."""

    shows: Annotated[
        Size,
        doc(
            "The visible part of the artwork (of the first, if several), with the margin of "
            "floated art; without a mat, what the frame leaves of it."
        ),
    ]
    opening: Annotated[Size | None, doc("The innermost mat's first window, by its sight edge.")]
    border: Annotated[Sides | None, doc("The top mat's border, to its own sight edge.")]
    border_showing: Annotated[
        Sides | None, doc("The part of the border that the frame leaves visible.")
    ]
    package: Annotated[Size | None, doc("Everything that goes into the frame, cut to one size.")]
    rabbet: Annotated[Size | None, doc("The innermost frame's rabbet opening.")]
    frame_sight: Annotated[Size | None, doc("The innermost frame's sight opening.")]
    outside: Annotated[Size, doc("The outermost frame's outside.")]
    stack_depth: Annotated[Length, doc("The package's depth, from the glazing to the backing.")]
    united_inches: Annotated[Number, doc("Width plus height of the package, in inches.")]
    square_feet: Annotated[Number, doc("The package's area.")]
    weight_kg: Annotated[Number, doc("The estimated weight of one framed piece.")]
    float_margin_showing: (
        Annotated[Length, doc("The visible part of the margin round floated art.")] | Unset
    ) = UNSET
    art_places: (
        Annotated[tuple[ArtPlace, ...], doc("Where floated art lies, in the order of its windows.")]
        | Unset
    ) = UNSET
    hanging: Annotated[HangingSizes, doc("Where it hangs, with hangers or a wire.")] | Unset = UNSET


class Material(Record):
    """What all pieces of the job use of an item, on one basis."""

    item: Item
    basis: Basis
    quantity: Annotated[Number, doc("The quantity that the shop bills.")]


class Operation(Record):
    """A bench operation.

    minutes = set_up_minutes + unit_minutes × units × quantity of the job.
    """

    operation: Annotated[str, doc("The operation's code in the shop's labour standard.")]
    description: Annotated[str, doc("What is done.")]
    driver: Annotated[str, growing((*DRIVERS, ASKED), "What its units count.")]
    units: Annotated[
        Number,
        doc(
            "The number of units for one piece. A measure (inches, feet, square feet) is added up "
            "over what goes into the frame, and over the frames; each sum is rounded half up to "
            "the hundredth."
        ),
    ]
    set_up_minutes: Annotated[Number, doc("Once for the whole job.")]
    unit_minutes: Annotated[Number, doc("For each unit.")]
    minutes: Annotated[Number, doc("The total.")]
    multiplied_by: (
        Annotated[Number, doc("The factor by which multipliers changed both its minutes.")] | Unset
    ) = UNSET


class Labour(Record):
    """The time at the bench."""

    minutes: Annotated[Number, doc("The sum of the operations.")]
    operations: Annotated[tuple[Operation, ...], doc("The operations.")]


class Slice(Record):
    """One bracket's part of a quantity, at the bracket's rate."""

    quantity: Annotated[Number, doc("The quantity in this bracket.")]
    rate: Annotated[Number, doc("The rate per unit.")]


class Line(Record):
    """A priced line.

    One piece costs quantity × rate (`rate`), the rate alone (`whole`), or the sum of its slices
    (`marginal`); not less than the minimum; to the nearest rounding step; times
    the price level's factor; half up to the currency's minor unit; up to the shop's price ending,
    if it has one for lines. That is `each`; amount = each × pieces + set-up.
    """

    component: Annotated[str, growing(COMPONENTS, "What is priced.")]
    item: Annotated[str | None, doc("The item's code; null for work.")]
    description: Annotated[str, doc("The item or the work, in words.")]
    charge: Annotated[str, doc("The charge, by the price list's own name.")]
    basis: Basis
    method: Annotated[str, growing(METHODS, "How the amount follows from quantity and rate.")]
    quantity: Annotated[Number, doc("The quantity billed for one piece.")]
    rate: Annotated[Rate, doc("Money per unit, or the amount of the bracket.")]
    each: Annotated[Money, doc("The price of one piece.")]
    pieces: Annotated[int, at_least(1, "The number of pieces.")]
    amount: Annotated[Money, doc("The amount of the line.")]
    taxable: Annotated[bool, doc("True if it has a tax category.")]
    tax_category: Annotated[str, doc("The shop's tax category; empty if it has none.")]
    rule: Annotated[str, doc("The rule of the price list.")]
    path: Pointer
    minimum: Annotated[Number, doc("The lowest price of one piece.")] | Unset = UNSET
    rounding_step: (
        Annotated[Number, doc("The step to which the price of one piece is rounded.")] | Unset
    ) = UNSET
    layer: (
        Annotated[int, at_least(1, "Which mat or which frame, counted as in the cut list.")] | Unset
    ) = UNSET
    set_up: Annotated[Money, doc("Charged once, for any number of pieces.")] | Unset = UNSET
    slices: (
        Annotated[tuple[Slice, ...], doc("The parts of the quantity, with `marginal`.")] | Unset
    ) = UNSET
    level_factor: (
        Annotated[
            Number,
            doc(
                "The price level's factor on the price of one piece, after its minimum and step, "
                "and on the set-up."
            ),
        ]
        | Unset
    ) = UNSET


class Reduction(Record, kw_only=True):
    """A discount given by hand, or by a coupon.

    Each one applies to what those before it leave. Fees are never discounted.
    """

    reason: Annotated[str, doc("The reason.")]
    percent: Annotated[Number, doc("The percentage; absent for a fixed amount.")] | Unset = UNSET
    component: (
        Annotated[str, doc("The only component that it applies to; absent for all.")] | Unset
    ) = UNSET
    coupon: Annotated[str, doc("The coupon's code; absent for one by hand.")] | Unset = UNSET
    components: (
        Annotated[tuple[str, ...], doc("What a coupon is limited to; absent for all goods.")]
        | Unset
    ) = UNSET
    base: Annotated[Money, doc("The amount that it applies to.")]
    amount: Annotated[Money, doc("The reduction, half up.")]


class NoteShown(Record):
    """A note; one that is `inside` is on no customer's paper."""

    text: Annotated[str, doc("The note.")]
    inside: Annotated[bool, doc("True if it is for the shop alone.")]
    path: Annotated[str, doc("What it is about, as a JSON pointer (RFC 6901); empty for it all.")]


class ConditionShown(Record):
    """A finding about the condition at intake."""

    code: Annotated[str, doc("The shop's term.")]
    description: Annotated[str, doc("What the term means.")]
    words: Annotated[str, doc("Where and how much, in words; may be empty.")]
    photographs: Annotated[tuple[PhotographShown, ...], doc("Photographs of it.")]


class LineGroupShown(Record):
    """Lines of a job that a customer sees as one."""

    name: Annotated[str, doc("The group's name, or the description of a line that stands alone.")]
    amount: Annotated[Money, doc("The sum of its lines, before discounts.")]
    told: Annotated[tuple[str, ...], doc("What its lines are of, if the shop tells it.")]


_WORK = "The kind of work, if it is not new framing."
Groups = Annotated[
    tuple[LineGroupShown, ...],
    doc("The lines as the shop shows them to its customers; the amounts add up to the subtotal."),
]
Notes = Annotated[tuple[NoteShown, ...], doc("The notes on the job and its pieces.")]
Condition = Annotated[tuple[ConditionShown, ...], doc("The condition in which it came in.")]


class JobEstimate(Record):
    """One calculated job."""

    label: Annotated[str, doc("The label as sent.")]
    quantity: Annotated[int, at_least(1, "The number of identical framed pieces.")]
    sizes: Sizes
    cut_list: Annotated[tuple[Piece, ...], doc("Every piece to cut.")]
    materials: Annotated[
        tuple[Material, ...], doc("The material used, on every basis that it is sold by.")
    ]
    labour: Labour
    lines: Annotated[tuple[Line, ...], doc("The price, line by line.")]
    subtotal: Annotated[Money, doc("The sum of the lines.")]
    percent_off: Annotated[Number, doc("The quantity break, in percent.")]
    discount: Annotated[
        Money, doc("The reduction by the quantity break and the job's own discounts, half up.")
    ]
    advisories: Annotated[tuple[Advisory, ...], doc("The advisories.")]
    discounts: Annotated[tuple[Reduction, ...], doc("The job's own discounts, if any.")] | Unset = (
        UNSET
    )
    work: Annotated[str, growing(WORKS, _WORK)] | Unset = UNSET
    groups: Groups | Unset = UNSET
    notes: Notes | Unset = UNSET
    condition: Condition | Unset = UNSET
