"""A customer's quote on paper, without costs: one page for one job."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.letterhead import Letterhead
from service.domain.measure.ruler import Ruler
from service.printing.language.spoken import _, day, money
from service.printing.parts import barcode
from service.printing.parts.picture import Picture, picture
from service.printing.parts.press import Sheet, press
from service.printing.parts.words import Document, clean
from service.printing.quotes.rows import NO_LETTERHEAD, JobRows, LineRow, letter_lines, quote_sheet

SOLD = ("accepted", "in_work", "done")


@dataclass(frozen=True, slots=True)
class JobPaper:
    """One job: its picture, its sizes, its priced lines."""

    title: str
    front: Picture
    facts: tuple[tuple[str, str], ...]
    lines: tuple[LineRow, ...]
    sums: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several offers, to be ticked."""

    name: str
    total: str
    shown: bool


@dataclass(frozen=True, slots=True)
class Logo:
    """The shop's logo: the bytes of a PNG or SVG image."""

    form: str
    data: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotePaper(Sheet):
    """The whole quote; `sold` says that it is accepted, in words."""

    number: str
    code: str
    logo: Logo | None
    letter: tuple[str, ...]
    terms: str
    facts: tuple[tuple[str, str], ...]
    jobs: tuple[JobPaper, ...]
    sums: tuple[tuple[str, str], ...]
    below: tuple[tuple[str, str], ...]
    choices: tuple[Choice, ...]
    notes: tuple[str, ...]
    sold: str


def quote_pdf(
    quote: Document,
    shop: str,
    shop_ruler: Ruler,
    paper: str = "letter",
    letterhead: Letterhead = NO_LETTERHEAD,
) -> bytes:
    """Return the quote as PDF on "letter" or "a4"."""
    sheet = quote_sheet(quote, shop, shop_ruler)
    return press(
        "quote",
        QuotePaper(
            title=_("Quote {number}", number=sheet.number),
            foot=f"{sheet.shop} · {_('Quote {number}', number=sheet.number)}",
            shop=sheet.shop,
            day=clean(quote.get("created_at", ""), 40)[:10],
            paper=paper,
            unit=shop_ruler.unit,
            number=sheet.number,
            code=barcode.svg(sheet.number),
            logo=_logo(letterhead.logo),
            letter=letter_lines(letterhead),
            terms=clean(" ".join(letterhead.terms.split()), 2_000),
            facts=sheet.facts,
            jobs=tuple(_job(job) for job in sheet.jobs),
            sums=sheet.sums,
            below=tuple(_below(quote)),
            choices=tuple(_choices(quote)),
            notes=sheet.notes,
            sold=_sold(quote),
        ),
    )


def _job(job: JobRows) -> JobPaper:
    return JobPaper(job.title, picture(job.front), job.facts, job.lines, job.sums)


def _logo(url: str) -> Logo | None:
    """Return the image of a data URL (RFC 2397), as `schemas.shop.letterhead` accepts it."""
    if not url:
        return None
    form, _, data = url.removeprefix("data:image/").partition(";base64,")
    return Logo("svg" if form == "svg+xml" else form, tuple(base64.b64decode(data)))


def _below(quote: Document) -> Iterator[tuple[str, str]]:
    if quote.get("deposit_due"):
        yield _("Deposit on acceptance"), money(quote["currency"], quote["deposit_due"])


def _choices(quote: Document) -> Iterator[Choice]:
    for row in quote.get("choices") or ():
        name = clean(row["choice"] or _("As first quoted"), 60)
        total = money(row["currency"], row["total"])
        yield Choice(name, total, row["revision"] == quote["revision"])


def _sold(quote: Document) -> str:
    """Return in words that the quote is accepted, and for when; empty if it is not."""
    if quote.get("status") not in SOLD:
        return ""
    if quote.get("promised"):
        return _("Accepted; ready on {day}", day=day(quote["promised"]))
    return _("Accepted")
