"""The part of the OpenAPI document on reports; their shapes follow from their columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from schemas.openapi.examples import answer_examples
from schemas.openapi.parts import MOMENT, refusals, scopes
from schemas.openapi.shapes import Shape, listed, or_null, ref, text, thing
from schemas.reports.drift import DRIFT
from schemas.reports.purchases import PURCHASES
from schemas.reports.sales import COMPONENTS, ITEMS, MARGINS, MATERIALS, SALES
from schemas.reports.table import Column, Form
from schemas.reports.work import LABOUR, OVERDUE, SPOILED

OFFICE, SHOP = ("reports",), ("reports", "counter", "bench")
DAYS = ("report_from", "report_to", "report_period", "as_of")
_PLAIN: dict[str, Shape] = {
    "text": {"type": "string"},
    "currency": {"type": "string"},
    "day": {"type": "string", "format": "date"},
    "instant": {"type": "string", "format": "date-time"},
    "whole": {"type": "integer", "minimum": 0},
}
_FIGURES = {"money": "Money", "number": "Number"}


def _query(name: str, schema: Shape, said: str) -> Shape:
    return {"name": name, "in": "query", "required": False, "schema": schema, "description": said}


_DAY: Shape = {"type": "string", "format": "date"}
REPORT_PARAMETERS: dict[str, Shape] = {
    "report_from": _query(
        "from",
        _DAY,
        "The first day, in the shop. Default the first of the month; for labour today.",
    ),
    "report_to": _query(
        "to", _DAY, "The last day, in the shop. Default today; for labour in four weeks."
    ),
    "report_period": _query(
        "period",
        {"type": "string", "enum": ["day", "week", "month"]},
        "How long a row's period is. Weeks begin on Monday; the first and the last period are cut "
        "off where the days asked for begin and end. At most 400 periods.",
    ),
    "as_of": _query(
        "as_of",
        MOMENT,
        "The figures as they were at this instant (RFC 3339, or the first moment of a day in the "
        "shop). Default now. What retention has forgotten is not told any more: quotes that are "
        "gone are not counted, and one whose history is gone counts as it is now.",
    ),
    "drift_limit": _query(
        "limit",
        {"type": "integer", "minimum": 1, "maximum": 2000, "default": 200},
        "How many open quotes are looked at, the newest first.",
    ),
}


def _shape_of(column: Column) -> Shape:
    if column.kind in _FIGURES:
        name = _FIGURES[column.kind]
        return or_null(name, column.said) if column.null else ref(name, column.said)
    plain = _PLAIN[column.kind]
    kind: Any = [plain["type"], "null"] if column.null else plain["type"]
    return {**plain, "type": kind, "description": column.said}


def _name(form: Form) -> str:
    return "".join(word.capitalize() for word in form.name.split("-")) + "Report"


def _row(columns: Sequence[Column], said: str) -> Shape:
    return thing(said, {column.name: _shape_of(column) for column in columns})


def _answer_shape(form: Form, *, spanned: bool) -> Shape:
    head = {"time_zone": text("The shop's time zone, by which days begin and end.")}
    head["as_of"] = {**_PLAIN["instant"], "description": "The instant that the figures are of."}
    if spanned:
        head |= {
            "from": {**_DAY, "description": "The first day."},
            "to": {**_DAY, "description": "The last day."},
            "period": text("How long a row's period is: day, week or month."),
        }
    return thing(
        form.said,
        {
            "report": text("Which report this is."),
            **head,
            "rows": listed(_row(form.columns, "A row."), "The rows, in their order."),
            "totals": listed(_row(form.totals, "A row of totals."), "All rows together."),
        },
    )


_TOLD: tuple[tuple[Form, str, tuple[str, ...], tuple[str, ...], str], ...] = (
    (SALES, "get_sales_report", DAYS, OFFICE,
     "Two views side by side: quotes by the day they were made, with what became of them by "
     "`as_of`; and quotes by the day they were accepted. The totals of the first add up to the "
     "quotes of those days as `/v1/quotes` shows them, to the cent."),
    (COMPONENTS, "get_sales_by_component", DAYS, OFFICE,
     "What the shop keeps of each component, after all discounts and without tax; together it is "
     "`sold_net` of the sales report."),
    (ITEMS, "get_sales_by_item", DAYS, OFFICE,
     "The same by component and item."),
    (MARGINS, "get_margins_report", DAYS, OFFICE,
     "Costs are those of each quote's own day. Quotes whose cost is not known, or in another "
     "currency than the shop's costs, are counted in `sold` and left out of what is reckoned."),
    (MATERIALS, "get_materials_report", DAYS, SHOP,
     "The quantities that accepted quotes show, added up by item and basis."),
    (PURCHASES, "get_purchases_report", (), SHOP,
     "As things stand now. Sheets and sticks by what is still to be cut, the least there must be; "
     "a cutting plan tells how many it really takes. Frames that are bought cut, hardware and "
     "supplies are those of the open tickets."),
    (LABOUR, "get_labour_report", DAYS, SHOP,
     "Minutes lie on the day for which their ticket is promised. `spare` below zero says that not "
     "every promise until then can be kept."),
    (OVERDUE, "get_overdue_report", ("as_of",), SHOP,
     "The longest overdue first."),
    (SPOILED, "get_spoiled_report", DAYS, OFFICE,
     "What their material cost when it was spoiled, reckoned as a quote reckons it."),
    (DRIFT, "get_drift_report", ("drift_limit",), OFFICE,
     "Items, costs, times and settings are as each quote has them; only the list is the one of "
     "today."),
)  # fmt: skip


def report_shapes() -> dict[str, Shape]:
    """Return the shapes of all reports."""
    return {
        _name(form): _answer_shape(form, spanned=DAYS[0] in named) for form, _, named, _, _ in _TOLD
    }


def report_paths() -> dict[str, Shape]:
    """Return every path of reports."""
    return {
        f"/v1/reports/{form.name}": {"get": _operation(form, name, named, who, said)}
        for form, name, named, who, said in _TOLD
    }


def _operation(form: Form, name: str, named: Sequence[str], who: Sequence[str], said: str) -> Shape:
    media: Shape = {"schema": ref(_name(form)), "examples": answer_examples(name, 200)}
    columns = ", ".join(column.name for column in form.columns)
    sheet = {"type": "string", "description": f"RFC 4180, with a header: {columns}."}
    return {
        "operationId": name,
        "tags": ["Reports"],
        "summary": form.said.rstrip("."),
        "description": f"{said} As CSV the rows alone, by `Accept: text/csv`.",
        "security": scopes(*who),
        "parameters": [{"$ref": f"#/components/parameters/{one}"} for one in named],
        "responses": {
            "200": {
                "description": "The report.",
                "content": {"application/json": media, "text/csv": {"schema": sheet}},
            },
            **refusals(400, 401, 403, 406, *((409,) if form is PURCHASES else ()), 503),
        },
    }
