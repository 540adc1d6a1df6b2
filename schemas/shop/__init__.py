"""The shop's document: all its settings; omitted ones keep the domain's defaults.

A dumped document contains every setting, so that a shop sees what it can change.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from babel import Locale, UnknownLocaleError

from schemas.shop.letterhead import LetterheadDocument
from schemas.shop.settings import (
    BenchDocument,
    BillingDocument,
    ChargingDocument,
    ConditionTermDocument,
    DiscountLimitDocument,
    HangingDocument,
    JoiningDocument,
    LineGroupDocument,
    MethodDocument,
    OrderingDocument,
    PriceLevelDocument,
    QuoteFormDocument,
    RulerDocument,
    SafetyDocument,
    SizingDocument,
    TaxationDocument,
)
from schemas.wire.base import WireField
from schemas.wire.document import Part, Resource, Several, read
from schemas.wire.faults import refusal
from schemas.wire.fields import Code, StrictInteger, Words, currency_of
from schemas.wire.figures import Json
from schemas.wire.lengths import UNITS
from schemas.wire.shown import as_sent, shown
from service.domain.errors import BadValue, Fault, JobRefused
from service.domain.shop import Shop, distinct


class CurrencyCode(WireField[str]):
    """An ISO 4217 code of a supported currency."""

    def json_shape(self) -> dict[str, object]:
        """Return a pattern of three capital letters."""
        return {"type": "string", "pattern": "^[A-Z]{3}$"}

    def read(self, value: Any) -> str:
        """Return the code."""
        return currency_of(value).code


class TimeZoneField(WireField[str]):
    """The IANA name of a time zone, in which the shop's days begin and end."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of a name such as Europe/Lisbon."""
        return {"type": "string", "maxLength": 64}

    def read(self, value: Any) -> str:
        """Return the name of a zone in this machine's time zone data."""
        if type(value) is str and 0 < len(value) <= 64:
            try:
                return ZoneInfo(value).key
            except (OSError, ValueError, LookupError):
                pass  # not a zone, or not a valid name
        raise refusal("bad_choice", "a time zone is an IANA name, as in Europe/Lisbon")


class LocaleField(WireField[str]):
    """A locale of CLDR, as in de-CH: the language and region of the shop's papers."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of a language, a script and a region."""
        return {"type": "string", "maxLength": 16}

    def read(self, value: Any) -> str:
        """Return the tag of a locale that CLDR has, or nothing for plain English."""
        if value == "":
            return ""
        if type(value) is str and len(value) <= 16:
            try:
                return str(Locale.parse(value, sep="-")).replace("_", "-")
            except (ValueError, UnknownLocaleError):
                pass  # not a tag, or not a locale
        raise refusal("bad_choice", "a locale is a language, perhaps with a region, as in de-CH")


class ShopDocument(Resource):
    """One shop."""

    makes = Shop
    code = Code(required=True, means="The shop's code; it never changes.")
    name = Words(shortest=1, longest=120, required=True, means="The shop's name.")
    currency = CurrencyCode(required=True, means="The currency of the shop's costs (ISO 4217).")
    time_zone = TimeZoneField(
        required=True, means="The IANA time zone in which its days begin and end."
    )
    locale = LocaleField(
        means=(
            "The language of the shop's papers, and how they write numbers and days, as in "
            "de-CH. Empty: English, with plain figures and days as in 2026-12-25."
        )
    )
    ruler = Part(RulerDocument, required=True, means="The ruler that the bench reads lengths off.")
    letterhead = Part(
        LetterheadDocument, means="How the shop names itself on its papers and on the quote form."
    )
    quote_valid_days = StrictInteger(
        least=1, most=3_650, means="The number of days that a quote is valid."
    )
    discount_limits = Several(
        Part(DiscountLimitDocument),
        most=2,
        means=(
            "The largest discounts by hand. A scope without a limit may give none; "
            "admin is not limited."
        ),
    )
    sizing = Part(SizingDocument, means="The settings from which sizes follow.")
    bench = Part(BenchDocument, means="The reach of the board cutter, and the saw's figures.")
    billing = Part(BillingDocument, means="How exact quantities are rounded to billed ones.")
    safety = Part(SafetyDocument, means="The thresholds of the warnings.")
    taxation = Part(TaxationDocument, means="How tax is charged.")
    ordering = Part(OrderingDocument, means="Deposits, and the days that work can be promised for.")
    hanging = Part(HangingDocument, means="Where rings sit behind a frame, and how long a wire is.")
    mounting = Several(Part(MethodDocument), means="The methods of mounting that jobs may choose.")
    finishing = Several(Part(MethodDocument), means="The finishings that jobs may choose.")
    groups = Several(
        Part(LineGroupDocument),
        most=20,
        means=(
            "How the lines of a job are summed for the customer. A line in no group is shown by "
            "itself."
        ),
    )
    levels = Several(
        Part(PriceLevelDocument),
        most=50,
        means="The shop's price levels: what trade customers, schools and others pay.",
    )
    charging = Part(ChargingDocument, means="An order's minimum, and how prices end.")
    quote_form = Part(
        QuoteFormDocument,
        means="What the quote form begins with, and what the public gives to be answered.",
    )
    condition_terms = Several(
        Part(ConditionTermDocument),
        means="The terms with which the condition of what comes in is recorded.",
    )
    joining = Several(
        Part(JoiningDocument),
        most=50,
        means=(
            "What frames take besides moulding, by its material: corner angles, springs and the "
            "like."
        ),
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the shop, each component of whose lines is in one group at most."""
        distinct(values.get("groups", ()))
        codes = [level.code for level in values.get("levels", ())]
        if len(set(codes)) < len(codes):
            raise BadValue("each price level has a code of its own", "/levels")
        return super().make(values)


SHOP_DOCUMENT = ShopDocument()


def load_shop(document: object) -> Shop:
    """Return the shop that a document describes; its bare lengths are in its ruler's unit.

    Raises:
        JobRefused: with every fault found.
    """
    ruler = document.get("ruler") if isinstance(document, dict) else None
    unit = ruler.get("unit") if isinstance(ruler, dict) else None
    shop: Shop = read(SHOP_DOCUMENT, document, unit=unit if unit in UNITS else "in")
    return shop


def dump_shop(shop: Shop) -> dict[str, Any]:
    """Return the document of a shop with every setting, which `load_shop` reads back."""
    document: dict[str, Any] = SHOP_DOCUMENT.dump(shop)
    return document


def dump_shop_paper(shop: Shop) -> dict[str, Any]:
    """Return what is kept of a shop's settings with each of its quotes: all but the logo."""
    return dump_shop(replace(shop, letterhead=replace(shop.letterhead, logo="")))


def shop_document(record: ShopRecord) -> Json:
    """Return the settings for display."""
    document = shown(SHOP_DOCUMENT, record.shop, record.shop.ruler)
    return {**document, "version": record.settings_version}


def read_shop(document: Any) -> Shop:
    """Return the settings that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    sent = as_sent(document, ("version",))
    twice = [*_twice(sent, *_JOINED), *_twice(sent, *_TERMS)]
    try:
        shop = load_shop(sent)
    except JobRefused as refused:
        raise JobRefused([*refused.faults(), *twice]) from None
    if twice:
        raise JobRefused(twice)
    return shop


_JOINED = "joining", "material", "frames of {} have an entry above; put what they take together"
_TERMS = "condition_terms", "code", "there is a term {} above; a job could mean either"


def _twice(document: Any, where: str, field: str, told: str) -> list[Fault]:
    """Return a fault for each entry of a list that has the name of one above it.

    Materials are the same in either case, codes are not. Settings that are stored may have such
    entries: of them the first counts.
    """
    entries = document.get(where) if isinstance(document, dict) else None
    seen, faults = set[str](), []
    for position, entry in enumerate(entries if isinstance(entries, list) else ()):
        named = entry.get(field) if isinstance(entry, dict) else None
        if not isinstance(named, str):
            continue
        plain = named.strip() if field == "code" else named.strip().lower()
        if plain in seen:
            detail = told.format(named.strip())
            faults.append(Fault(f"/{where}/{position}/{field}", "twice", detail))
        seen.add(plain)
    return faults


@dataclass(frozen=True, slots=True)
class ShopRecord:
    """A shop as stored.

    `version` grows with every change of its settings, items or prices, `settings_version` only with
    those of its settings.
    """

    id: str
    version: int
    shop: Shop
    settings_version: int
