"""The API contract as an OpenAPI 3.1 document, without what routes declare.

Scopes and the headers that a request needs stand at the route; `service.api.http.contract` adds
them.
"""

from __future__ import annotations

from typing import Any

from apispec import APISpec

from schemas.openapi.components import RECORDS, record_shapes
from schemas.openapi.operations.bulk import BULK_LINE, bulk_paths
from schemas.openapi.operations.catalogue import PARAMETERS as CATALOGUE_PARAMETERS
from schemas.openapi.operations.catalogue import (
    add_catalogue_requests,
    catalogue_answers,
    catalogue_paths,
)
from schemas.openapi.operations.coupons import (
    COUPON_PARAMETERS,
    add_coupon_requests,
    coupon_answers,
    coupon_paths,
)
from schemas.openapi.operations.customers import (
    CUSTOMER_PARAMETERS,
    add_customer_requests,
    customer_answers,
    customer_paths,
)
from schemas.openapi.operations.cutting import (
    CUTTING_PARAMETERS,
    add_cutting_requests,
    cutting_paths,
)
from schemas.openapi.operations.delivery import (
    DELIVERY_PARAMETERS,
    add_delivery_requests,
    delivery_paths,
)
from schemas.openapi.operations.estimates import paths
from schemas.openapi.operations.pages import page_paths
from schemas.openapi.operations.price_lists import (
    add_price_list_requests,
    price_list_answers,
    price_list_paths,
)
from schemas.openapi.operations.quote_life import LIFE_PARAMETERS, life_paths
from schemas.openapi.operations.reports import REPORT_PARAMETERS, REPORTS, report_paths
from schemas.openapi.operations.shop import add_shop_requests, shop_answers, shop_paths
from schemas.openapi.operations.steps import SENT
from schemas.openapi.operations.tickets import TICKET_PARAMETERS, ticket_paths
from schemas.openapi.operations.webhooks import sent_to_webhooks, webhook_paths
from schemas.openapi.parts import HEADERS, PARAMETERS, SECURITY, problem_table, refusal_answers
from schemas.openapi.requests import add_requests, request_plugin
from schemas.wire.values import ExactNumber

VERSION = "1.0.0"
"""The contract's own version; see CHANGES.md."""
DIALECT = "https://spec.openapis.org/oas/3.1/dialect/base"
DESCRIPTION = f"""\
From a picture's size to a framer's quote: exact cut sizes, material, bench time and price, each
figure with its reason.

**Lengths** are sent as text with a unit (`"16 3/8 in"`, `"16⅜″"`, `"41.6 cm"`,
`"1 ft 4 3/8 in"`), or as a bare number or fraction in the document's `units`. They come back as
exact decimal inches and millimetres and as the mark on the shop's ruler.

**Money, quantities and rates** are decimal text, never JSON numbers. Numbers that are sent are
read as decimals, so `16.375` is exactly that.

**Unknown fields** are refused and named. Answers may gain fields; a caller should pass over those
it does not know. `x-known-values` lists the words of a field to which later releases may add.

**Keys** are sent as `Authorization: Bearer …`. Each operation names the scopes it takes; one of
them is enough. A key with the scope `admin` may do everything.

**Sent again.** What stores by POST takes `Idempotency-Key`, a word of the caller's own: the same
request under the same word is done once, and gets the first answer again for a day.

**Limits.** `RateLimit-Policy` tells how many requests a key may send, `RateLimit` how many are left
and in how many seconds all are back; beyond that 429, with `Retry-After`. A document with many
windows, mats and rails counts as one request for every fifty of them, and so does a sweep; one that
has more than its key may send at once is refused with `too_many_parts`. Every answer has an
`X-Request-Id`, the caller's own where one was sent.

**Web pages** of another origin may use a key that lists the origin (CORS).

**Forms.** Every address answers in the forms that its operation lists. Where `Accept` takes none of
them, it answers 406 and does nothing (RFC 9110). Bodies are read as they are: `Content-Encoding` is
answered with 415.

**Text** holds what can be seen. Control characters, characters that reorder text and those without
a picture are refused, each named with its place. Joiners in words of scripts that use them, and
variation selectors after what they vary, are taken.

**Problems** are `application/problem+json` (RFC 9457) on every address, each with a stable `type`.
The faults of a document all come at once, in `errors`, each with a JSON pointer (RFC 6901) to where
it stands, or to where a missing field would. `GET` addresses answer `HEAD`; `OPTIONS` lists an
address's methods in `Allow`.

{problem_table()}
"""
TAGS = (
    ("Estimates", "Calculations that store nothing."),
    ("Quotes", "Quotes that are stored, each with the figures of its day."),
    ("Coupons", "What the shop takes off for a code, when and how often."),
    ("Customers", "Who the shop works for: found, merged, told and forgotten."),
    ("Catalogue", "What the shop sells, and apart, what it costs. Nothing is ever deleted."),
    ("Tickets", "The bench's tickets, and how far the bench is."),
    ("Cutting plans", "Which sheet and which stick each piece comes from, over many tickets."),
    ("Offcuts", "What is on the rack."),
    ("Stock", "How many of each size there are in the shop."),
    ("Price lists", "Drafts, what is amiss with them, what they would do, and publication."),
    ("Shop", "The shop's settings, and its bench times."),
    ("Events", "What changed: the change feed, and the audit."),
    ("Keys", "The shop's API keys."),
    ("Webhooks", "Where events are sent by themselves, signed, and what came of it."),
    ("Reports", "Figures for the night and for the owner."),
    ("Operation", "The service itself."),
)


def all_parameters() -> dict[str, Any]:
    """Return the parameters of every part."""
    return {
        **PARAMETERS,
        **LIFE_PARAMETERS,
        **TICKET_PARAMETERS,
        **CATALOGUE_PARAMETERS,
        **DELIVERY_PARAMETERS,
        **CUSTOMER_PARAMETERS,
        **COUPON_PARAMETERS,
        **CUTTING_PARAMETERS,
        **REPORT_PARAMETERS,
    }


def described() -> dict[str, Any]:
    """Return the document, the scopes and headers of each operation left out."""
    plugin = request_plugin()
    spec = APISpec(
        title="Framing Quotes",
        version=VERSION,
        openapi_version="3.1.0",
        info={"description": DESCRIPTION},
        plugins=[plugin],
        jsonSchemaDialect=DIALECT,
        servers=[{"url": "/", "description": "The service that this document comes from."}],
        tags=[{"name": name, "description": doc} for name, doc in TAGS],
    )
    components = spec.components
    add_requests(spec, plugin)
    add_catalogue_requests(spec)
    add_shop_requests(spec)
    add_price_list_requests(spec)
    add_delivery_requests(spec)
    add_customer_requests(spec)
    add_coupon_requests(spec)
    add_cutting_requests(spec)
    shapes = {
        **SENT,
        **BULK_LINE,
        **catalogue_answers(),
        **shop_answers(),
        **customer_answers(),
        **coupon_answers(),
        **price_list_answers(),
        **record_shapes((*RECORDS, *REPORTS, ExactNumber)),
    }
    for name, shape in shapes.items():
        components.schema(name, shape)
    for name, parameter in all_parameters().items():
        components.parameter(name, parameter["in"], parameter)
    for name, header in HEADERS.items():
        components.header(name, header)
    for name, answer in refusal_answers().items():
        components.response(name, answer)
    for name, scheme in SECURITY.items():
        components.security_scheme(name, scheme)
    document: dict[str, Any] = spec.to_dict()
    document["paths"] = {
        **paths(),
        **bulk_paths(),
        **life_paths(),
        **ticket_paths(),
        **catalogue_paths(),
        **shop_paths(),
        **price_list_paths(),
        **delivery_paths(),
        **webhook_paths(),
        **page_paths(),
        **customer_paths(),
        **coupon_paths(),
        **cutting_paths(),
        **report_paths(),
    }
    document["webhooks"] = sent_to_webhooks()
    _not_acceptable(document["paths"])
    return document


def _not_acceptable(paths: dict[str, Any]) -> None:
    """Add 406 to every operation whose answer has a body: no form of it matches `Accept`."""
    for path in paths.values():
        for operation in path.values():
            answers = operation.get("responses", {}) if isinstance(operation, dict) else {}
            if any(status[0] == "2" and "content" in answers[status] for status in answers):
                answers.setdefault("406", {"$ref": "#/components/responses/NotAcceptable"})
