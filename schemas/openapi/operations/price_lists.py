"""Price lists in the OpenAPI document."""

from __future__ import annotations

from apispec import APISpec

from schemas.openapi.operations.records import (
    BODY,
    CHANGES,
    LIFE,
    ONE,
    READS,
    add_change,
    add_record,
    answers,
    body,
    entry,
    shown_shape,
)
from schemas.openapi.parts import parameters, refusals
from schemas.openapi.shapes import (
    INSTANT,
    NEXT,
    Shape,
    growing,
    listed,
    object_shape,
    ref,
)
from schemas.prices.lists import PRICE_LIST_DOCUMENT

TAG = "Price lists"
STATES = ("draft", "coming", "in_force", "superseded")
_LIFE: dict[str, Shape] = {
    "state": growing(
        STATES,
        "`draft`: may be changed. `coming`: published, its first day is not there yet. "
        "`in_force`: what prices are made by. `superseded`: another one in its currency is.",
    ),
    "published_at": {
        **INSTANT,
        "type": ["string", "null"],
        "description": "When it was published (RFC 3339, UTC); null for a draft.",
    },
    "version": LIFE["version"],
}


def price_list_answers() -> dict[str, Shape]:
    """Return the shapes of the answers."""
    whole_list = shown_shape(PRICE_LIST_DOCUMENT, "", _LIFE)
    head = {name: part for name, part in whole_list["properties"].items() if name != "rules"}
    return {
        "PriceListShown": whole_list,
        "PriceListHead": object_shape("A price list without its rules.", head),
        "PriceListList": object_shape(
            "All price lists of a shop, in the order in which they come into force.",
            {"items": listed(ref("PriceListHead"), "All of them."), "next": NEXT},
        ),
    }


def add_price_list_requests(spec: APISpec) -> None:
    """Add the request documents to the components."""
    add_record(spec, PRICE_LIST_DOCUMENT, ("state", "published_at", "version"))
    add_change(spec, PRICE_LIST_DOCUMENT)


def price_list_paths() -> dict[str, Shape]:
    """Return the paths."""
    return {
        "/v1/price-lists": {"get": _list(), "post": _create()},
        "/v1/price-lists/{code}": {
            "parameters": parameters("code"),
            "get": _read(
                "get_price_list",
                "One list with all its rules",
                "A draft, or a published list, which never changes.",
                "PriceListShown",
                "ETag",
            ),
            "put": _put(),
            "delete": _delete(),
        },
        "/v1/price-lists/{code}/publish": {"parameters": parameters("code"), "post": _publish()},
        "/v1/price-lists/{code}/check": {
            "parameters": parameters("code"),
            "get": _read(
                "check_price_list",
                "What is amiss with a list",
                "Rules that never apply, items without a price, prices below cost and the like, "
                "checked against the shop's own catalogue. Nothing is stored.",
                "Findings",
            ),
        },
        "/v1/price-lists/{code}/compare": {"parameters": parameters("code"), "post": _compare()},
    }


def _read(operation: str, summary: str, doc: str, schema: str, *headers: str) -> Shape:
    responses = {**answers(operation, 200, "It.", schema, *headers), **refusals(*ONE)}
    return entry(operation, TAG, summary, doc, responses)


def _list() -> Shape:
    found = answers("list_price_lists", 200, "All of them.", "PriceListList")
    return entry(
        "list_price_lists",
        TAG,
        "The shop's price lists, without their rules",
        "All of them, in the order in which they come into force.",
        {**found, **refusals(*READS)},
    )


def _create() -> Shape:
    made = answers("create_price_list", 201, "Stored.", "PriceListShown", "Location", "ETag")
    return entry(
        "create_price_list",
        TAG,
        "A new draft",
        "It prices nothing until it is published.",
        {**made, **refusals(400, 401, 403, 409, *BODY, 503)},
        sent=body("create_price_list", "PriceList"),
    )


def _put() -> Shape:
    made = answers("change_price_list", 200, "Changed.", "PriceListShown", "ETag")
    return entry(
        "change_price_list",
        TAG,
        "A draft as it is from now on",
        "A published list never changes: quotes were made by it. Give the changed list "
        "a code and a first day of its own.",
        {**made, **refusals(*CHANGES, *BODY)},
        sent=body("change_price_list", "PriceListChange"),
    )


def _delete() -> Shape:
    return entry(
        "remove_price_list",
        TAG,
        "Throw a draft away; a published list stays",
        "Nothing refers to a draft, so nothing else changes.",
        {"204": {"description": "It is gone."}, **refusals(*CHANGES)},
    )


def _publish() -> Shape:
    made = answers("publish_price_list", 200, "Published.", "PriceListShown", "ETag")
    return entry(
        "publish_price_list",
        TAG,
        "Let a draft come into force on its first day",
        "It cannot be changed or taken back; another one with the same first day, "
        "published later, takes its place.",
        {**made, **refusals(*CHANGES, 422)},
    )


def _compare() -> Shape:
    found = answers("compare_price_list", 200, "Worked out.", "Comparison")
    return entry(
        "compare_price_list",
        TAG,
        "What a list would do to open quotes and to last month's accepted ones",
        "Nothing is stored. At most `limit` quotes of each are looked at.",
        {**found, **refusals(*ONE)},
        "limit",
    )
