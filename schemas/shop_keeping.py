"""A shop's settings and labour standards as resources, with their versions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson

from schemas.labour import LABOUR_STANDARD_DOCUMENT, dump_labour_standard
from schemas.materials.records import StandardRecord
from schemas.quotes.records import ShopRecord
from schemas.shop import SHOP_DOCUMENT, dump_shop, load_shop
from schemas.wire.document import read
from schemas.wire.figures import Json, number
from schemas.wire.shown import as_sent, shown
from service.domain.errors import Fault, JobRefused
from service.domain.labour.standard import LabourStandard
from service.domain.shop import Shop

TOLD = ("version", "in_use")


def shop_document(record: ShopRecord) -> Json:
    """The settings as they are shown."""
    document = shown(SHOP_DOCUMENT, record.shop, record.shop.ruler)
    return {**document, "version": record.settings_version}


def read_shop(document: Any) -> Shop:
    """The settings that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    return load_shop(as_sent(document, ("version",)))


def standard_document(record: StandardRecord, *, with_costs: bool) -> Json:
    """A standard as it is shown; what an hour costs only to those who may see costs."""
    standard = record.standard
    document: Json = {"code": standard.code}
    written = dump_labour_standard(standard)
    if with_costs:
        document["cost_per_hour"] = number(standard.cost_per_hour)
        document["hour"] = written.get("hour")
    document["operations"] = written["operations"]
    document["multipliers"] = written.get("multipliers", [])
    return {**document, "in_use": record.in_use, "version": record.version}


def read_standard(document: Any, code: str = "") -> LabourStandard:
    """The standard that a document sent for a new one, or for the standard `code`, describes.

    Where an answer comes back, its `hour` says what its `cost_per_hour` only shows rounded.

    Raises:
        JobRefused: with every fault found; among them another code than the standard's own.
    """
    plain = as_sent(document, TOLD)
    if isinstance(plain, Mapping):
        if code:
            plain = {"code": code, **plain}
        if plain.get("hour", ...) is None:
            plain = {name: part for name, part in plain.items() if name != "hour"}
        elif "hour" in plain:
            plain = {name: part for name, part in plain.items() if name != "cost_per_hour"}
        if code and plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    standard: LabourStandard = read(LABOUR_STANDARD_DOCUMENT, plain)
    return standard


class ShopKeepingDocuments:
    """Writes settings and standards for the record; see `service.app.labour`."""

    def shop(self, shop: Shop) -> bytes:
        """The settings."""
        return orjson.dumps(dump_shop(shop))

    def standard(self, standard: LabourStandard) -> bytes:
        """The standard."""
        return orjson.dumps(dump_labour_standard(standard))
