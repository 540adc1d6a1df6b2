"""The shapes of bench tickets, as JSON Schema."""

from __future__ import annotations

from schemas.openapi.shapes import (
    UNTIL,
    Shape,
    growing,
    length,
    listed,
    number,
    one_of,
    or_null,
    ref,
    text,
    thing,
    truth,
    whole,
)
from service.domain.bench.materials import MATERIALS, WAYS
from service.domain.jobs.mat import SHAPES
from service.domain.tickets.progress import PIECE_LIFE, TICKET_LIFE

SIDES = ("top", "right", "bottom", "left")
CUT_BY = ("guide", "line", "straightedge")
SIZED_BY = ("stop", "mark", "straightedge", "saw", "ordered")
ACROSS = ("width", "height")
DAY_OR_NULL: Shape = {"type": ["string", "null"], "format": "date"}
WHERE = text("Where in the job it comes from: a JSON pointer (RFC 6901).")

CUTS: dict[str, Shape] = {
    "CutEnd": thing(
        "Where a cut starts or stops: at the line so far from this edge.",
        {
            "side": one_of(SIDES, "The edge, named as the board lies."),
            "distance": length("From that edge."),
        },
    ),
    "Cut": thing(
        "One straight cut of a window. Sides are named as the board lies on the bench: face down, "
        "left and right have changed places against the front.",
        {
            "window": whole("Which window of the mat.", 1),
            "side": one_of(SIDES, "The window's side, as the board lies."),
            "front_side": one_of(SIDES, "The same side, seen from the front."),
            "by": growing(CUT_BY, "By the mat guide, to a drawn line, or along a straightedge."),
            "setting": length("The guide's setting, or the line's distance from the edge."),
            "start": ref("CutEnd", "Where the cut starts."),
            "stop": ref("CutEnd", "Where it stops."),
        },
    ),
    "SizeCut": thing(
        "One cut that brings a sheet to its width or its height.",
        {
            "piece": whole("The piece.", 1),
            "across": one_of(ACROSS, "Which of the two."),
            "length": length("To what."),
            "by": growing(
                SIZED_BY,
                "By the arm's stop, to a mark, along a straightedge, by the saw, or it comes cut.",
            ),
        },
    ),
    "WindowPlace": thing(
        "Where a window lies in its blank, from the left and top edges.",
        {
            "x": length("From the left edge."),
            "y": length("From the top edge."),
            "width": length("The window's width."),
            "height": length("The window's height."),
        },
    ),
    "TicketWindow": thing(
        "A window of a mat, as the bench cuts it.",
        {
            "window": whole("Its number in the mat.", 1),
            "shape": one_of(SHAPES, "Its shape."),
            "front": ref("WindowPlace", "Seen from the front."),
            "as_it_lies": ref("WindowPlace", "As the board lies on the bench."),
            "cuts": listed(ref("Cut"), "Its straight cuts; none where another cutter is needed."),
        },
        {"other_cutter": text("The kind of cutter that it needs.")},
    ),
}
PIECES: dict[str, Shape] = {
    "TicketPiece": thing(
        "One kind of piece. Boards and glazing have a width and a height, mats their windows too, "
        "rails and fillets a length along their longest edge.",
        {
            "piece": whole("Its number on the ticket.", 1),
            "part": growing(
                ("mat", "glazing", "mount", "backing", "rail", "fillet"), "What it is."
            ),
            "name": text("What it is called on the ticket."),
            "item": text("The item's code."),
            "description": text("The item."),
            "quantity": whole("How many, for all of the job's pieces.", 1),
            "path": WHERE,
            "notes": listed(text("A note."), "What the bench must know, such as a way round."),
        },
        {
            "width": length("The blank's width."),
            "height": length("The blank's height."),
            "thickness": length("Its thickness."),
            "grain": truth("Whether its grain forbids turning it on the sheet."),
            "sized_by": thing(
                "How its two size cuts are made.",
                {across: growing(SIZED_BY, f"For its {across}.") for across in ACROSS},
            ),
            "layer": whole("Which mat, or which frame; 0 where it has no layer."),
            "trim": length("How much smaller a side than the package an under mat's blank is."),
            "bevel": growing(("standard", "reverse", "straight"), "The windows' bevel."),
            "lies": one_of(("face_down", "face_up"), "How it lies while its windows are cut."),
            "settings_from": one_of(
                ("own", "top_mat"), "From whose edges settings run: its own, or the top mat's."
            ),
            "pencil_lines": whole("How many lines to draw."),
            "windows": listed(ref("TicketWindow"), "Its windows."),
            "side": growing(("top", "left", "each"), "Which sides of the frame or window."),
            "length": length("Long point to long point."),
            "rabbet_length": length("A rail's length along its rabbet."),
            "inner_length": length("A fillet's length along its inner edge."),
            "mitre_degrees": number("The angle of each mitre."),
            "supply": growing(("length", "chop", "join"), "How the moulding comes."),
            "material": growing(tuple(MATERIALS), "What the bench works it as."),
            "way": growing(tuple(WAYS), "How this bench cuts it; `order`: it comes cut to size."),
            "leaves": text("What the cut leaves, such as dust; may be empty."),
        },
    ),
    "SetUpChange": thing(
        "One set-up that changes before a step.",
        {
            "what": text("What changes: slip_sheet, guide, head, depth, arm_stop and so on."),
            "to": {
                "anyOf": [ref("Length"), {"type": "string"}],
                "description": "To what: a length, or a word.",
            },
        },
    ),
    "StepPart": thing(
        "What is done at one set-up of a step. Its lines are the printed instructions, one a line.",
        {
            "changes": listed(ref("SetUpChange"), "What to set first; nothing else changes."),
            "lines": listed(text("An instruction."), "What to do then, in order."),
        },
    ),
    "StepOperation": thing(
        "The part of one bench operation that falls on a step.",
        {"operation": text("Its code."), "minutes": number("Its minutes here.")},
    ),
    "Step": thing(
        "One step, in the order that the work needs and that changes set-ups least.",
        {
            "step": whole("Its number.", 1),
            "work": text("What kind of work it is."),
            "machine": growing(("cutter", "saw", "hand"), "Where it is done."),
            "text": text("What to do, but for the cuts of windows."),
            "pieces": listed(whole("A piece.", 1), "The pieces it is about."),
            "changes": listed(
                ref("SetUpChange"),
                "What to set first; the guide and the stops may be set again by a later part.",
            ),
            "size_cuts": listed(ref("SizeCut"), "Cuts to size."),
            "cuts": listed(ref("Cut"), "Cuts of windows."),
            "cautions": listed(text("A code of `cautions`."), "What to look out for."),
            "minutes": number("Its minutes."),
            "operations": listed(ref("StepOperation"), "The operations behind its minutes."),
        },
        {
            "parts": listed(
                ref("StepPart"), "The step line by line; a ticket of an earlier release has none."
            ),
        },
    ),
}
PARTS: dict[str, Shape] = {
    "TicketSizes": thing(
        "The sizes of one framed piece; null for what it does not have.",
        {
            "art": listed(ref("Size"), "The artwork, or those of each window."),
            "shows": listed(ref("Size"), "What shows of each."),
            "package": or_null("Size", "The package."),
            "allowance": length("How much bigger the rabbet is, in total."),
            "gap": length("Round a canvas in a floater."),
            "rabbet": or_null("Size", "The innermost frame's rabbet."),
            "frame_sight": or_null("Size", "What the innermost frame shows."),
            "outside": or_null("Size", "The outermost frame, or the package without one."),
            "stack_depth": length("Glazing to backing."),
            "united_inches": {
                "type": ["string", "null"],
                "description": "Width plus height of the package, in inches.",
            },
        },
    ),
    "TicketFrame": thing(
        "One frame, the innermost first.",
        {
            "item": text("The moulding."),
            "sides": whole("How many sides.", 3),
            "holds": ref("Size", "What it holds."),
            "rabbet": ref("Size", "Its rabbet."),
            "sight": ref("Size", "What it shows."),
            "outside": ref("Size", "Its outside."),
            "face_width": length("The moulding's face."),
            "rabbet_width": length("The lip."),
            "rabbet_depth": length("The depth of the rabbet."),
        },
    ),
    "PackageLayer": thing(
        "One layer of the package, from the glazing backwards.",
        {
            "part": text("What it is."),
            "name": text("What it is called."),
            "thickness": length("Its thickness."),
        },
    ),
    "TicketHardware": thing(
        "Hardware, with the weight and the factor that picked it.",
        {
            "item": text("Its code."),
            "description": text("What it is."),
            "role": text("What it is for."),
            "quantity": number("How much."),
            "rating_kg": number("What it is rated for."),
            "load_kg": number("Weight times factor."),
            "carries": truth("Whether the rating is enough."),
        },
        {
            "unit": growing(("piece", "linear_foot"), "Of what; older tickets lack it."),
        },
    ),
    "TicketSupply": thing(
        "Supplies for all of the job's pieces.",
        {
            "item": text("Its code."),
            "description": text("What it is."),
            "quantity": number("How much."),
            "unit": growing(("piece", "linear_foot", "square_foot"), "Of what."),
        },
    ),
    "Lot": thing(
        "So many pieces of one kind that are in one state. The lots of a kind that are not spoiled "
        "always add up to its quantity.",
        {
            "piece": whole("Its number, as it stands in addresses.", 1),
            "like": whole("Which of `pieces` it is cut as.", 1),
            "quantity": whole("How many.", 1),
            "status": growing(PIECE_LIFE.states, "How far they are."),
        },
        {
            "reason": text("Why they are spoiled."),
            "recut_of": whole("The spoiled lot that it makes good.", 1),
        },
    ),
}
HEAD: dict[str, Shape] = {
    "id": {"type": "string", "format": "uuid", "description": "Its identifier."},
    "number": {
        "type": "string",
        "pattern": "^T[0-9]{6,}$",
        "description": "Its number, to be read out and printed; the last digit is a check digit.",
        "examples": ["T100014"],
    },
    "status": growing(TICKET_LIFE.states, "How far the bench is; withdrawn with its quote."),
    "quote": ref("TicketQuote"),
    "reference": text("The quote's reference."),
    "promised": {**DAY_OR_NULL, "description": "The day that was promised."},
    "created_at": {"type": "string", "format": "date-time", "description": "When it was made."},
    "updated_at": {
        "type": "string",
        "format": "date-time",
        "description": "When the bench last pressed something.",
    },
}
TICKETS: dict[str, Shape] = {
    **CUTS,
    **PIECES,
    **PARTS,
    "TicketQuote": thing(
        "Whose ticket it is.",
        {
            "id": {"type": "string", "format": "uuid", "description": "The quote's identifier."},
            "number": text("The quote's number."),
            "job": whole("Which of its jobs, from 1.", 1),
            "jobs": whole("How many it has.", 1),
        },
    ),
    "Ticket": thing(
        "A bench ticket. All but its head and `progress` was written once, when its quote was "
        "accepted, and is never worked out again. It has no price and no customer in it.",
        {
            **HEAD,
            "progress": listed(ref("Lot"), "How far each piece is."),
            "label": text("What the job is called."),
            "quantity": whole("How many framed pieces.", 1),
            "presentation": text("How the art is shown."),
            "ruler": thing(
                "The ruler that its marks are of.",
                {
                    "unit": one_of(("in", "mm", "cm"), "Its unit."),
                    "step": length("From mark to mark."),
                },
            ),
            "stops": truth("Whether the cutter's stops stand in for pencil lines."),
            "sizes": ref("TicketSizes"),
            "frames": listed(ref("TicketFrame"), "The frames."),
            "package": listed(ref("PackageLayer"), "The layers of the package."),
            "pieces": listed(ref("TicketPiece"), "What is to be cut."),
            "steps": listed(ref("Step"), "What is to be done, in order."),
            "cautions": {
                "type": "object",
                "additionalProperties": {"type": "string"},
                "description": "The cautions of its steps, spelt out by their codes.",
            },
            "set_ups": thing(
                "How often the set-up changes.",
                {
                    "changes": whole("Over the whole ticket."),
                    "at_least": whole("No order of the steps needs fewer."),
                    "proved": truth("Whether this is that least number."),
                },
            ),
            "weight": thing(
                "The weight of one framed piece, without the art.",
                {
                    "kg": number("Kilograms."),
                    "safety_factor": number("What it is multiplied by."),
                    "load_kg": number("What hardware must be rated for."),
                },
            ),
            "hardware": listed(ref("TicketHardware"), "What it hangs by."),
            "supplies": listed(ref("TicketSupply"), "What else is used."),
            "minutes": number("All of the bench's minutes; those of the quote."),
            "advisories": listed(ref("Advisory"), "What there is to mind."),
        },
    ),
    "TicketRow": thing(
        "A ticket as a list shows it.",
        {
            **HEAD,
            "label": text("What the job is called."),
            "quantity": whole("How many framed pieces.", 1),
            "minutes": number("All of the bench's minutes."),
        },
    ),
    "TicketList": thing(
        "A page of a list, newest first.",
        {
            "items": listed(ref("TicketRow"), "The page."),
            "next": {
                "type": ["string", "null"],
                "description": "The cursor of the next page; null on the last one.",
            },
            "until": UNTIL,
        },
    ),
}
