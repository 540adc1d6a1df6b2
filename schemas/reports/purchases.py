"""The columns of the report on what to buy."""

from __future__ import annotations

from schemas.reports.table import Column, Form

PURCHASES = Form(
    "purchases",
    "What open tickets still need of each item, less what is in the shop.",
    (
        Column("item", "text", "The item's code."),
        Column("description", "text", "Its description; empty where it is gone."),
        Column("supply", "text", "cut: from sheets or sticks; bought_cut: frames that are bought "
               "chopped or joined; counted: hardware and supplies."),
        Column("pieces", "whole", "Pieces still to be cut, or bought cut; null where they are not "
               "pieces.", null=True),
        Column("basis", "text", "What the quantities count: square_foot, linear_foot, piece."),
        Column("needed", "number", "What the tickets need, at the least."),
        Column("in_stock", "number", "What there is in whole sheets or sticks; null where nobody "
               "counts it.", null=True),
        Column("on_rack", "number", "What there is in offcuts, which a cutting plan may use.",
               null=True),
        Column("lacking", "number", "`needed` less `in_stock`, where that is above nothing."),
        Column("at_least", "whole", "How many of the largest sheet or stick that is, at the "
               "least.", null=True),
        Column("size", "text", "That sheet's or stick's size, as the shop's ruler shows it.",
               null=True),
    ),
    (
        Column("tickets", "whole", "Tickets that are waiting or in work."),
        Column("items", "whole", "Items of which something is lacking."),
    ),
)  # fmt: skip
