"""The customer's quote on paper and page: its figures, and nothing that is the shop's alone."""

from __future__ import annotations

from io import BytesIO
from xml.etree import ElementTree as Tree

import pytest
from pypdf import PdfReader

from service.domain.jobs.job import FrameSpec
from service.domain.letterhead import Letterhead
from service.printing.language.spoken import speaking
from service.printing.parts.views import quote_front, ticket_front
from service.printing.quotes.html import quote_drawing, quote_html
from service.printing.quotes.paper import quote_pdf
from service.printing.quotes.text import quote_text
from tests.domain.bench_shop import basis
from tests.domain.tickets.shop_jobs import six_windows, spec
from tests.printing.printed import printed_quote, printed_ticket
from tests.printing.tickets.test_tickets import HOSTILE, parsed, pdf_text, squeezed

RULER = basis().shop.ruler
SHOP = "Invented test shop"


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_paper_says_what_the_document_says(paper: str) -> None:
    quote = printed_quote(spec(), six_windows(quantity=5))
    text = squeezed(pdf_text(quote_pdf(quote, SHOP, RULER, paper)))
    for job in quote["jobs"]:
        for group in job["groups"]:
            assert squeezed(f"USD {group['amount']}") in text
            assert squeezed(group["name"]) in text
            for told in group["told"]:
                assert squeezed(told) in text
        assert squeezed(f"USD {job['subtotal']}") in text
    totals = quote["totals"]
    assert squeezed(f"USD {totals['total']}") in text
    assert squeezed(f"USD -{totals['discount']}") in text
    assert squeezed("County, 7.25 %") in text
    assert "M.Okafor" in text
    assert "2026-12-25" in text


def test_costs_never_reach_the_customer() -> None:
    """Figures that only the shop sees stand in the stored document and not on paper or page."""
    costs = {"cost": "777.77", "margin": "0.7777", "markup": "7.7777"}
    quote = printed_quote(spec(), costs={"jobs": [costs], **costs})
    quote["jobs"][0]["costs"] = costs
    quote["jobs"][0]["lines"][0]["cost"] = "777.77"
    text = pdf_text(quote_pdf(quote, SHOP, RULER)) + quote_html(quote, SHOP, RULER)
    assert "777" not in text
    assert "markup" not in text.lower()


def test_an_unknown_tax_is_said_and_not_guessed() -> None:
    quote = printed_quote(spec())
    quote["totals"] = {**quote["totals"], "tax": None, "taxes": [], "tax_unknown": ["goods"]}
    assert "the rate for goods is not known" in quote_html(quote, SHOP, RULER)


@pytest.mark.parametrize("label", HOSTILE[::3], ids=range(len(HOSTILE[::3])))
def test_a_hostile_label_or_name_prints_safely(label: str) -> None:
    quote = printed_quote(spec(), reference=label, customer={"name": label})
    quote["jobs"][0]["label"] = label
    markup = parsed(quote_html(quote, SHOP, RULER))
    assert "script" not in markup.tags
    assert "img" not in markup.tags
    assert len(PdfReader(BytesIO(quote_pdf(quote, SHOP, RULER))).pages) <= 2


def test_the_front_of_a_quote_is_the_front_of_its_ticket() -> None:
    for asked in (spec(), six_windows(), spec(frames=(FrameSpec("OAK"), FrameSpec("LIP")))):
        job = printed_quote(asked)["jobs"][0]
        on_ticket = ticket_front(printed_ticket(asked), 250, 190)
        assert quote_front(job, RULER, 250, 190).marks == on_ticket.marks


def test_the_drawing_of_a_quote_is_an_svg_file() -> None:
    job = printed_quote(spec(frames=()))["jobs"][0]
    root = Tree.fromstring(quote_drawing(job, RULER))  # noqa: S314 — made here, a moment ago
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert any("16 1/8 x 19 3/4" in (node.text or "") for node in root.iter())


def test_a_quote_is_written_in_the_shops_language() -> None:
    """Sentences of the catalogue; amounts and days by CLDR (de-DE: 1.234,50 €), from memory."""
    quote = printed_quote(spec(), six_windows(quantity=50), currency="EUR")
    with speaking("de-DE"):
        page = quote_html(quote, SHOP, RULER)
        text = pdf_text(quote_pdf(quote, SHOP, RULER))
    total = quote["totals"]["total"]
    whole, cents = total.split(".")
    written = f"{int(whole):,}".replace(",", ".") + f",{cents}\u00a0€"
    for printed in (page, text):
        assert "Angebot Q000123-4" in printed
        assert "25. Dezember 2026" in printed
        assert squeezed(written) in squeezed(printed)
        assert squeezed("zuzüglich County, 7,25 %") in squeezed(printed)
    assert len(whole) > 3  # there is a separator to be seen
    assert '<html lang="de">' in page
    assert "Quote" not in page


def test_a_percentage_is_shown_no_finer_than_it_is_read() -> None:
    """400 / 19 is 21.05263…, which is not a figure to say aloud."""
    quote = printed_quote(spec())
    quote["jobs"][0] |= {"percent_off": "21.052632", "discount": "1.00"}
    quote["totals"]["taxes"] = [{"name": "Tax", "percent": "9.975", "amount": "1.00"}]
    assert "less ≈21.05 % for quantity" in quote_text(quote, "in")
    assert "plus Tax, 9.975 %" in quote_html(quote, SHOP, RULER)


def test_a_line_is_not_named_twice() -> None:
    quote = printed_quote(spec())
    job = quote["jobs"][0]
    job.pop("groups", None)
    job["lines"] = [{**job["lines"][0], "component": "mat", "description": "Mat"}]
    assert "Mat: Mat" not in quote_html(quote, SHOP, RULER)


HEAD = Letterhead(
    address=("12 Harbour Row", "Brinemouth"),
    telephone="555 0100",
    hours=("Tue to Sat, 10 to 6",),
    terms="Please collect within 60 days.",
    logo="data:image/png;base64,"
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
)
CHOICES = [
    {"revision": 1, "choice": None, "currency": "USD", "total": "508.01"},
    {"revision": 2, "choice": "Plain glass", "currency": "USD", "total": "478.01"},
]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_quote_of_one_job_takes_one_page_with_all_that_is_agreed(paper: str) -> None:
    quote = printed_quote(spec(), deposit_due="254.01", choices=CHOICES)
    data = quote_pdf(quote, SHOP, RULER, paper, HEAD)
    assert len(PdfReader(BytesIO(data)).pages) == 1
    text = squeezed(pdf_text(data))
    for told in (*HEAD.address, HEAD.telephone, *HEAD.hours, HEAD.terms, "254.01"):
        assert squeezed(told) in text
    assert squeezed("Plain glass") in text
    assert "478.01" in text
    assert squeezed("Accepted: signature") in text
    (image,) = PdfReader(BytesIO(data)).pages[0].images
    assert image.image.size == (1, 1)  # the logo


def test_an_accepted_quote_looks_accepted() -> None:
    quote = printed_quote(spec(), status="accepted", promised="2026-12-03", choices=CHOICES)
    text = squeezed(pdf_text(quote_pdf(quote, SHOP, RULER)))
    assert squeezed("Accepted; ready on 2026-12-03") in text
    assert "signature" not in text
    assert squeezed("Plain glass") not in text


def test_the_letterhead_is_on_the_page_too() -> None:
    page = quote_html(printed_quote(spec()), SHOP, RULER, HEAD)
    assert "555 0100" in page
    assert "Please collect within 60 days." in page
