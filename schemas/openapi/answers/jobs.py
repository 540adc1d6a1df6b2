"""The shapes of a calculated job: sizes, pieces, lines, bench time, advisories, totals."""

from __future__ import annotations

from typing import get_args

from schemas.openapi.shapes import (
    POINTER,
    Shape,
    growing,
    length,
    listed,
    money,
    number,
    one_of,
    or_null,
    ref,
    text,
    thing,
    truth,
    whole,
)
from service.domain.jobs.advice.advisory import Severity
from service.domain.jobs.mat import SHAPES
from service.domain.jobs.use import COMPONENTS
from service.domain.prices.lists import BASES
from service.domain.shop import DRIVERS

LINE_METHODS = ("rate", "whole", "marginal")
PARTS = ("mat", "glazing", "mount", "backing", "rail", "fillet")

CUT: dict[str, Shape] = {
    "Opening": thing(
        "A window in a mat, by its sight edge, measured from the left and top edges of the mat's "
        "own blank, seen from the front.",
        {
            "shape": one_of(SHAPES, "The window's shape."),
            "x": length("From the blank's left edge."),
            "y": length("From the blank's top edge."),
            "width": length("The window's width."),
            "height": length("The window's height."),
        },
        {
            "centre_x": length("Of an oval, or of an arch's half circle: its centre."),
            "centre_y": length("Its centre; for an arch this is the spring line."),
            "radius_x": length("Half of an oval's level axis, or the radius of an arch."),
            "radius_y": length("Half of an oval's upright axis, or the radius of an arch."),
        },
    ),
    "Piece": thing(
        "A row of the cut list. Boards and glazing have a width and a height, rails and fillets a "
        "length along their longest edge and a mitre.",
        {
            "part": growing(PARTS, "What it is in the package or the frame."),
            "item": text("The item's code."),
            "quantity": whole("How many to cut, for all of the job's pieces.", 1),
            "path": POINTER,
        },
        {
            "layer": whole("Which mat, from the glazing inwards, or which frame, from inside.", 1),
            "width": length("The blank's width."),
            "height": length("The blank's height."),
            "openings": listed(ref("Opening"), "The windows of a mat."),
            "grooves": listed(ref("Opening"), "The grooves round its windows, window by window."),
            "ruled_lines": listed(ref("Opening"), "The lines drawn round its windows, likewise."),
            "trim": length("How much smaller a side than the package a mat's blank is."),
            "side": growing(("top", "left", "each"), "Which sides of the frame or the window."),
            "length": length("Long point to long point."),
            "mitre_degrees": number("The angle of each mitre."),
        },
    ),
}

MONEY: dict[str, Shape] = {
    "Slice": thing(
        "One bracket's part of a quantity, at the bracket's rate.",
        {"quantity": number("How much of it."), "rate": number("At how much a unit.")},
    ),
    "Line": thing(
        "A priced line. One piece costs quantity × rate (`rate`), the rate alone (`whole`), or the "
        "sum of its slices (`marginal`); not less than the minimum; to the nearest rounding step; "
        "half up to the currency's minor unit. That is `each`; amount = each × pieces + set-up.",
        {
            "component": growing(COMPONENTS, "What is priced."),
            "item": {"type": ["string", "null"], "description": "The item's code; null for work."},
            "description": text("The item, in words."),
            "charge": text("What of the component is charged, in the price list's own word."),
            "basis": growing(BASES, "What the quantity counts."),
            "method": growing(LINE_METHODS, "How the amount comes from quantity and rate."),
            "quantity": number("What one piece is billed for."),
            "rate": ref("Rate", "Money a unit, or the amount of the bracket."),
            "each": money("One piece."),
            "pieces": whole("How many of them.", 1),
            "amount": money("The line."),
            "taxable": truth("Whether it has a tax category."),
            "tax_category": text("The shop's tax category; empty where there is none."),
            "rule": text("The rule of the price list."),
            "path": POINTER,
        },
        {
            "layer": whole("Which mat or which frame, counted as in the cut list.", 1),
            "minimum": number("The least that one piece costs."),
            "rounding_step": number("The step that the price of one piece is rounded to."),
            "set_up": money("Once, however many pieces."),
            "slices": listed(ref("Slice"), "The parts of a quantity, with `marginal`."),
        },
    ),
    "TaxLine": thing(
        "One rate's part of the tax.",
        {
            "name": text("The tax, as the shop calls it."),
            "percent": number("The rate."),
            "base": money("What it is laid on."),
            "amount": money("Its part; the parts add up to the tax."),
        },
    ),
    "Totals": thing(
        "Subtotal − discount + tax = total; where prices include the tax, subtotal − discount.",
        {
            "subtotal": money("All lines of all jobs."),
            "discount": money("What quantity breaks and discounts take off."),
            "tax": or_null("Money", "The tax; null where the rate of a category is not known."),
            "taxes": listed(ref("TaxLine"), "The tax by rate."),
            "tax_included": truth("Whether the prices include the tax."),
            "tax_unknown": listed(text("A category."), "Tax categories without a known rate."),
            "total": money("What the customer pays; without a tax that is not known."),
        },
        {
            "discounts": listed(ref("Reduction"), "The document's own discounts, where given."),
            "tax_place": text("Where the tax is due, where a place was named."),
            "tax_exempt": thing(
                "Why the customer pays no tax, where that is so.",
                {
                    "reason": text("As it was given."),
                    "tax_taken_out": money("The tax that the prices held, which is not paid."),
                },
            ),
        },
    ),
    "Reduction": thing(
        "A discount that was given by hand. Each is laid on what those before it leave; fees are "
        "never discounted.",
        {
            "reason": text("Why."),
            "base": money("What it is laid on."),
            "amount": money("What it takes off, half up."),
        },
        {
            "percent": number("The percent, where it is one; else it is an amount."),
            "component": text("The component whose lines alone it is laid on."),
        },
    ),
}

JOB: dict[str, Shape] = {
    "Sizes": thing(
        "The sizes of a job, from the art outwards; null for what it does not have.",
        {
            "shows": ref(
                "Size",
                "What shows of the art (of the first, where there are several), with the "
                "margin of floated art; without a mat, what the frame leaves of it.",
            ),
            "opening": or_null("Size", "The innermost mat's first window, by its sight edge."),
            "border": or_null("Sides", "The top mat's border, to its own sight edge."),
            "border_showing": or_null("Sides", "What the frame leaves to be seen of the border."),
            "package": or_null("Size", "Everything that goes into the frame, cut to one size."),
            "rabbet": or_null("Size", "The innermost frame's rabbet opening."),
            "frame_sight": or_null("Size", "The innermost frame's sight opening."),
            "outside": ref("Size", "The outermost frame's outside."),
            "stack_depth": length("How deep the package is, from the glazing to the backing."),
            "united_inches": number("Width plus height of the package, in inches."),
            "square_feet": number("The package's area."),
            "weight_kg": number("About what one framed piece weighs."),
        },
        {
            "float_margin_showing": length("What is seen of the margin round floated art."),
            "art_places": listed(
                ref("ArtPlace"), "Where floated art lies, in the order of its windows."
            ),
            "hanging": ref("HangingSizes", "Where it hangs, with hangers or a wire."),
        },
    ),
    "ArtPlace": thing(
        "The place of floated art on its mount board, from the board's left and top edges, seen "
        "from the front.",
        {
            "x": length("The art's left edge."),
            "y": length("The art's top edge."),
            "width": length("The art's width."),
            "height": length("The art's height."),
            "margins": ref("Sides", "From each of its edges to the board's edge on that side."),
            "centre_x": length("The upright centre line."),
            "centre_y": length("The level centre line."),
        },
    ),
    "HangingSizes": thing(
        "The rings and the wire on the back of the outermost frame.",
        {
            "ring_drop": length("From the frame's upper edge down to the rings."),
            "ring_inset": length("From each upright edge inwards to its ring."),
            "span": length("From ring to ring."),
            "rise": length("How far the middle of the wire stands above the rings; 0 without one."),
            "wire": length("The wire to cut, with the ends for both knots; 0 without one."),
        },
    ),
    "Material": thing(
        "What all pieces of the job use of an item, on one basis.",
        {
            "item": text("The item's code."),
            "basis": growing(BASES, "What the quantity counts."),
            "quantity": number("As the shop bills it."),
        },
    ),
    "Operation": thing(
        "A bench operation: minutes = set_up_minutes + unit_minutes × units × quantity of the job.",
        {
            "operation": text("The operation's code in the shop's labour standard."),
            "description": text("What is done."),
            "driver": growing(DRIVERS, "What its units count."),
            "units": number("How many, for one piece."),
            "set_up_minutes": number("Once for the whole job."),
            "unit_minutes": number("For each unit."),
            "minutes": number("In all."),
        },
        {"multiplied_by": number("What multipliers made of both its minutes, where any did.")},
    ),
    "Labour": thing(
        "The time at the bench.",
        {
            "minutes": number("The sum of the operations."),
            "operations": listed(ref("Operation"), "One by one."),
        },
    ),
    "Advisory": thing(
        "What a good framer would say over the counter. A `stop` refuses to make a ticket, never a "
        "quote.",
        {
            "code": text("A stable word for programs."),
            "severity": one_of(get_args(Severity), "How much it matters."),
            "message": text("For people."),
            "path": POINTER,
        },
    ),
    "JobEstimate": thing(
        "One job, worked out.",
        {
            "label": text("As it was given."),
            "quantity": whole("How many alike.", 1),
            "sizes": ref("Sizes"),
            "cut_list": listed(ref("Piece"), "Every piece to cut."),
            "materials": listed(ref("Material"), "What is used, on every basis it is sold by."),
            "labour": ref("Labour"),
            "lines": listed(ref("Line"), "The price, line by line."),
            "subtotal": money("The sum of the lines."),
            "percent_off": number("The quantity break, in percent."),
            "discount": money("What it and the job's own discounts take off, half up."),
            "advisories": listed(ref("Advisory"), "What there is to say."),
        },
        {"discounts": listed(ref("Reduction"), "The job's own discounts, where given.")},
    ),
}
