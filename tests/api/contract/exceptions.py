"""How schemathesis holds the service to its contract: what is set, and what it may find.

Every check is on. Used by `test_contract.py`, and for far more cases by `tests/faults/contract.py`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

import schemathesis
from schemathesis.core.failures import AcceptedNegativeData, Failure
from schemathesis.openapi.checks import RejectedPositiveData

from service.demo import demo_jobs

SET = """
# A document may have the right shape and make no sense (422), go with another version than what
# is there (412), or need no answer since it was seen (304). A form leads on to a page (303).
[checks.positive_data_acceptance]
expected-statuses = ["2xx", "303", "304", "401", "403", "404", "409", "412", "422"]

# A change without If-Match is 428 (RFC 6585).
[checks.missing_required_header]
expected-statuses = ["400", "401", "403", "406", "415", "422", "428"]

[generation]
deterministic = true

[cache]
enabled = false
"""
SEEN = "characters without a picture, and those that reorder text, are refused"
MEANT = {
    "cursor": "it means nothing to callers, and one that was made up leads nowhere",
    "least_width": "a length is text of many forms",
    "least_height": "a length is text of many forms",
    "job": "how many jobs a quote has is known to the quote alone",
    "as_of": "figures are of a time that has passed",
    "from": "days have an order, and a report has so many periods at most",
    "to": "days have an order, and a report has so many periods at most",
    "period": "days have an order, and a report has so many periods at most",
    "choice": "the name of a choice has no control characters",
    "reference": SEEN,
    "q": SEEN,
    "group": SEEN,
    "item": SEEN,
    "quote": SEEN,
    "kind": SEEN,
    "subject_id": SEEN,
    "key": SEEN,
}
"""Parameters whose sense their shape cannot tell; a wrong one is refused with 400, by name."""
KEY_IS_SENT = "the key, whose absence was the fault, is always sent here"
LOOKED_AT_LATER = {
    ("/v1/reports/purchases", 200): KEY_IS_SENT,
    ("/v1/reports/balances", 200): KEY_IS_SENT,
    ("/v1/reports/uncollected", 200): KEY_IS_SENT,
    ("/v1/estimates/bulk", 200): "each line has its own answer, also one that is no document",
    ("/v1/quotes/{quote_id}/revisions", 412): "a stale quote is refused before its new document is "
    "looked at",
}
"""Answers to documents of a wrong shape that are right, by address and status."""
Post = Callable[[str, Mapping[str, Any], Mapping[str, str]], Any]


@schemathesis.hook
def filter_failure(
    context: schemathesis.HookContext, failure: Failure, case: schemathesis.Case, response: Any
) -> bool:
    """Whether a failure counts: not where a text of the right shape was refused for its sense."""
    if isinstance(failure, AcceptedNegativeData):
        return (case.path, response.status_code) not in LOOKED_AT_LATER
    if not isinstance(failure, RejectedPositiveData) or response.status_code != 400:
        return True
    errors = json.loads(response.content).get("errors", ())
    return not errors or any(error.get("parameter") not in MEANT for error in errors)


@schemathesis.serializer("application/x-ndjson")
def lines(context: schemathesis.SerializationContext, value: Any) -> bytes:
    """A body of lines: text as it is, and what is no text as one line of JSON."""
    return (value if isinstance(value, str) else json.dumps(value)).encode("utf-8", "replace")


def things(post: Post) -> dict[str, list[Any]]:
    """Fill the demo shop with one of each, and say what they are called, by parameter.

    Args:
        post: sends a document to an address as an admin key and gives the answer back.
    """
    job = json.loads(json.dumps(demo_jobs()["harbour_etching"], default=str))
    quotes = [post("/v1/quotes", job, {}) for _ in range(3)]
    press = {"If-Match": "*"}
    taken = post(f"/v1/quotes/{quotes[0]['number']}/accept", {}, press)
    ticket = taken["tickets"][0]["number"]
    plan = post("/v1/cutting-plans", {"tickets": [ticket], "dry_run": False}, {})
    board = {"item": "BRD-1204", "width": "18 in", "height": "24 in"}
    hook = post("/v1/webhooks", {"url": "https://books.example/"}, {})
    key = post("/v1/keys", {"name": "till", "scopes": ["counter"]}, {})
    return {
        "quote_id": [quote["number"] for quote in quotes],
        "revision": ["1", "2"],
        "ticket": [ticket],
        "piece": ["1", "2"],
        "plan": [plan["number"]],
        "offcut": [post("/v1/offcuts", board, {})["label"]],
        "webhook": [hook["id"]],
        "key": [key["id"]],
        "code": ["MLD-OAK125", "BRD-1204", "GLZ-UV20", "2026-autumn", "bench-2026"],
        "item": ["BRD-1204", 0],
        "use": [0],
    }


def settings(known: Mapping[str, list[Any]]) -> str:
    """The settings as TOML; two addresses in three lead to something that is there."""
    words = [f"[dictionaries.{name}]\nvalues = {json.dumps(known[name])}\n" for name in known]
    bound = [f'"path.{name}" = {{dictionary = "{name}", probability = 0.66}}\n' for name in known]
    return SET + "".join(words) + "[parameters]\n" + "".join(bound)
