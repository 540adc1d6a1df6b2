"""The records of a calculated job: sizes, cut list, materials, bench time, lines, discounts."""

from __future__ import annotations

from typing import Annotated

from schemas.wire.record import UNSET, Record, Unset, at_least, growing, said
from schemas.wire.values import Advisory, Length, Money, Number, Pointer, Rate, Sides, Size
from service.domain.jobs.mat import Shape
from service.domain.jobs.use import COMPONENTS
from service.domain.prices.lists import BASES
from service.domain.shop import DRIVERS

METHODS = ("rate", "whole", "marginal")
PARTS = ("mat", "glazing", "mount", "backing", "rail", "fillet")
RAILS = ("top", "left", "each")
Basis = Annotated[str, growing(BASES, "What the quantity counts.")]
Item = Annotated[str, said("The item's code.")]


class Opening(Record):
    """A window in a mat, by its sight edge.

    It is measured from the left and top edges of the mat's own blank, seen from the front.
    """

    shape: Annotated[Shape, said("The window's shape.")]
    x: Annotated[Length, said("From the blank's left edge.")]
    y: Annotated[Length, said("From the blank's top edge.")]
    width: Annotated[Length, said("The window's width.")]
    height: Annotated[Length, said("The window's height.")]
    centre_x: (
        Annotated[Length, said("The centre of an oval, or of an arch's half circle.")] | Unset
    ) = UNSET
    centre_y: (
        Annotated[Length, said("The centre; for an arch this is the spring line.")] | Unset
    ) = UNSET
    radius_x: (
        Annotated[Length, said("Half of an oval's horizontal axis, or the radius of an arch.")]
        | Unset
    ) = UNSET
    radius_y: (
        Annotated[Length, said("Half of an oval's vertical axis, or the radius of an arch.")]
        | Unset
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
    width: Annotated[Length, said("The blank's width.")] | Unset = UNSET
    height: Annotated[Length, said("The blank's height.")] | Unset = UNSET
    openings: Annotated[tuple[Opening, ...], said("The windows of a mat.")] | Unset = UNSET
    trim: (
        Annotated[Length, said("How much smaller the mat's blank is than the package, per side.")]
        | Unset
    ) = UNSET
    grooves: (
        Annotated[tuple[Opening, ...], said("The grooves round its windows, by window.")] | Unset
    ) = UNSET
    ruled_lines: (
        Annotated[tuple[Opening, ...], said("The lines drawn round its windows, by window.")]
        | Unset
    ) = UNSET
    side: Annotated[str, growing(RAILS, "Which sides of the frame or the window.")] | Unset = UNSET
    length: Annotated[Length, said("Long point to long point.")] | Unset = UNSET
    mitre_degrees: Annotated[Number, said("The angle of each mitre.")] | Unset = UNSET


class ArtPlace(Record):
    """The place of floated art on its mount board.

    It is measured from the board's left and top edges, seen from the front.
    """

    x: Annotated[Length, said("The art's left edge.")]
    y: Annotated[Length, said("The art's top edge.")]
    width: Annotated[Length, said("The art's width.")]
    height: Annotated[Length, said("The art's height.")]
    margins: Annotated[Sides, said("From each of its edges to the board's edge on that side.")]
    centre_x: Annotated[Length, said("The vertical centre line.")]
    centre_y: Annotated[Length, said("The horizontal centre line.")]


class HangingSizes(Record):
    """The rings and the wire on the back of the outermost frame."""

    ring_drop: Annotated[Length, said("From the frame's upper edge down to the rings.")]
    ring_inset: Annotated[Length, said("From each vertical edge inwards to its ring.")]
    span: Annotated[Length, said("From ring to ring.")]
    rise: Annotated[
        Length, said("How far the middle of the wire stands above the rings; 0 without a wire.")
    ]
    wire: Annotated[
        Length, said("The wire to cut, with the ends for both knots; 0 without a wire.")
    ]


class Sizes(Record):
    """The sizes of a job, from the artwork outwards; null if the job has no such part."""

    shows: Annotated[
        Size,
        said(
            "The visible part of the artwork (of the first, if several), with the margin of "
            "floated art; without a mat, what the frame leaves of it."
        ),
    ]
    opening: Annotated[Size | None, said("The innermost mat's first window, by its sight edge.")]
    border: Annotated[Sides | None, said("The top mat's border, to its own sight edge.")]
    border_showing: Annotated[
        Sides | None, said("The part of the border that the frame leaves visible.")
    ]
    package: Annotated[Size | None, said("Everything that goes into the frame, cut to one size.")]
    rabbet: Annotated[Size | None, said("The innermost frame's rabbet opening.")]
    frame_sight: Annotated[Size | None, said("The innermost frame's sight opening.")]
    outside: Annotated[Size, said("The outermost frame's outside.")]
    stack_depth: Annotated[Length, said("The package's depth, from the glazing to the backing.")]
    united_inches: Annotated[Number, said("Width plus height of the package, in inches.")]
    square_feet: Annotated[Number, said("The package's area.")]
    weight_kg: Annotated[Number, said("The estimated weight of one framed piece.")]
    float_margin_showing: (
        Annotated[Length, said("The visible part of the margin round floated art.")] | Unset
    ) = UNSET
    art_places: (
        Annotated[
            tuple[ArtPlace, ...], said("Where floated art lies, in the order of its windows.")
        ]
        | Unset
    ) = UNSET
    hanging: Annotated[HangingSizes, said("Where it hangs, with hangers or a wire.")] | Unset = (
        UNSET
    )


class Material(Record):
    """What all pieces of the job use of an item, on one basis."""

    item: Item
    basis: Basis
    quantity: Annotated[Number, said("The quantity that the shop bills.")]


class Operation(Record):
    """A bench operation.

    minutes = set_up_minutes + unit_minutes × units × quantity of the job.
    """

    operation: Annotated[str, said("The operation's code in the shop's labour standard.")]
    description: Annotated[str, said("What is done.")]
    driver: Annotated[str, growing(DRIVERS, "What its units count.")]
    units: Annotated[Number, said("The number of units for one piece.")]
    set_up_minutes: Annotated[Number, said("Once for the whole job.")]
    unit_minutes: Annotated[Number, said("For each unit.")]
    minutes: Annotated[Number, said("The total.")]
    multiplied_by: (
        Annotated[Number, said("The factor by which multipliers changed both its minutes.")] | Unset
    ) = UNSET


class Labour(Record):
    """The time at the bench."""

    minutes: Annotated[Number, said("The sum of the operations.")]
    operations: Annotated[tuple[Operation, ...], said("The operations.")]


class Slice(Record):
    """One bracket's part of a quantity, at the bracket's rate."""

    quantity: Annotated[Number, said("The quantity in this bracket.")]
    rate: Annotated[Number, said("The rate per unit.")]


class Line(Record):
    """A priced line.

    One piece costs quantity × rate (`rate`), the rate alone (`whole`), or the sum of its slices
    (`marginal`); not less than the minimum; to the nearest rounding step; half up to the
    currency's minor unit. That is `each`; amount = each × pieces + set-up.
    """

    component: Annotated[str, growing(COMPONENTS, "What is priced.")]
    item: Annotated[str | None, said("The item's code; null for work.")]
    description: Annotated[str, said("The item or the work, in words.")]
    charge: Annotated[str, said("The charge, by the price list's own name.")]
    basis: Basis
    method: Annotated[str, growing(METHODS, "How the amount follows from quantity and rate.")]
    quantity: Annotated[Number, said("The quantity billed for one piece.")]
    rate: Annotated[Rate, said("Money per unit, or the amount of the bracket.")]
    each: Annotated[Money, said("The price of one piece.")]
    pieces: Annotated[int, at_least(1, "The number of pieces.")]
    amount: Annotated[Money, said("The amount of the line.")]
    taxable: Annotated[bool, said("True if it has a tax category.")]
    tax_category: Annotated[str, said("The shop's tax category; empty if it has none.")]
    rule: Annotated[str, said("The rule of the price list.")]
    path: Pointer
    minimum: Annotated[Number, said("The lowest price of one piece.")] | Unset = UNSET
    rounding_step: (
        Annotated[Number, said("The step to which the price of one piece is rounded.")] | Unset
    ) = UNSET
    layer: (
        Annotated[int, at_least(1, "Which mat or which frame, counted as in the cut list.")] | Unset
    ) = UNSET
    set_up: Annotated[Money, said("Charged once, for any number of pieces.")] | Unset = UNSET
    slices: (
        Annotated[tuple[Slice, ...], said("The parts of the quantity, with `marginal`.")] | Unset
    ) = UNSET


class Reduction(Record, kw_only=True):
    """A discount given by hand.

    Each one applies to what those before it leave. Fees are never discounted.
    """

    reason: Annotated[str, said("The reason.")]
    percent: Annotated[Number, said("The percentage; absent for a fixed amount.")] | Unset = UNSET
    component: (
        Annotated[str, said("The only component that it applies to; absent for all.")] | Unset
    ) = UNSET
    base: Annotated[Money, said("The amount that it applies to.")]
    amount: Annotated[Money, said("The reduction, half up.")]


class JobEstimate(Record):
    """One calculated job."""

    label: Annotated[str, said("The label as sent.")]
    quantity: Annotated[int, at_least(1, "The number of identical framed pieces.")]
    sizes: Sizes
    cut_list: Annotated[tuple[Piece, ...], said("Every piece to cut.")]
    materials: Annotated[
        tuple[Material, ...], said("The material used, on every basis that it is sold by.")
    ]
    labour: Labour
    lines: Annotated[tuple[Line, ...], said("The price, line by line.")]
    subtotal: Annotated[Money, said("The sum of the lines.")]
    percent_off: Annotated[Number, said("The quantity break, in percent.")]
    discount: Annotated[
        Money, said("The reduction by the quantity break and the job's own discounts, half up.")
    ]
    advisories: Annotated[tuple[Advisory, ...], said("The advisories.")]
    discounts: (
        Annotated[tuple[Reduction, ...], said("The job's own discounts, if any.")] | Unset
    ) = UNSET
