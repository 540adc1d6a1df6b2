"""The shop's coupons in the OpenAPI document."""

from __future__ import annotations

from apispec import APISpec

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
from schemas.openapi.parts import in_path, parameters, refusals
from schemas.openapi.shapes import INSTANT, NEXT, Shape, listed, object_shape, ref, whole
from schemas.prices import coupons

TAG = "Coupons"
COUPON = coupons.CouponDocument()
PLACE = "/v1/coupons/{coupon}"
COUPON_PARAMETERS: dict[str, Shape] = {
    "coupon": in_path("coupon", "The coupon's code; case does not count."),
}


def coupon_answers() -> dict[str, Shape]:
    """Return the shapes of the answers."""
    told: dict[str, Shape] = {
        "uses": whole("How many accepted quotes have it.", 0),
        "stopped": {"type": "boolean", "description": "True if it is taken no more."},
        "created_at": {**INSTANT, "description": "When it was stored (RFC 3339, UTC)."},
        **LIFE,
    }
    return {
        "CouponShown": shown_shape(COUPON, "A coupon of the shop.", told),
        "CouponList": object_shape(
            "A page of coupons, newest first.",
            {"items": listed(ref("CouponShown"), "The page."), "next": NEXT},
        ),
    }


def add_coupon_requests(spec: APISpec) -> None:
    """Add the request document to the components."""
    add_record(spec, COUPON, coupons.TOLD)


def coupon_paths() -> dict[str, Shape]:
    """Return the paths."""
    return {
        "/v1/coupons": {"get": _list(), "post": _create()},
        PLACE: {"parameters": parameters("coupon"), "get": _get(), "put": _change()},
        f"{PLACE}/stop": {"parameters": parameters("coupon"), "post": _stop()},
    }


def _list() -> Shape:
    found = answers("list_coupons", 200, "A page.", "CouponList", "Link")
    return entry(
        "list_coupons",
        TAG,
        "The shop's coupons, newest first",
        "Those that are over or stopped, too.",
        {**found, **refusals(*READS)},
        "limit",
        "cursor",
    )


def _create() -> Shape:
    made = answers("create_coupon", 201, "Stored.", "CouponShown", "Location", "ETag")
    return entry(
        "create_coupon",
        TAG,
        "A new coupon",
        "It is taken off all goods, or those of some components, after all other discounts. A "
        "use counts when a quote that names it is accepted, and is given back when that quote is "
        "withdrawn. 409 if the shop has a coupon of this code.",
        {**made, **refusals(400, 401, 403, 409, *BODY, 503)},
        sent=body("create_coupon", "Coupon"),
    )


def _get() -> Shape:
    found = answers("get_coupon", 200, "It.", "CouponShown", "ETag")
    return entry(
        "get_coupon",
        TAG,
        "One coupon",
        "With the number of its uses; each use is a new version.",
        {**found, **UNCHANGED, **refusals(*ONE)},
    )


def _change() -> Shape:
    changed = answers("change_coupon", 200, "Changed.", "CouponShown", "ETag")
    return entry(
        "change_coupon",
        TAG,
        "What it is from now on",
        "The whole document, with the same code. Stored quotes keep what they say.",
        {**changed, **refusals(*CHANGES, *BODY)},
        sent=body("change_coupon", "Coupon"),
    )


def _stop() -> Shape:
    stopped = answers("stop_coupon", 200, "Stopped.", "CouponShown", "ETag")
    return entry(
        "stop_coupon",
        TAG,
        "Take a coupon no more",
        "No document can name it from now on. Quotes that have it keep it, and can be accepted.",
        {**stopped, **refusals(*CHANGES, 422)},
    )
