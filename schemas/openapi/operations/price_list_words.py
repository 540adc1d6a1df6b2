"""The meaning of every field of a price list, for the contract."""

from __future__ import annotations

WORDS: dict[str, dict[str, str]] = {
    "Bracket": {
        "up_to": "Up to and with this quantity (this cost a unit, for `sliding_markup`); null for "
        "the last one.",
        "rate": "The amount, the rate or the factor in this bracket.",
    },
    "Rule": {
        "code": "The shop's name for the rule.",
        "component": "What it prices.",
        "item": "One item; for a fee the word it is asked for by. Of rules that fit, the one that "
        "names it most closely counts.",
        "group": "All items of a group.",
        "supply": "One way in which moulding is sold.",
        "charge": "Rules of different charges add up, such as the board and further openings in "
        "it.",
        "basis": "What is counted.",
        "method": "`rate`: so much a unit. `whole`: the amount of the bracket that the quantity "
        "falls into. `marginal`: each slice of the quantity at its own rate. `markup`: the item's "
        "cost times a factor. `sliding_markup`: the factor by brackets of the cost a unit.",
        "rate": "Money a unit, or the factor of a markup.",
        "brackets": "Rising, without gaps; the last one has no end.",
        "above": "Units that are free.",
        "minimum": "The least amount a piece.",
        "set_up": "Once a job, whatever its quantity.",
        "rounding_step": "The amount a piece goes to the nearest multiple of this, half up.",
        "tax_category": "Which tax rates apply; empty for none.",
        "applies": "For a fee: where a job asks for it, or always.",
        "description": "For a fee: what its line says.",
    },
    "Break": {
        "from_quantity": "From so many of the same job on…",
        "percent": "…so many percent off its lines.",
    },
    "PriceList": {
        "units": "Of no meaning here.",
        "code": "The shop's own code, for good.",
        "currency": "The currency of its prices (ISO 4217). In another one than the shop's own it "
        "cannot mark up costs, and prices are made by it only where a document asks for it.",
        "first_day": "The day from which it is in force, once it is published.",
        "quantity_breaks": "What comes off for many of the same job.",
        "rules": "How everything is priced.",
    },
}
