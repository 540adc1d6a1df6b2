"""The JSON Schema of records, as components of the OpenAPI document.

A word that later releases may extend is not an `enum`: the words of this release are in
`x-known-values`, and a client should treat an unknown one as "something else". Objects allow
additional fields: v1 only grows, and a client must ignore fields it does not know.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import msgspec
from msgspec import inspect

from schemas.cutting.plan_shapes import CuttingPlan, CuttingPlanList, FromRack
from schemas.estimates import shapes as estimates
from schemas.events.feed import EventList
from schemas.events.webhooks import (
    WebhookList,
    WebhookMessageList,
    WebhookMessageLog,
    WebhookReplayed,
    WebhookWithSecret,
)
from schemas.keys import KeyIssued, KeyList
from schemas.materials.stock_shapes import OffcutList, StockList
from schemas.payments.shapes import PaymentList
from schemas.prices.check_shapes import Comparison, Findings
from schemas.quotes import shapes as quotes
from schemas.tickets import shapes as tickets
from schemas.wire import health
from schemas.wire.problems import BulkProblem, Problem
from schemas.wire.record import Record

Shape = dict[str, Any]
REF = "#/components/schemas/{name}"
_INSIDE = ("type", "types", "item_type", "item_types", "value_type")
RECORDS: tuple[type[Record], ...] = (
    BulkProblem,
    Comparison,
    CuttingPlan,
    CuttingPlanList,
    EventList,
    Findings,
    FromRack,
    KeyIssued,
    KeyList,
    OffcutList,
    Problem,
    StockList,
    WebhookList,
    WebhookMessageList,
    WebhookMessageLog,
    WebhookReplayed,
    WebhookWithSecret,
    estimates.BulkEstimate,
    estimates.BulkTotals,
    estimates.Estimate,
    estimates.Sweep,
    PaymentList,
    quotes.Changes,
    quotes.Promise,
    quotes.Quote,
    quotes.QuoteList,
    quotes.QuoteRevision,
    quotes.RevisionList,
    quotes.Workings,
    tickets.Ticket,
    tickets.TicketList,
    health.Health,
    health.Readiness,
)
"""The documents that go out; what they are made of follows from them."""


def record_shapes(records: Iterable[Any] = RECORDS) -> dict[str, Shape]:
    """Return the components of these records (or kinds of text) and their parts, by name."""
    types = tuple(records)
    _, found = msgspec.json.schema_components(types, ref_template=REF)
    texts = dict(_texts(inspect.multi_type_info(types), set()))
    return {name: _tidy(shape) for name, shape in {**texts, **found}.items()}


def _tidy(part: Any) -> Any:
    """Return a schema of msgspec as this contract writes it: references, one line, no titles."""
    if isinstance(part, list):
        return [_tidy(each) for each in part]
    if not isinstance(part, dict):
        return part
    made = {name: _tidy(each) for name, each in part.items()}
    if isinstance(made.get("title"), str):
        del made["title"]
    if isinstance(made.get("description"), str):
        made["description"] = " ".join(made["description"].split())
    if "enum" in made:
        made = {"type": "string", **made}
    if name := made.pop("x-component", None):
        del made["type"]
        made = {"$ref": REF.format(name=name), **made}
    return _or_null(made)


def _or_null(made: Shape) -> Shape:
    """Return a simple type or null as one list of types, where msgspec gives two schemas."""
    options = made.get("anyOf", ())
    if len(options) != 2 or options[1] != {"type": "null"} or {"$ref", "enum"} & set(options[0]):
        return made
    rest = {name: each for name, each in made.items() if name != "anyOf"}
    return {**options[0], "type": [options[0]["type"], "null"], **rest}


def _texts(part: Any, seen: set[type]) -> Iterator[tuple[str, Shape]]:
    """Yield the kinds of text that are components by themselves."""
    if isinstance(part, inspect.Metadata) and part.extra and "component" in part.extra:
        yield (part.extra_json_schema or {})["x-component"], part.extra["component"]
    if isinstance(part, inspect.StructType):
        if part.cls in seen:
            return
        seen.add(part.cls)
        part = [field.type for field in part.fields]
    if isinstance(part, list | tuple):
        for each in part:
            yield from _texts(each, seen)
        return
    for name in _INSIDE:
        if (inner := getattr(part, name, None)) is not None:
            yield from _texts(inner, seen)
