"""What answers say of a price list: its faults, and its effect on quotes, as records."""

from __future__ import annotations

from typing import Annotated

from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing, text
from schemas.wire.values import Fault, Money

Difference = Annotated[Money, doc("`after` - `before`.")]
Percent = Annotated[
    Annotated[str, text("", r"^-?[0-9]+(\.[0-9]{1,2})?$")] | None,
    doc("The difference in percent of `before`; null if that is 0."),
]


class Finding(Record, kw_only=True):
    """A fault of a price list."""

    code: Annotated[str, doc("A stable word for programs.")]
    severity: Annotated[str, growing(("error", "warning"), "How serious it is.")]
    rule: Annotated[str, doc("The code of the rule.")] | Unset = UNSET
    item: Annotated[str, doc("The code of the item.")] | Unset = UNSET
    detail: Annotated[str, doc("The text for people.")]


class Findings(Record):
    """The faults of a price list, checked against the shop's own catalogue."""

    code: Annotated[str, doc("The list's code.")]
    errors: Annotated[int, at_least(0, "How many of the findings are errors.")]
    findings: Annotated[tuple[Finding, ...], doc("The rules' first, then the items'.")]


class ComparedQuote(Record):
    """A quote under another price list."""

    number: Annotated[str, doc("The quote's number.")]
    status: Annotated[str, doc("The quote's state.")]
    before: Annotated[Money, doc("Its present total.")]
    after: Annotated[Money, doc("Its total by the list.")] | Unset = UNSET
    difference: Difference | Unset = UNSET
    percent: Percent | Unset = UNSET
    refused: Annotated[tuple[Fault, ...], doc("Why the list cannot price it.")] | Unset = UNSET


class ComparedQuotes(Record):
    """Quotes under another price list, one by one and together."""

    count: Annotated[int, at_least(0, "Number of quotes.")]
    more: Annotated[bool, doc("True if there are more quotes than were compared.")]
    before: Annotated[Money, doc("The present totals of those that the list can price.")]
    after: Annotated[Money, doc("Their totals by the list.")]
    difference: Difference
    percent: Percent
    quotes: Annotated[tuple[ComparedQuote, ...], doc("The quotes, newest first.")]


class Comparison(Record):
    """The effect of a price list on quotes, with all else unchanged."""

    code: Annotated[str, doc("The list's code.")]
    currency: Annotated[str, doc("Its currency; quotes in others are left out.")]
    open: Annotated[ComparedQuotes, doc("Quotes that are drafts or issued.")]
    accepted: Annotated[ComparedQuotes, doc("Quotes that are accepted and changed within 31 days.")]
