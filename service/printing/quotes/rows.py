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
from service.printing.parts.views import quote_front
from service.printing.parts.words import LONGEST_NOTE, Document, area, clean, for_customer

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
        yield "For", clean(customer["name"])
    if quote.get("reference"):
        yield "Reference", clean(quote["reference"])
    if quote.get("revision", 1) != 1:
        yield "Revision", str(quote["revision"])
    if quote.get("created_at"):
        yield "Made", clean(quote["created_at"], 40)[:10]
    if quote.get("valid_until"):
        yield "Valid until", clean(quote["valid_until"], 40)


def _job(job: Document, at: int, jobs: int, currency: str, shop_ruler: Ruler) -> JobRows:
    label = clean(job["label"])
    number = f"{at}. " if jobs > 1 else ""
    return JobRows(
        title=f"{number}{label or 'Framing'}",
        front=quote_front(job, shop_ruler, *FRONT),
        facts=tuple(_job_facts(job, shop_ruler.unit)),
        lines=tuple(_lines(job, currency)),
        sums=tuple(_job_sums(job, currency)),
    )


def _job_facts(job: Document, unit: str) -> Iterator[tuple[str, str]]:
    sizes = job["sizes"]
    yield "Quantity", str(job["quantity"])
    for name, key in (("Mat and glazing", "package"), ("Outside", "outside")):
        if sizes.get(key):
            yield name, area(sizes[key], unit)
    for advisory in job.get("advisories", ()):
        if advisory.get("overridden"):
            yield "By agreement", clean(f"{advisory['message']}: {advisory['overridden']}", 400)
    for found in job.get("condition", ()):
        told = ": ".join(part for part in (found["description"], found["words"]) if part)
        yield "Condition", clean(" ".join(told.split()), LONGEST_NOTE)
    for note in for_customer(job.get("notes", ())):
        yield "Note", note


def _line_text(line: Document) -> str:
    """Return the text of a line: the component in words, then the item."""
    component = clean(line["component"], 40).replace("_", " ").capitalize()
    described = clean(line["description"])
    return f"{component}: {described}" if described else component


def _lines(job: Document, currency: str) -> Iterator[LineRow]:
    """Yield the price by the shop's groups; by its lines in an answer of an early release."""
    for group in job.get("groups", ()):
        told = ", ".join(clean(each, 80) for each in group["told"])
        name = clean(group["name"])
        yield LineRow(f"{name}: {told}" if told else name, f"{currency} {group['amount']}")
    if "groups" not in job:
        for line in job["lines"]:
            yield LineRow(_line_text(line), f"{currency} {line['amount']}")


def _job_sums(job: Document, currency: str) -> Iterator[tuple[str, str]]:
    yield "Subtotal", f"{currency} {job['subtotal']}"
    if Fraction(job.get("discount") or "0"):
        yield "Discount", f"{currency} -{job['discount']}"


def _own_lines(quote: Document, currency: str) -> Iterator[tuple[str, str]]:
    """Yield the lines of the order itself."""
    for line in quote.get("lines", ()):
        yield clean(line["description"]), f"{currency} {line['amount']}"


def _sums(totals: Document, currency: str) -> Iterator[tuple[str, str]]:
    yield "Subtotal", f"{currency} {totals['subtotal']}"
    if Fraction(totals["discount"]):
        yield "Discount", f"{currency} -{totals['discount']}"
    word = "of which" if totals.get("tax_included") else "plus"
    for tax in totals.get("taxes") or ():
        name = clean(tax["name"], 60)
        yield f"{word} {name}, {tax['percent']} %", f"{currency} {tax['amount']}"
    yield "Total", f"{currency} {totals['total']}"


def _notes(totals: Document) -> Iterator[str]:
    unknown = totals.get("tax_unknown") or ()
    if unknown:
        names = ", ".join(clean(name, 40) for name in unknown)
        yield f"Tax is not in this total: the rate for {names} is not known."
    yield "Where a picture hangs by doors, stairs or beds, local building codes decide the glazing."
