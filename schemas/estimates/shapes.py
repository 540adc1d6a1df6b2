"""The records of whole answers: estimates, bulk lines, sweeps, costs and workings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from schemas.estimates.job_shapes import JobEstimate, Line, NoteShown, Reduction
from schemas.wire.record import UNSET, Record, Unset, at_least, doc
from schemas.wire.values import Advisory, Currency, Fault, Money, Number, Ratio

Code = Annotated[str, doc("The item's code.")]
Jobs = Annotated[tuple[JobEstimate, ...], doc("The jobs, in the order in which they were sent.")]
ListInForce = Annotated[str, doc("The price list that was in force.")]
Cost = Annotated[Money | None, doc("Materials and labour; null if a cost is not known.")]
Margin = Annotated[Ratio | None, doc("(price − cost) / price, before tax.")]
Markup = Annotated[Ratio | None, doc("price / cost, before tax.")]
Tax = Annotated[Money | None, doc("The tax; null if the rate of a category is not known.")]
Payable = Annotated[Money, doc("What the customer pays.")]


class TaxLine(Record):
    """The part of the tax at one rate."""

    name: Annotated[str, doc("The tax, by the shop's name for it.")]
    percent: Annotated[Number, doc("The rate.")]
    base: Annotated[Money, doc("The amount that is taxed.")]
    amount: Annotated[Money, doc("Its part; the parts add up to the tax.")]


class TaxExempt(Record):
    """Why the customer pays no tax."""

    reason: Annotated[str, doc("The reason as sent.")]
    tax_taken_out: Annotated[Money, doc("The tax that the prices include and nobody pays.")]


class Totals(Record):
    """Subtotal − discount + tax = total; if prices include the tax, subtotal − discount."""

    subtotal: Annotated[Money, doc("All lines: of all jobs, and the order's own.")]
    discount: Annotated[Money, doc("The reduction by quantity breaks and discounts.")]
    tax: Tax
    taxes: Annotated[tuple[TaxLine, ...], doc("The tax by rate.")]
    tax_included: Annotated[bool, doc("True if the prices include the tax.")]
    tax_unknown: Annotated[
        tuple[Annotated[str, doc("A category.")], ...],
        doc("Tax categories without a known rate."),
    ]
    total: Annotated[Money, doc("What the customer pays; without any tax that is not known.")]
    discounts: (
        Annotated[tuple[Reduction, ...], doc("The document's own discounts, if any.")] | Unset
    ) = UNSET
    tax_place: Annotated[str, doc("The place of taxation, if one was named.")] | Unset = UNSET
    tax_exempt: TaxExempt | Unset = UNSET
    price_level: Annotated[str, doc("The shop's price level, if not its usual prices.")] | Unset = (
        UNSET
    )


class JobCosts(Record):
    """What one job costs the shop, and its margin."""

    materials: Annotated[Money, doc("The materials whose cost is known.")]
    labour: Annotated[Money, doc("The bench time.")]
    unknown: Annotated[tuple[Code, ...], doc("Items whose cost is not known.")]
    cost: Cost
    margin: Margin
    markup: Markup
    advisories: (
        Annotated[
            tuple[Advisory, ...], doc("What is sold under the shop's least margin, if anything.")
        ]
        | Unset
    ) = UNSET


class Costs(Record):
    """What the document costs the shop, and its margin.

    Only keys with the scope `counter` or `reports` ever see it.
    """

    jobs: Annotated[tuple[JobCosts, ...], doc("The costs of each job.")]
    cost: Cost
    margin: Margin
    markup: Markup
    currency: (
        Annotated[str, doc("The currency of the costs, if the prices are in another one.")] | Unset
    ) = UNSET


OrderLines = (
    Annotated[tuple[Line, ...], doc("The lines of the order itself, which belong to no job.")]
    | Unset
)
OrderNotes = Annotated[tuple[NoteShown, ...], doc("The notes on the whole order.")] | Unset
CostsIfSeen = Annotated[Costs, doc("Only for keys that may see costs.")] | Unset


class Estimate(Record):
    """Every job calculated; nothing is stored."""

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    costs: CostsIfSeen = UNSET
    lines: OrderLines = UNSET
    notes: OrderNotes = UNSET


class BulkHead(Record):
    """What every calculated line of a bulk answer begins with."""

    line: Annotated[int, at_least(1, "The line of the request that this answers, from 1.")]
    reference: Annotated[str, doc("The reference as sent; empty if there was none.")]


class BulkEstimate(BulkHead):
    """A calculated line."""

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    costs: CostsIfSeen = UNSET
    lines: OrderLines = UNSET
    notes: OrderNotes = UNSET


class BulkTotals(BulkHead):
    """A calculated line, only its totals."""

    currency: Currency
    price_list: ListInForce
    totals: Totals


class Choice(Record):
    """One moulding or glazing tried in the job."""

    item: Code
    description: Annotated[str, doc("The item, in words.")]
    subtotal: Annotated[Money, doc("All lines.")]
    discount: Annotated[Money, doc("The reduction by a quantity break.")]
    tax: Tax
    total: Payable
    advisories: Annotated[tuple[Advisory, ...], doc("The advisories about this choice.")]


class RefusedChoice(Record):
    """An item that is not possible in the job, and why."""

    item: Code
    errors: Annotated[tuple[Fault, ...], doc("Every fault of this choice.")]


class Sweep(Record):
    """A total for each choice, by the same rules as an estimate of it alone."""

    currency: Currency
    price_list: ListInForce
    over: Annotated[Literal["mouldings", "glazing"], doc("What was tried.")]
    choices: Annotated[tuple[Choice, ...], doc("The possible choices.")]
    refused: Annotated[tuple[RefusedChoice, ...], doc("The items that are not possible.")]


Formula = Annotated[
    str,
    doc(
        "Sums, products and quotients of the inputs, `max`; `up(x, step)` to the next step, "
        "`down(x, step)` to the previous one, `half_up(x, step)` to the nearest; "
        "`first(x, a, b, …)`, the first of the others that is not below x."
    ),
]
Inputs = Annotated[
    Mapping[str, str], doc("The inputs by their names in the formula; lengths have a unit.")
]
Result = Annotated[str, doc("The result.")]


class Derivation(Record):
    """A formula, its inputs and its result."""

    formula: Formula
    inputs: Inputs
    result: Result


class WorkedOutBy(Record):
    """The calculation that worked something out; its number rises when a figure may change."""

    calculation: Annotated[
        Annotated[int, at_least(1, "The number of the calculation.")] | None,
        doc("The number of the calculation; null if the release that stored the quote kept none."),
    ]
    release: Annotated[str | None, doc("The release; null if it was not kept.")]


class Working(Record):
    """How one figure was calculated."""

    figure: Annotated[str, doc("The figure, as a path into the answer by its field names.")]
    formula: Formula
    inputs: Inputs
    result: Result
    worked_out_by: (
        Annotated[
            WorkedOutBy,
            doc(
                "Where this release comes to another figure: the calculation that worked this one "
                "out. The formula is `kept` if this release has none that comes to it."
            ),
        ]
        | Unset
    ) = UNSET
    now: (
        Annotated[
            Derivation | None,
            doc("What this release comes to, if it differs; null if it has no such figure."),
        ]
        | Unset
    ) = UNSET
