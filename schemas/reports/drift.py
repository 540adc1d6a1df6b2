"""The columns of the report on open quotes under the list in force."""

from __future__ import annotations

from schemas.reports.sales import CURRENCY
from schemas.reports.table import Column, Form

_BOTH = (
    Column("before", "money", "What the customer was told."),
    Column("after", "money", "What it would be by the list in force; null where it has no price.",
           null=True),
    Column("difference", "money", "`after` - `before`.", null=True),
    Column("percent", "number", "That in percent of `before`, to two decimals.", null=True),
)  # fmt: skip
DRIFT = Form(
    "price-list-drift",
    "What open quotes would cost by the list in force now; all but the list is as each quote has "
    "it.",
    (
        Column("quote", "text", "The quote's number."),
        Column("status", "text", "Its state: draft or issued."),
        Column("reference", "text", "Its reference."),
        Column("valid_until", "day", "Its last day."),
        CURRENCY,
        Column("price_list", "text", "The list in force in its currency; null where there is none.",
               null=True),
        *_BOTH,
        Column("refused", "text", "Why it has no price by that list.", null=True),
    ),
    (
        CURRENCY,
        Column("quotes", "whole", "Quotes that have a price by the list in force."),
        *_BOTH,
        Column("refused", "whole", "Quotes that have none."),
    ),
)  # fmt: skip
