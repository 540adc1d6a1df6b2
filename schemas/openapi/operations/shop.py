"""The shop's settings and its labour standards in the OpenAPI document."""

from __future__ import annotations

from apispec import APISpec

from schemas import labour, shop
from schemas.openapi.operations.records import (
    BODY,
    CHANGES,
    LIFE,
    ONE,
    READS,
    UNCHANGED,
    add_change,
    add_record,
    answers,
    body,
    entry,
    shown_shape,
)
from schemas.openapi.parts import parameters, refusals
from schemas.openapi.requests import schema_name
from schemas.openapi.shapes import NEXT, Shape, listed, object_shape, or_null, ref, truth
from schemas.wire.document import Document

VERSION: Shape = {"version": LIFE["version"]}
IN_USE = truth("Whether it is the one that is worked by.")
SHOP = shop.ShopDocument()
STANDARD = labour.LabourStandardDocument()


def shop_answers() -> dict[str, Shape]:
    """Return the shapes of the answers."""
    standard = shown_shape(STANDARD, "")["properties"]
    costs = {
        "cost_per_hour": {
            **standard.pop("cost_per_hour"),
            "description": "What an hour at the bench costs; only for keys that may see costs.",
        },
        "hour": or_null("Hour", "What the hour is made of; null where it is not told."),
    }
    del standard["hour"]
    return {
        "ShopShown": shown_shape(SHOP, "A shop, with every setting.", VERSION),
        "LabourStandardShown": object_shape(
            "A labour standard.", {**standard, "in_use": IN_USE, **VERSION}, costs
        ),
        "LabourStandardList": object_shape(
            "All labour standards of a shop.",
            {"items": listed(ref("LabourStandardShown"), "All of them."), "next": NEXT},
        ),
    }


def add_shop_requests(spec: APISpec) -> None:
    """Add the request documents to the components."""
    documents: tuple[tuple[Document, tuple[str, ...]], ...] = (
        (SHOP, ("version",)),
        (STANDARD, ("in_use", "version")),
    )
    for document, told in documents:
        add_record(spec, document, told)
    standard = spec.components.schemas[schema_name(STANDARD)]["properties"]
    standard["hour"] = or_null("Hour", standard["hour"]["description"])
    add_change(spec, STANDARD)


def shop_paths() -> dict[str, Shape]:
    """Return the paths."""
    return {
        "/v1/shop": {"get": _get_shop(), "put": _change_shop()},
        "/v1/labour-standards": {"get": _list(), "post": _create()},
        "/v1/labour-standards/{code}": {
            "parameters": parameters("code"),
            "get": _get(),
            "put": _change(),
        },
        "/v1/labour-standards/{code}/use": {"parameters": parameters("code"), "post": _use()},
    }


def _get_shop() -> Shape:
    return entry(
        "get_shop",
        "Shop",
        "The shop's settings, every one of them",
        "Settings that were never changed are shown with their defaults.",
        {
            **answers("get_shop", 200, "They.", "ShopShown", "ETag"),
            **UNCHANGED,
            **refusals(*READS),
        },
    )


def _change_shop() -> Shape:
    return entry(
        "change_shop",
        "Shop",
        "The shop's settings from now on",
        "The whole document; a setting that is left out goes back to its default. "
        "Stored quotes keep the settings that they were worked out with.",
        {
            **answers("change_shop", 200, "Changed.", "ShopShown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
        sent=body("change_shop", "Shop"),
    )


def _list() -> Shape:
    return entry(
        "list_labour_standards",
        "Shop",
        "The shop's labour standards",
        "All of them; there are few. The cost of an hour is only for keys that may see costs.",
        {
            **answers("list_labour_standards", 200, "All of them.", "LabourStandardList"),
            **refusals(*READS),
        },
    )


def _create() -> Shape:
    return entry(
        "create_labour_standard",
        "Shop",
        "A new standard",
        "The first of a shop is in use at once; another one when it is put in use.",
        {
            **answers(
                "create_labour_standard", 201, "Stored.", "LabourStandardShown", "Location", "ETag"
            ),
            **refusals(400, 401, 403, 409, *BODY, 503),
        },
        sent=body("create_labour_standard", "LabourStandard"),
    )


def _get() -> Shape:
    return entry(
        "get_labour_standard",
        "Shop",
        "One standard",
        "The cost of an hour is only for keys that may see costs.",
        {
            **answers("get_labour_standard", 200, "It.", "LabourStandardShown", "ETag"),
            **UNCHANGED,
            **refusals(*ONE),
        },
    )


def _change() -> Shape:
    return entry(
        "change_labour_standard",
        "Shop",
        "What it is from now on",
        "The whole document. Stored quotes keep the minutes of their day.",
        {
            **answers("change_labour_standard", 200, "Changed.", "LabourStandardShown", "ETag"),
            **refusals(*CHANGES, *BODY),
        },
        sent=body("change_labour_standard", "LabourStandardChange"),
    )


def _use() -> Shape:
    return entry(
        "use_labour_standard",
        "Shop",
        "Work by it from now on",
        "The standard that was in use before stays stored. Stored quotes keep "
        "the minutes they were calculated with.",
        {
            **answers("use_labour_standard", 200, "It is in use.", "LabourStandardShown", "ETag"),
            **refusals(*CHANGES, 422),
        },
    )
