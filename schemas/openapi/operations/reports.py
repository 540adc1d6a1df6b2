"""The part of the OpenAPI document on reports."""

from __future__ import annotations

from collections.abc import Sequence

from schemas.openapi.examples import answer_examples
from schemas.openapi.parts import MOMENT, in_query, refusals
from schemas.openapi.shapes import Shape, ref
from schemas.reports.cut import CuttingReport
from schemas.reports.drift import PriceListDriftReport
from schemas.reports.paid import BalancesReport, PaymentsReport, UncollectedReport
from schemas.reports.purchases import PurchasesReport
from schemas.reports.sales import MarginsReport, SalesReport
from schemas.reports.sold import MaterialsReport, SalesByComponentReport, SalesByItemReport
from schemas.reports.table import Kind, row_columns
from schemas.reports.work import LabourReport, OverdueReport, SpoiledReport

DAYS = ("report_from", "report_to", "report_period", "as_of")


_DAY: Shape = {"type": "string", "format": "date"}
REPORT_PARAMETERS: dict[str, Shape] = {
    "report_from": in_query(
        "from",
        "The first day, in the shop. Default the first of the month; for labour today.",
        _DAY,
    ),
    "report_to": in_query(
        "to", "The last day, in the shop. Default today; for labour in four weeks.", _DAY
    ),
    "report_period": in_query(
        "period",
        "How long a row's period is. Weeks begin on Monday; the first and the last period are cut "
        "off where the days asked for begin and end. At most 400 periods.",
        {"type": "string", "enum": ["day", "week", "month"]},
    ),
    "as_of": in_query(
        "as_of",
        "The figures as they were at this instant (RFC 3339, or the first moment of a day in the "
        "shop). Default now. What retention has forgotten is not told any more: quotes that are "
        "gone are not counted, and one whose history is gone counts as it is now.",
        MOMENT,
    ),
    "csv_bom": in_query(
        "bom",
        "yes begins the CSV with a byte order mark (U+FEFF), by which spreadsheets know UTF-8.",
        {"type": "string", "enum": ["no", "yes"], "default": "no"},
    ),
    "drift_limit": in_query(
        "limit",
        "How many open quotes are looked at, the newest first.",
        {"type": "integer", "minimum": 1, "maximum": 2000, "default": 200},
    ),
}


_TOLD: tuple[tuple[Kind, str, tuple[str, ...], str], ...] = (
    (SalesReport, "get_sales_report", DAYS,
     "Two views side by side: quotes by the day they were made, with what became of them by "
     "`as_of`; and quotes by the day they were accepted. The totals of the first add up to the "
     "quotes of those days as `/v1/quotes` shows them, to the cent."),
    (SalesByComponentReport, "get_sales_by_component", DAYS,
     "What the shop keeps of each component, after all discounts and without tax; together it is "
     "`sold_net` of the sales report."),
    (SalesByItemReport, "get_sales_by_item", DAYS,
     "The same by component and item."),
    (MarginsReport, "get_margins_report", DAYS,
     "Costs are those of each quote's own day. Quotes whose cost is not known, or in another "
     "currency than the shop's costs, are counted in `sold` and left out of what is reckoned."),
    (MaterialsReport, "get_materials_report", DAYS,
     "The quantities that accepted quotes show, added up by item and basis."),
    (PurchasesReport, "get_purchases_report", (),
     "As things stand now. Sheets and sticks by what is still to be cut, the least there must be; "
     "a cutting plan tells how many it really takes. Frames that are bought cut, hardware and "
     "supplies are those of the open tickets."),
    (CuttingReport, "get_cutting_report", DAYS,
     "Plans by the day they were committed, without those undone. What is made, kept and wasted "
     "adds up to what is taken."),
    (LabourReport, "get_labour_report", DAYS,
     "Minutes lie on the day for which their ticket is promised. `spare` below zero says that not "
     "every promise until then can be kept."),
    (OverdueReport, "get_overdue_report", ("as_of",),
     "The longest overdue first."),
    (SpoiledReport, "get_spoiled_report", DAYS,
     "What their material cost when it was spoiled, reckoned as a quote reckons it."),
    (PaymentsReport, "get_payments_report", DAYS,
     "By when the till reported them. Together with the balances they are the totals of what was "
     "sold: a quote's payments and its balance are its total."),
    (BalancesReport, "get_balances_report", (),
     "As things stand now: accepted quotes that are not paid in full, and money that the shop owes "
     "back."),
    (UncollectedReport, "get_uncollected_report", (),
     "As things stand now, the longest standing first."),
    (PriceListDriftReport, "get_drift_report", ("drift_limit",),
     "Items, costs, times and settings are as each quote has them; only the list is the one of "
     "today."),
)  # fmt: skip


REPORTS = tuple(kind for kind, *_ in _TOLD)
"""The records of all reports."""


def report_paths() -> dict[str, Shape]:
    """Return every path of reports."""
    return {
        f"/v1/reports/{kind.name}": {"get": _operation(kind, name, named, doc)}
        for kind, name, named, doc in _TOLD
    }


def _operation(kind: Kind, name: str, named: Sequence[str], doc: str) -> Shape:
    media: Shape = {"schema": ref(kind.__name__), "examples": answer_examples(name, 200)}
    columns = ", ".join(column.encode_name for column in row_columns(kind))
    sheet = {"type": "string", "description": f"RFC 4180, with a header: {columns}."}
    return {
        "operationId": name,
        "tags": ["Reports"],
        "summary": (kind.__doc__ or "").rstrip("."),
        "description": f"{doc} As CSV only the rows, by `Accept: text/csv`.",
        "parameters": [{"$ref": f"#/components/parameters/{one}"} for one in (*named, "csv_bom")],
        "responses": {
            "200": {
                "description": "The report.",
                "content": {"application/json": media, "text/csv": {"schema": sheet}},
            },
            **refusals(400, 401, 403, 406, *((409,) if kind is PurchasesReport else ()), 503),
        },
    }
