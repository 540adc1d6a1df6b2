"""A customer's quote in rows of text, for paper and page, without costs and margins.

Only named fields of the stored answer are read, so that nothing private to the shop slips in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from service.domain.letterhead import Letterhead
from service.domain.measure.ruler import Ruler
from service.printing.drawing.sheet import Drawing
from service.printing.language.phrases import told
from service.printing.language.spoken import _, day, money
from service.printing.parts.views import area_exactly, quote_front
from service.printing.parts.words import (
    LONGEST_NOTE,
    Document,
    clean,
    for_customer,
    shortened,
)

FRONT = (250, 190)
"""Width and height of a job's drawing, in points."""
NO_LETTERHEAD = Letterhead()
"""Of a shop that says no more of itself than its name."""


@dataclass(frozen=True, slots=True)
class LineRow:
    """One priced line of a job."""

    text: str
    amount: str


@dataclass(frozen=True, slots=True)
class JobRows:
    """One job: its label, drawing, sizes, lines and totals."""

    title: str
    front: Drawing
    facts: tuple[tuple[str, str], ...]
    lines: tuple[LineRow, ...]
    sums: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class QuoteRows:
    """The whole quote."""

    number: str
    shop: str
    facts: tuple[tuple[str, str], ...]
    jobs: tuple[JobRows, ...]
    sums: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def quote_sheet(quote: Document, shop: str, shop_ruler: Ruler) -> QuoteRows:
    """Return the rows of a stored quote, for a shop's name and ruler."""
    currency = str(quote["currency"])
    jobs = quote["jobs"]
    return QuoteRows(
        number=clean(quote["number"], 40),
        shop=clean(shop),
        facts=tuple(_facts(quote)),
        jobs=tuple(
            _job(job, at, len(jobs), currency, shop_ruler) for at, job in enumerate(jobs, start=1)
        ),
        sums=(*_own_lines(quote, currency), *_sums(quote["totals"], currency)),
        notes=(*for_customer(quote.get("notes", ())), *_notes(quote["totals"])),
    )


def letter_lines(head: Letterhead) -> tuple[str, ...]:
    """Return how a shop is found and reached: its address, ways to ask, hours."""
    asked = " · ".join(clean(each) for each in (head.telephone, head.email, head.website) if each)
    lines = (", ".join(map(clean, head.address)), asked, " · ".join(map(clean, head.hours)))
    return tuple(line for line in lines if line)


def _facts(quote: Document) -> Iterator[tuple[str, str]]:
    customer = quote.get("customer") or {}
    if customer.get("name"):
        yield _("For"), clean(customer["name"])
    if quote.get("reference"):
        yield _("Reference"), clean(quote["reference"])
    if quote.get("revision", 1) != 1:
        yield _("Revision"), str(quote["revision"])
    if quote.get("created_at"):
        yield _("Made"), day(clean(quote["created_at"], 40)[:10])
    if quote.get("valid_until"):
        yield _("Valid until"), day(clean(quote["valid_until"], 40))


def _job(job: Document, at: int, jobs: int, currency: str, shop_ruler: Ruler) -> JobRows:
    label = clean(job["label"])
    place = f"{at}. " if jobs > 1 else ""
    return JobRows(
        title=f"{place}{label or _('Framing')}",
        front=quote_front(job, shop_ruler, *FRONT),
        facts=tuple(_job_facts(job, shop_ruler)),
        lines=tuple(_lines(job, currency)),
        sums=tuple(_job_sums(job, currency)),
    )


def _job_facts(job: Document, shop_ruler: Ruler) -> Iterator[tuple[str, str]]:
    sizes = job["sizes"]
    yield _("Quantity"), str(job["quantity"])
    for name, key in (("Mat and glazing", "package"), ("Outside", "outside")):
        if sizes.get(key):
            yield _(name), area_exactly(shop_ruler, sizes[key])
    for advisory in job.get("advisories", ()):
        if advisory.get("overridden"):
            words = f"{told(advisory['message'])}: {advisory['overridden']}"
            yield _("By agreement"), clean(words, 400)
    for found in job.get("condition", ()):
        words = ": ".join(part for part in (found["description"], found["words"]) if part)
        yield _("Condition"), clean(" ".join(words.split()), LONGEST_NOTE)
    for note in for_customer(job.get("notes", ())):
        yield _("Note"), note


def _line_text(line: Document) -> str:
    """Return the text of a line: the component in words, then the item."""
    component = clean(line["component"], 40).replace("_", " ").capitalize()
    described = clean(line["description"])
    if described.lower() in ("", component.lower()):
        return _(component)
    return f"{_(component)}: {described}"


def _lines(job: Document, currency: str) -> Iterator[LineRow]:
    """Yield the price by the shop's groups; by its lines in an answer of an early release."""
    for group in job.get("groups", ()):
        words = ", ".join(clean(each, 80) for each in group["told"])
        name = _(clean(group["name"]))
        yield LineRow(f"{name}: {words}" if words else name, money(currency, group["amount"]))
    if "groups" not in job:
        for line in job["lines"]:
            yield LineRow(_line_text(line), money(currency, line["amount"]))


def _job_sums(job: Document, currency: str) -> Iterator[tuple[str, str]]:
    yield _("Subtotal"), money(currency, job["subtotal"])
    if Fraction(job.get("discount") or "0"):
        yield _("Discount"), money(currency, f"-{job['discount']}")


def _own_lines(quote: Document, currency: str) -> Iterator[tuple[str, str]]:
    """Yield the lines of the order itself."""
    for line in quote.get("lines", ()):
        yield clean(line["description"]), money(currency, line["amount"])


def _sums(totals: Document, currency: str) -> Iterator[tuple[str, str]]:
    yield _("Subtotal"), money(currency, totals["subtotal"])
    if Fraction(totals["discount"]):
        yield _("Discount"), money(currency, f"-{totals['discount']}")
    included = totals.get("tax_included")
    words = _("of which {tax}, {percent} %") if included else _("plus {tax}, {percent} %")
    for tax in totals.get("taxes") or ():
        name = clean(tax["name"], 60)
        percent = shortened(tax["percent"], 3)
        yield words.format(tax=name, percent=percent), money(currency, tax["amount"])
    yield _("Total"), money(currency, totals["total"])


def _notes(totals: Document) -> Iterator[str]:
    unknown = totals.get("tax_unknown") or ()
    if unknown:
        names = ", ".join(clean(name, 40) for name in unknown)
        yield _("Tax is not in this total: the rate for {names} is not known.", names=names)
    yield _(
        "Where a picture hangs by doors, stairs or beds, local building codes decide the glazing."
    )
