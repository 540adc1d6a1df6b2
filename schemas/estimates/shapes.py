"""The records of whole answers: estimates, bulk lines, sweeps, costs and workings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from schemas.estimates.job_shapes import JobEstimate, Reduction
from schemas.wire.record import UNSET, Record, Unset, at_least, said
from schemas.wire.values import Advisory, Currency, Fault, Money, Number, Ratio

Code = Annotated[str, said("The item's code.")]
Jobs = Annotated[tuple[JobEstimate, ...], said("The jobs, in the order in which they were sent.")]
ListInForce = Annotated[str, said("The price list that was in force.")]
Cost = Annotated[Money | None, said("Materials and labour; null if a cost is not known.")]
Margin = Annotated[Ratio | None, said("(price − cost) / price, before tax.")]
Markup = Annotated[Ratio | None, said("price / cost, before tax.")]
Tax = Annotated[Money | None, said("The tax; null if the rate of a category is not known.")]
Payable = Annotated[Money, said("What the customer pays.")]


class TaxLine(Record):
    """The part of the tax at one rate."""

    name: Annotated[str, said("The tax, by the shop's name for it.")]
    percent: Annotated[Number, said("The rate.")]
    base: Annotated[Money, said("The amount that is taxed.")]
    amount: Annotated[Money, said("Its part; the parts add up to the tax.")]


class TaxExempt(Record):
    """Why the customer pays no tax."""

    reason: Annotated[str, said("The reason as sent.")]
    tax_taken_out: Annotated[Money, said("The tax that the prices include and nobody pays.")]


class Totals(Record):
    """Subtotal − discount + tax = total; if prices include the tax, subtotal − discount."""

    subtotal: Annotated[Money, said("All lines of all jobs.")]
    discount: Annotated[Money, said("The reduction by quantity breaks and discounts.")]
    tax: Tax
    taxes: Annotated[tuple[TaxLine, ...], said("The tax by rate.")]
    tax_included: Annotated[bool, said("True if the prices include the tax.")]
    tax_unknown: Annotated[
        tuple[Annotated[str, said("A category.")], ...],
        said("Tax categories without a known rate."),
    ]
    total: Annotated[Money, said("What the customer pays; without any tax that is not known.")]
    discounts: (
        Annotated[tuple[Reduction, ...], said("The document's own discounts, if any.")] | Unset
    ) = UNSET
    tax_place: Annotated[str, said("The place of taxation, if one was named.")] | Unset = UNSET
    tax_exempt: TaxExempt | Unset = UNSET


class JobCosts(Record):
    """What one job costs the shop, and its margin."""

    materials: Annotated[Money, said("The materials whose cost is known.")]
    labour: Annotated[Money, said("The bench time.")]
    unknown: Annotated[tuple[Code, ...], said("Items whose cost is not known.")]
    cost: Cost
    margin: Margin
    markup: Markup


class Costs(Record):
    """What the document costs the shop, and its margin.

    Only keys with the scope `counter` or `reports` ever see it.
    """

    jobs: Annotated[tuple[JobCosts, ...], said("The costs of each job.")]
    cost: Cost
    margin: Margin
    markup: Markup
    currency: (
        Annotated[str, said("The currency of the costs, if the prices are in another one.")] | Unset
    ) = UNSET


CostsIfSeen = Annotated[Costs, said("Only for keys that may see costs.")] | Unset


class Estimate(Record):
    """Every job calculated; nothing is stored."""

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    costs: CostsIfSeen = UNSET


class BulkHead(Record):
    """What every calculated line of a bulk answer begins with."""

    line: Annotated[int, at_least(1, "The line of the request that this answers, from 1.")]
    reference: Annotated[str, said("The reference as sent; empty if there was none.")]


class BulkEstimate(BulkHead):
    """A calculated line."""

    currency: Currency
    price_list: ListInForce
    jobs: Jobs
    totals: Totals
    costs: CostsIfSeen = UNSET


class BulkTotals(BulkHead):
    """A calculated line, only its totals."""

    currency: Currency
    price_list: ListInForce
    totals: Totals


class Choice(Record):
    """One moulding or glazing tried in the job."""

    item: Code
    description: Annotated[str, said("The item, in words.")]
    subtotal: Annotated[Money, said("All lines.")]
    discount: Annotated[Money, said("The reduction by a quantity break.")]
    tax: Tax
    total: Payable
    advisories: Annotated[tuple[Advisory, ...], said("The advisories about this choice.")]


class RefusedChoice(Record):
    """An item that is not possible in the job, and why."""

    item: Code
    errors: Annotated[tuple[Fault, ...], said("Every fault of this choice.")]


class Sweep(Record):
    """A total for each choice, by the same rules as an estimate of it alone."""

    currency: Currency
    price_list: ListInForce
    over: Annotated[Literal["mouldings", "glazing"], said("What was tried.")]
    choices: Annotated[tuple[Choice, ...], said("The possible choices.")]
    refused: Annotated[tuple[RefusedChoice, ...], said("The items that are not possible.")]


Formula = Annotated[
    str,
    said(
        "Sums, products and quotients of the inputs, `max`; `up(x, step)` to the next step, "
        "`down(x, step)` to the previous one, `half_up(x, step)` to the nearest; "
        "`first(x, a, b, …)`, the first of the others that is not below x."
    ),
]
Inputs = Annotated[
    Mapping[str, str], said("The inputs by their names in the formula; lengths have a unit.")
]
Result = Annotated[str, said("The result.")]


class Derivation(Record):
    """A formula, its inputs and its result."""

    formula: Formula
    inputs: Inputs
    result: Result


class WorkedOutBy(Record):
    """The calculation that worked something out; its number rises when a figure may change."""

    calculation: Annotated[
        Annotated[int, at_least(1, "The number of the calculation.")] | None,
        said("The number of the calculation; null if the release that stored the quote kept none."),
    ]
    release: Annotated[str | None, said("The release; null if it was not kept.")]


class Working(Record):
    """How one figure was calculated."""

    figure: Annotated[str, said("The figure, as a path into the answer by its field names.")]
    formula: Formula
    inputs: Inputs
    result: Result
    worked_out_by: (
        Annotated[
            WorkedOutBy,
            said(
                "Where this release comes to another figure: the calculation that worked this one "
                "out. The formula is `kept` if this release has none that comes to it."
            ),
        ]
        | Unset
    ) = UNSET
    now: (
        Annotated[
            Derivation | None,
            said("What this release comes to, if it differs; null if it has no such figure."),
        ]
        | Unset
    ) = UNSET
