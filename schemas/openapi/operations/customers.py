"""The shop's customers in the OpenAPI document."""

from __future__ import annotations

from apispec import APISpec

from schemas import customers
from schemas.openapi.operations.records import (
    BODY,
    CHANGES,
    LIFE,
    ONE,
    READS,
    UNCHANGED,
    add_record,
    answers,
    body,
    entry,
    shown_shape,
)
from schemas.openapi.parts import in_path, in_query, parameters, refusals
from schemas.openapi.shapes import INSTANT, NEXT, Shape, listed, object_shape, ref, whole

TAG = "Customers"
CUSTOMER = customers.ShopCustomerDocument()
MERGE = customers.CustomerMergeDocument()
PLACE = "/v1/customers/{customer_id}"
CUSTOMER_PARAMETERS: dict[str, Shape] = {
    "customer_id": in_path(
        "customer_id", "The customer's id; that of one that was merged leads to the other."
    ),
    "customer_q": in_query(
        "q",
        "Any part of words of the name or company, of the mail address, or of the telephone "
        "number, at least two letters; case and accents do not count. All words must be found.",
        {"type": "string", "minLength": 2},
    ),
}


def customer_answers() -> dict[str, Shape]:
    """Return the shapes of the answers."""
    text: Shape = {"type": "string"}
    told: dict[str, Shape] = {
        "id": {**text, "description": "Its identifier; quotes name it as `customer_id`."},
        "created_at": {**INSTANT, "description": "When it was stored (RFC 3339, UTC)."},
        **LIFE,
    }
    quote: dict[str, Shape] = {
        "id": {**text, "description": "The quote's id."},
        "number": {**text, "description": "The quote's number."},
        "status": {**text, "description": "Its state."},
        "created_at": {**INSTANT, "description": "When it was stored (RFC 3339, UTC)."},
        "customer": {**ref("CustomerShown"), "description": "What it says of the customer."},
    }
    return {
        "ShopCustomerShown": shown_shape(CUSTOMER, "A customer of the shop.", told),
        "ShopCustomerList": object_shape(
            "A page of customers, newest first.",
            {"items": listed(ref("ShopCustomerShown"), "The page."), "next": NEXT},
        ),
        "CustomerExport": object_shape(
            "All that the shop keeps of a customer.",
            {
                "customer": ref("ShopCustomerShown"),
                "quotes": listed(object_shape("A quote.", quote), "Their quotes, newest first."),
            },
        ),
        "CustomerForgotten": object_shape(
            "What was erased.", {"quotes": whole("The quotes that named the customer.", 0)}
        ),
    }


def add_customer_requests(spec: APISpec) -> None:
    """Add the request documents to the components."""
    add_record(spec, CUSTOMER, customers.TOLD)
    add_record(spec, MERGE)


def customer_paths() -> dict[str, Shape]:
    """Return the paths."""
    return {
        "/v1/customers": {"get": _list(), "post": _create()},
        PLACE: {"parameters": parameters("customer_id"), "get": _get(), "put": _change()},
        f"{PLACE}/merge": {"parameters": parameters("customer_id"), "post": _merge()},
        f"{PLACE}/export": {"parameters": parameters("customer_id"), "get": _export()},
        f"{PLACE}/forget": {"parameters": parameters("customer_id"), "post": _forget()},
    }


def _list() -> Shape:
    return entry(
        "list_customers",
        TAG,
        "The shop's customers, newest first",
        "With `q`, those in whom all of it is found.",
        {
            **answers("list_customers", 200, "A page.", "ShopCustomerList", "Link"),
            **refusals(*READS),
        },
        "customer_q",
        "limit",
        "cursor",
    )


def _create() -> Shape:
    return entry(
        "create_customer",
        TAG,
        "A new customer",
        "A mail address and a telephone number are checked for their form alone.",
        {
            **answers("create_customer", 201, "Stored.", "ShopCustomerShown", "Location", "ETag"),
            **refusals(400, 401, 403, 409, *BODY, 503),
        },
        sent=body("create_customer", "ShopCustomer"),
    )


def _get() -> Shape:
    return entry(
        "get_customer",
        TAG,
        "One customer",
        "The id of a customer that was merged answers with the other one.",
        {
            **answers("get_customer", 200, "It.", "ShopCustomerShown", "ETag"),
            **UNCHANGED,
            **refusals(*ONE),
        },
    )


def _change() -> Shape:
    return entry(
        "change_customer",
        TAG,
        "What it is from now on",
        "The whole document. Quotes keep the name that they were stored with.",
        {
            **answers("change_customer", 200, "Changed.", "ShopCustomerShown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
        sent=body("change_customer", "ShopCustomer"),
    )


def _merge() -> Shape:
    return entry(
        "merge_customer",
        TAG,
        "Take another customer into this one",
        "This one gets the other's quotes, addresses and note, and whatever it "
        "lacks; the other's id leads to it from then on.",
        {
            **answers("merge_customer", 200, "Merged.", "ShopCustomerShown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
        sent=body("merge_customer", "CustomerMerge"),
    )


def _export() -> Shape:
    return entry(
        "export_customer",
        TAG,
        "All that the shop keeps of a customer",
        "For a customer who asks: the record, and what each of their quotes says.",
        {
            **answers("export_customer", 200, "It.", "CustomerExport"),
            **refusals(*ONE),
        },
    )


def _forget() -> Shape:
    return entry(
        "forget_customer",
        TAG,
        "Erase a customer",
        "The record is erased, and the customer on each of their quotes; the "
        "figures stay. Quotes in an archive are forgotten by the command of the service.",
        {
            **answers("forget_customer", 200, "Erased.", "CustomerForgotten"),
            **refusals(*CHANGES, 422),
        },
    )
