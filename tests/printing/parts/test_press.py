"""Papers as files: tagged, the same each time, whole in every script, and closed to the outside.

The checks of tags, language, title and fonts are general PDF libraries' (pikepdf, pdfplumber); no
PDF/UA checker is to be had from the registries. The typesetter refuses what PDF/UA-1 forbids.
"""

from __future__ import annotations

import re
import time
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
import typst
import zxingcpp

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.mat import Grid
from service.printing.cutting.label import STOCKS, labels_pdf
from service.printing.parts.font_folder import FOLDER
from service.printing.parts.fonts import fonts_for, named
from service.printing.parts.press import TEMPLATES
from service.printing.quotes.paper import quote_pdf
from service.printing.tickets.card import ticket_pdf
from tests.domain.bench_shop import basis, inch, size
from tests.domain.tickets.shop_jobs import six_windows, spec
from tests.printing.printed import HEAD, printed_quote, printed_ticket
from tests.printing.tickets.test_tickets import pdf_text

OFFCUT = {
    "label": "R100014",
    "item": "WHITE",
    "width": {"shop": "12 3/8"},
    "height": {"shop": "20"},
    "place": "rack 3",
}


def card(**more: object) -> bytes:
    return ticket_pdf(printed_ticket(spec(), **more), HEAD)


PAPERS = {
    "card": card,
    "quote": lambda: quote_pdf(printed_quote(spec()), "Invented shop", basis().shop.ruler),
    "labels": lambda: labels_pdf([OFFCUT], "in"),
}


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_is_tagged_and_has_a_language_and_a_title(name: str) -> None:
    """ISO 14289-1: 7.1 (tags, title shown), 7.2 (language), 7.21 (fonts in the file)."""
    with pikepdf.open(BytesIO(PAPERS[name]())) as pdf:
        root = pdf.Root
        assert root.MarkInfo.Marked
        assert str(root.Lang) == "en"
        assert root.ViewerPreferences.DisplayDocTitle
        assert "/StructTreeRoot" in root
        with pdf.open_metadata() as told:
            assert told["pdfuaid:part"] == "1"
            assert told["dc:title"]
        assert all("/StructParents" in page for page in pdf.pages)
        for page in pdf.pages:
            for font in page.Resources.Font.values():
                (inner,) = font.DescendantFonts
                assert {"/FontFile2", "/FontFile3"} & {*inner.FontDescriptor.keys()}
                assert "/ToUnicode" in font


@pytest.mark.parametrize("name", PAPERS)
def test_every_picture_on_a_paper_has_words(name: str) -> None:
    """ISO 14289-1, 7.3: a figure has an alternative text."""
    figures = []

    def walk(node: pikepdf.Object) -> None:
        if isinstance(node, pikepdf.Array):
            for child in node:
                walk(child)
        elif isinstance(node, pikepdf.Dictionary):
            if node.get("/S") == "/Figure":
                figures.append(str(node.get("/Alt", "")))
            if "/K" in node:
                walk(node.K)

    with pikepdf.open(BytesIO(PAPERS[name]())) as pdf:
        walk(pdf.Root.StructTreeRoot)
    assert figures
    assert all(figures)


@pytest.mark.parametrize("name", PAPERS)
def test_the_same_document_gives_the_same_bytes_in_any_thread(name: str) -> None:
    with ThreadPoolExecutor(4) as threads:
        made = [*threads.map(lambda _: PAPERS[name](), range(6))]
    assert len({*made}) == 1


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_code_on_the_card_reads_as_the_ticket_s_number(paper: str) -> None:
    """Rendered at 150 dots per inch by PDFium and read by a general reader, zxing-cpp."""
    page = pypdfium2.PdfDocument(ticket_pdf(printed_ticket(spec()), HEAD, paper))[0]
    picture = np.array(page.render(scale=150 / 72, grayscale=True).to_pil())
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == (HEAD.ticket or HEAD.number)


@pytest.mark.parametrize("stock", STOCKS)
def test_the_code_on_a_label_reads_as_the_offcut_s(stock: str) -> None:
    page = pypdfium2.PdfDocument(labels_pdf([OFFCUT], "in", stock))[0]
    picture = np.array(page.render(scale=203 / 72, grayscale=True).to_pil())
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == "R100014"


MILLIMETRES = {"62x29": (62, 29), "50x25": (50, 25), "a4": (210, 297), "letter": (215.9, 279.4)}


@pytest.mark.parametrize("stock", STOCKS)
def test_labels_fill_the_rows_of_their_stock(stock: str) -> None:
    pages = pypdfium2.PdfDocument(labels_pdf([OFFCUT] * 25, "in", stock))
    wide, high = MILLIMETRES[stock]
    assert [round(side * 25.4 / 72, 1) for side in pages[0].get_size()] == [wide, high]
    assert len(pages) == {"a4": 2, "letter": 1}.get(stock, 25)


@pytest.fixture
def no_more_fonts() -> object:
    kept = FOLDER[:]
    FOLDER[:] = []
    yield
    FOLDER[:] = kept


@pytest.mark.usefixtures("no_more_fonts")
@pytest.mark.parametrize(
    ("label", "told"),
    [
        ("日本 frame", "[U+65E5 U+672C] frame"),
        ("🖼", "[U+1F5BC]"),
        ("हिन्दी", "[U+0939 U+093F U+0928 U+094D U+0926 U+0940]"),
    ],
)
def test_what_no_font_has_is_named_by_its_code_points(label: str, told: str) -> None:
    text = pdf_text(card(label=label))
    assert told in text
    assert "\ufffd" not in text


def test_shipped_fonts_have_the_letters_of_europe_and_of_hebrew_and_arabic() -> None:
    text = "Größe œuvre Łódź Ελληνικά Кириллица שלום مرحبا ½ × ≈ ° → □"
    assert fonts_for(text)[1] == text


def test_a_letter_and_a_mark_that_no_single_font_has_do_not_stop_the_paper() -> None:
    assert ticket_pdf(printed_ticket(spec(), label="б\u05b0ب\u0363"), HEAD).startswith(b"%PDF")


def test_only_characters_that_are_lacking_are_named() -> None:
    assert named("a日b", set()) == "a日b"
    assert named("]日-本^", {"日", "本", "^"}) == "][U+65E5]-[U+672C U+005E]"


def test_text_is_never_taken_for_markup() -> None:
    told = '#panic("x") $x^2$ *b* _i_ `code` <label> @ref // not a comment'
    assert told.replace(" ", "") in pdf_text(card(label=told)).replace(" ", "").replace("\n", "")


def test_templates_have_no_loop_of_their_own_and_read_nothing_else() -> None:
    """So the time a paper takes is bounded by its document, whose size the service limits."""
    for path in TEMPLATES.glob("*.typ"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\bwhile\b|\bread\(|\bplugin\(|@preview|@local", text), path.name
        assert {*re.findall(r'#import "([^"]+)"', text)} <= {"common.typ"}


@pytest.mark.parametrize("what", ['read("/etc/passwd")', 'read("../press.py")'])
def test_the_typesetter_reads_nothing_outside_the_templates(tmp_path: Path, what: str) -> None:
    with pytest.raises(typst.TypstError):
        typst.compile(f"#{what}".encode(), root=TEMPLATES)


def test_a_large_ticket_takes_seconds_at_most() -> None:
    """A hundred windows in two mats, the largest grid that a job may ask for in one mat."""
    asked = six_windows(
        artwork=Artwork(size("2 x 2")), openings=Grid(10, 10, inch("1/2")), label="Hundred"
    )
    document = printed_ticket(asked)
    began = time.process_time()
    ticket_pdf(document, HEAD)
    assert time.process_time() - began < 10
