"""The meaning of every setting of a shop and field of a labour standard, for the contract."""

from __future__ import annotations

from service.domain.shop import DRIVERS

UNITS = "The unit of bare lengths. Default: that of the ruler."
WORDS: dict[str, dict[str, str]] = {
    "Ruler": {
        "unit": "The unit of the ruler.",
        "step": "The step between two marks; lengths are shown at the nearest one.",
    },
    "Clearance": {
        "over": "For packages whose longer side is over this…",
        "allowance": "…plastics get this allowance, in total per dimension.",
    },
    "Sizing": {
        "allowance": "How much bigger the rabbet is than the package, in total per dimension.",
        "plastic_clearance": "Larger allowances for plastics, which grow with warmth.",
        "overlap": "How far a mat covers the art, per side, where a job does not say.",
        "reveal": "How much of an under mat shows, where a job does not say.",
        "float_margin": "What shows of the mount round floated art, where a job does not say.",
        "gap": "Between a canvas and its floater, where a job does not say.",
        "under_mat_trim": "How much smaller an under mat's blank is, per side.",
        "smallest_bar": "The narrowest bar between two windows that is not warned of.",
        "room_behind": "What is kept free behind the stack, for points and dust cover.",
        "spacer": "The depth of a spacer where one is asked for.",
        "object_clearance": "What is kept free between an object and the glazing.",
    },
    "Bench": {
        "squaring_arm": "The reach of the squaring arm.",
        "rail": "The length of the guide rail.",
        "widest_guide": "The widest setting of the mat guide.",
        "thickest_board": "The thickest board that the cutter takes.",
        "thickest_bevel": "The thickest board that it cuts at an angle.",
        "standard_head": "The thickness that the standard cutting head allows for.",
        "stops": "Whether it has stops for repeats.",
        "stops_from_quantity": "From how many alike on the stops are set.",
        "acrylic_passes": "How often acrylic is scored before it breaks.",
        "thickest_snap": "The thickest acrylic that is scored and snapped; thicker is sawn.",
        "saw_kerf": "What the saw's blade takes.",
        "stick_end_trim": "What is cut off the end of a stick.",
        "offcut_short": "A sheet's offcut goes back on the rack from this by…",
        "offcut_long": "…this on.",
        "offcut_stick": "A stick's offcut goes back on the rack from this length on.",
        "stock_on_hand": "Whether a cutting plan counts what the shop has at its `cost` or as "
        "`free`.",
        "panel_kerf": "What a cut of the panel saw takes of a sheet.",
        "table_kerf": "What a cut of the cutting table takes.",
        "panel_reach": "The longest cut of the panel saw.",
        "table_reach": "The longest cut of the cutting table.",
        "table_passes": "How often the knife passes through board that is cut at the table.",
        "ways": "Materials that this shop does not cut in the usual way.",
    },
    "MaterialWay": {
        "material": "The material.",
        "cut_by": "How this shop cuts it; `order`: it comes cut to size.",
    },
    "Billing": {
        "united_inches": "`sum`: width plus height, up to a whole inch. `sides`: each side up "
        "first.",
        "square_foot_step": "Square feet are billed up to a multiple of this.",
        "square_foot_minimum": "The least that is billed.",
        "linear_foot_step": "Feet of moulding are billed up to a multiple of this.",
        "linear_foot_minimum": "The least that is billed.",
        "perimeter_foot_step": "Feet of perimeter are billed up to a multiple of this.",
        "minute_step": "Minutes are billed up to a multiple of this.",
        "sheet_shares": "The parts of a stock sheet that are sold, the smallest first; the last "
        "is the whole.",
        "sheet_share_by": "`area`: a piece's part of its sheet's area. `yield`: one over the "
        "pieces of its size that straight cuts give from the sheet. Either way up to the next "
        "share.",
    },
    "Slender": {
        "united_inches": "From so many united inches on…",
        "face_width": "…a face narrower than this is warned of.",
    },
    "Safety": {
        "glass_largest": "The largest lite of glass; beyond it acrylic is suggested.",
        "hardware_factor": "What the weight is multiplied by before hardware is picked.",
        "heavy_kg": "From this weight on a picture is called heavy.",
        "installer_kg": "From this weight on an installer should hang it.",
        "two_person_united_inches": "From this size on it takes two people to carry.",
        "slender_face": "Faces that are thin for the size.",
        "slender_weight_kg": "From this weight on a thin face is warned of.",
    },
    "Use": {
        "item": "The item that is used; empty where `role` asks for hardware by weight.",
        "role": "The hardware that is picked by weight; empty where `item` names one.",
        "measure": "`piece`, or the perimeter, area or width of what it covers; `wire_foot`: the "
        "length of a hanging wire.",
        "covers": "What it covers: each `art` (one for every opening), the `package`, the "
        "`rabbet`, or the `outside` of the framed piece. Empty: each art for a mounting, the "
        "outside for a finishing.",
        "per_unit": "How much of it for each.",
    },
    "Method": {
        "code": "What jobs call it.",
        "description": "What it is.",
        "driver": "The driver of bench time that it counts for; empty for none.",
        "uses": "What it uses.",
        "reversible": "Whether it can be undone without harm; originals want no other.",
        "stage": "When it is done: before the package is closed (`mount`), round its edge (`seal`)"
        ", in the rabbet (`rabbet`), to hold the contents in the frame (`fit`), on the back "
        "(`cover`), to hang it (`hang`), or `last`. Empty: its driver decides.",
        "wait": "What has to end before the next stage, such as paste that dries.",
    },
    "FrameUse": {
        "item": "The item that is used.",
        "measure": "`frame`: once a frame. `corner`: for each corner, unless the frame comes "
        "joined. `side_foot`: for each foot begun of each side of what the frame holds.",
        "per_unit": "How much of it for each. Default 1.",
        "least": "With `side_foot`: at least so many for each side. Default 0.",
    },
    "Joining": {
        "material": "The material of the moulding, as the catalogue names it.",
        "uses": "What such a frame takes beside its moulding.",
    },
    "TaxRate": {
        "category": "The category of price rules that it is laid on.",
        "name": "What it is called on quotes.",
        "percent": "The rate, in percent.",
        "place": "The place that it is of; empty for the shop's own.",
    },
    "DiscountLimit": {
        "scope": "Keys with this scope…",
        "percent": "…may give so many percent off the goods, all discounts by hand together.",
    },
    "Taxation": {
        "included": "Whether prices hold the tax, or it comes on top.",
        "rounded": "Half up, once an invoice or once a line.",
        "rates": "The rates; several of one category add up.",
        "untaxed": "Categories that bear no tax. One with neither a rate nor a place here makes "
        "the tax unknown, which is said and never guessed.",
    },
    "Ordering": {
        "deposit_percent": "What is due when a quote is accepted, in percent of its total.",
        "working_minutes": "The bench's minutes on each day of the week, from Monday on.",
        "closed_days": "Days on which nobody works.",
        "lead_days": "Working days that stock takes to come.",
    },
    "Hanging": {
        "ring_parts": "The rings are one of so many parts of the outside height down.",
        "ring_inset": "From the frame's upright edges inwards to the rings.",
        "wire_parts": "A wire rises in the middle by one of so many parts of the span between the "
        "rings.",
        "wire_below": "The top of the wire stays at least this far below the frame's upper edge.",
        "wire_knot": "Wire for the knot, at each end.",
        "wire_step": "A wire is cut to a multiple of this, rounded up; 0 for no rounding.",
    },
    "Shop": {
        "units": UNITS,
        "code": "The shop's code, for good.",
        "name": "What it is called.",
        "currency": "The currency that it reckons its costs in (ISO 4217).",
        "time_zone": "The IANA time zone in which its days begin and end.",
        "ruler": "What the bench reads lengths off.",
        "quote_valid_days": "How many days a quote holds.",
        "discount_limits": "How much keys may give by hand. A scope that is not named gives "
        "nothing; admin gives what it likes.",
        "sizing": "How sizes follow from the art.",
        "bench": "The reach of the board cutter, and the saw's figures.",
        "billing": "How exact quantities become billed ones.",
        "safety": "Where warnings start.",
        "taxation": "How tax is laid on.",
        "ordering": "Deposits, and when work can be promised.",
        "hanging": "Where rings sit behind a frame, and how long a wire is.",
        "mounting": "The ways of mounting that jobs may ask for.",
        "finishing": "The finishings that jobs may ask for.",
        "joining": "What frames take beside moulding, by its material: corner angles, springs.",
    },
    "BenchOperation": {
        "code": "The shop's name for it.",
        "description": "What is done.",
        "driver": "What it is counted by. " + "; ".join(f"`{n}`: {s}" for n, s in DRIVERS.items()),
        "unit_minutes": "Minutes for each unit of the driver.",
        "set_up_minutes": "Minutes once a batch of the same job.",
    },
    "Hour": {
        "wages": "Wages over a period, in the shop's currency.",
        "overhead": "Overhead over the same period.",
        "productive_hours": "Hours of that period that are worked on jobs.",
    },
    "Multiplier": {
        "code": "The shop's name for it.",
        "looks_at": "`face_width`: the widest face of the job's frames. `moulding_group`: their "
        "price groups. `art_united_inches`: the largest artwork.",
        "over": "In inches: it applies from above this.",
        "groups": "The price groups of moulding that it applies to, for `moulding_group`.",
        "operations": "The operations whose minutes it multiplies, set-up and units alike.",
        "factor": "By what.",
    },
    "LabourStandard": {
        "units": UNITS,
        "code": "The shop's own code, for good.",
        "cost_per_hour": "What an hour at the bench costs, in the shop's currency.",
        "hour": "What the hour is made of: (wages + overhead) / productive hours. Instead of "
        "`cost_per_hour`.",
        "operations": "The bench operations, in the order in which they are shown.",
        "multipliers": "What makes some jobs slower. All that apply are multiplied together.",
    },
}
