"""Tickets on paper, page and terminal: what they say, how many pages, and that no label hurts."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from typing import Any
from xml.etree import ElementTree as Tree

import numpy as np
import pytest
import zxingcpp
from pypdf import PdfReader

from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec
from service.domain.jobs.mat import Grid, MatSpec
from service.domain.measure.length import Sides
from service.domain.shop import Bench
from service.printing.language.spoken import speaking
from service.printing.parts import barcode
from service.printing.parts.svg import svg
from service.printing.parts.views import ticket_backs, ticket_front, ticket_section
from service.printing.parts.words import clean
from service.printing.tickets.card import card, ticket_pdf
from service.printing.tickets.html import ticket_html
from service.printing.tickets.text import ticket_text
from tests.domain.bench_shop import basis, inch, size
from tests.domain.tickets.shop_jobs import sides, six_windows, spec, ticket
from tests.printing.printed import HEAD, printed_ticket

PAPERS = {"letter": (612, 792), "a4": (595.28, 841.89)}
HOSTILE = [
    "<script>alert(1)</script>",
    "<b>bold</b> & <i>more",
    '"><img src=x onerror=alert(1)>',
    "</title></svg><script>alert(2)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "a & b &amp; c &#60;",
    "<para><font size=40>huge</font>",
    "<br/>" * 40,
    "x" * 5000,
    "long words " * 400,
    "שלום עולם",
    "مرحبا بالعالم",
    "مرحبا 16 3/8 × 20 שלום",
    "\u202egnp.exe\u202c",
    "\u2066isolate\u2069 \u200b\u200e\u200f",
    "null\x00byte",
    "bell\x07 back\x08 esc\x1b[31mred\x1b[0m",
    "line\nbreak\r\ttab",
    "\x85\x9f\u2028\u2029",
    "😀🖼️ frame",
    "中文标签",
    "日本語のラベル",
    "ไทย हिन्दी",
    "Ελληνικά Кириллица",
    "é" + "\u0301" * 200,
    "’quotes’ “here” ′″",
    "\ufffd\ufffe\uffff",
    "%s %d %(x)s {0} {x}",
    "\\x41 \\u0041 \\",
    "(paren) \\(octal\\101",
    "'; DROP TABLE quotes; --",
    "../../etc/passwd",
    "javascript:alert(1)",
    "<!-- comment -->",
    "]]><![CDATA[x",
    "&nbsp;&lt;",
    "=1+1",
    "@page { size: A0 }",
    "</style><style>*{display:none}",
    "</td></tr></table>",
    "-" * 300,
    "a\u00adb\u00adc",
    "\U0010ffff\ue000",
    "½ ⅜ ≈ × °",
    " ",
    "",
    "0",
    "None",
    "A" + " " * 500 + "Z",
    "<" * 300,
]


CUT = re.compile(r"Cut .+, window \d+, (top|right|bottom|left): ")
WAY = {"guide": "", "line": "line", "straightedge": "edge"}


def pdf_text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)


def squeezed(text: str) -> str:
    """Without white space, which a PDF keeps only as distances."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


class Markup(HTMLParser):
    """The tags of a page, and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.extend(name for name, _ in attrs)

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def parsed(page: str) -> Markup:
    parser = Markup()
    parser.feed(page)
    parser.close()
    return parser


def instructions(document: dict[str, Any]) -> Iterator[str]:
    """Every line of the steps, every value that is set, and every cut as a row of its table."""
    for step in document["steps"]:
        for part in step["parts"]:
            for line in (line for line in part["lines"] if not CUT.match(line)):
                yield line.partition(", window ")[2] or line
            for change in part["changes"]:
                yield change["to"] if isinstance(change["to"], str) else change["to"]["shop"]
        for cut in step["cuts"]:
            start, stop = cut["start"], cut["stop"]
            yield (
                f"{cut['window']} {cut['side']} {WAY[cut['by']]} {cut['setting']['shop']} "
                f"{start['side']} {start['distance']['shop']} "
                f"{stop['side']} {stop['distance']['shop']}"
            )


@pytest.mark.parametrize("paper", PAPERS)
def test_a_common_job_takes_two_pages_of_the_paper(paper: str) -> None:
    data = ticket_pdf(printed_ticket(spec()), HEAD, paper)
    pages = PdfReader(BytesIO(data)).pages
    assert len(pages) <= 2
    wide, high = PAPERS[paper]
    for page in pages:
        assert abs(float(page.mediabox.width) - wide) < 0.1
        assert abs(float(page.mediabox.height) - high) < 0.1


@pytest.mark.parametrize(
    "asked", [spec(), six_windows(), spec(frames=(FrameSpec("OAK"), FrameSpec("LIP")))]
)
def test_the_paper_says_what_the_document_says(asked: Any) -> None:
    """Every piece, size, setting, start, stop, caution and minute of the JSON is on the paper."""
    document = printed_ticket(asked)
    text = squeezed(pdf_text(ticket_pdf(document, HEAD)))
    assert squeezed("Quote Q000123-4, job 1 of 2") in text
    for piece in document["pieces"]:
        for shown in (piece["name"], piece["item"], piece["description"], *piece["notes"]):
            assert squeezed(shown) in text
        if "width" in piece:
            size = f"{piece['width']['shop']} × {piece['height']['shop']}"
            assert squeezed(size) in text
        else:
            inside = piece["rabbet_length"]["shop"]
            assert squeezed(f"{inside} {piece['length']['shop']}") in text
            assert squeezed(f"mitre {piece['mitre_degrees']}°") in text
    assert all(squeezed(words) in text for words in instructions(document))
    for caution in document["cautions"].values():
        assert squeezed(caution) in text
    for advisory in document["advisories"]:
        assert squeezed(advisory["message"]) in text
    for use in document["hardware"]:
        assert squeezed(f"rated {use['rating_kg']} kg") in text


def test_the_page_and_the_terminal_say_it_too() -> None:
    document = printed_ticket(spec())
    page = squeezed("".join(parsed(ticket_html(document, HEAD)).text))
    plain = squeezed(ticket_text(document, HEAD))
    for step in document["steps"]:
        for line in (line for part in step["parts"] for line in part["lines"]):
            assert squeezed(line) in page
            assert squeezed(line) in plain
    for piece in document["pieces"]:
        assert squeezed(piece["name"]) in page
        assert squeezed(piece["item"]) in plain


@pytest.mark.parametrize("label", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_label_prints_safely(label: str) -> None:
    document = printed_ticket(spec(), label=label)
    document["pieces"][0]["description"] = label
    page = ticket_html(document, HEAD)
    markup = parsed(page)
    harmless = parsed(ticket_html(printed_ticket(spec(), label="x"), HEAD))
    assert markup.tags == harmless.tags  # not one tag more
    assert set(markup.attributes) == set(harmless.attributes)
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", page)
    data = ticket_pdf(document, HEAD)
    assert len(PdfReader(BytesIO(data)).pages) <= 3
    text = pdf_text(data)
    if label.isascii() and label.isprintable() and 2 < len(label) < 60 and label.strip():
        assert squeezed(clean(label)) in squeezed(text)
    plain = ticket_text(document, HEAD)
    assert "\x1b" not in plain
    assert max(len(line) for line in plain.splitlines()) <= 80


@pytest.mark.parametrize("label", ["שלום עולם", "مرحبا بالعالم"])
def test_right_to_left_words_are_whole_in_the_file(label: str) -> None:
    """Each word reads in its own order; this reader puts words in the order of the page."""
    text = pdf_text(ticket_pdf(printed_ticket(spec(), label=label), HEAD))
    assert all(word in text for word in label.split())


def test_the_font_is_in_the_file() -> None:
    reader = PdfReader(BytesIO(ticket_pdf(printed_ticket(spec()), HEAD)))
    fonts = [
        font.get_object()
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    ]
    inner = [font["/DescendantFonts"][0].get_object() for font in fonts]
    assert {str(font["/BaseFont"]).split("+")[1].split("-")[0] for font in inner} >= {"Inter"}
    assert all({"/FontFile2", "/FontFile3"} & {*font["/FontDescriptor"]} for font in inner)


def test_the_same_ticket_gives_the_same_bytes() -> None:
    document = printed_ticket(spec())
    assert ticket_pdf(document, HEAD) == ticket_pdf(document, HEAD)


def test_the_code_reads_as_the_number() -> None:
    """Read by a general QR reader (zxing-cpp), from the modules as they are drawn."""
    rows = np.array(barcode.modules("Q000123-4"), dtype=bool)
    quiet = np.pad(rows, barcode.QUIET)
    picture = np.where(np.kron(quiet, np.ones((6, 6), dtype=bool)), 0, 255).astype(np.uint8)
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == "Q000123-4"


def test_drawings_are_well_formed_and_hold_their_texts_to_width() -> None:
    document = printed_ticket(
        spec(
            mats=(
                MatSpec("WHITE", border=sides("3|2|3|2"), bevel="reverse"),
                MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
            )
        )
    )
    section = ticket_section(document, 260, 200)
    assert section is not None
    for drawing in (ticket_front(document, 260, 200), section, *ticket_backs(document, 260, 200)):
        root = Tree.fromstring(svg(drawing))  # noqa: S314 — made here, a moment ago
        texts = [node for node in root.iter() if node.tag.endswith("}text")]
        assert len(texts) == len(drawing.texts())
        assert all(node.get("textLength") for node in texts)
        greys = {node.get("fill") for node in root.iter()} - {None}
        # No colour is needed to read it.
        assert greys <= {"none", "#fff", "#eee", "#ccc", "#777", "#000"}


@pytest.mark.parametrize("shape", ["rectangle", "ellipse", "arch"])
@pytest.mark.parametrize("stops", [True, False])
def test_a_hundred_windows_print_whole(shape: Any, stops: bool) -> None:
    """A step of hundreds of cuts is longer than a page; not one of them may be lost."""
    asked = six_windows(
        artwork=Artwork(size("2 x 2")), openings=Grid(10, 10, inch("1/2"), shape), label="Hundred"
    )
    shop = basis(bench=Bench(stops=stops))
    document = plain(ticket_document(ticket(asked, shop)))
    text = squeezed(pdf_text(ticket_pdf(document, HEAD)))
    for step in document["steps"]:
        for cut in step["cuts"]:
            assert squeezed(f"{cut['window']} {cut['side']}") in text
    assert all(squeezed(words) in text for words in instructions(document))
    assert "\u2026" not in text
    assert "\u2026" not in ticket_html(document, HEAD)


@pytest.mark.parametrize("width", [40, 60, 80, 132])
def test_lines_in_the_terminal_keep_to_the_width(width: int) -> None:
    lines = ticket_text(printed_ticket(six_windows()), HEAD, width).splitlines()
    assert max(len(line) for line in lines) <= width
    assert "PIECES" in " ".join(lines)


def twelve_windows() -> Any:
    """Twelve 4 x 6 photographs in two rows, in two mats: 96 cuts."""
    return six_windows(
        artwork=Artwork(size("4 x 6"), inch("1/64"), "photograph"),
        openings=Grid(2, 6, inch("3/4")),
        mats=(
            MatSpec("WHITE", border=sides("2 | 2 1/4 | 2 1/2 | 1 3/4")),
            MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
        ),
    )


@pytest.mark.parametrize("paper", PAPERS)
def test_twelve_windows_in_two_mats_take_three_pages(paper: str) -> None:
    data = ticket_pdf(printed_ticket(twelve_windows()), HEAD, paper)
    assert len(PdfReader(BytesIO(data)).pages) <= 3


@pytest.mark.parametrize("asked", [spec(), six_windows(), twelve_windows()])
def test_a_window_is_one_line_with_its_four_settings(asked: Any) -> None:
    """Round from the top as the board lies; what is drawn is told by the document's own `by`."""
    document = printed_ticket(asked)
    made = card(document, HEAD, "letter")
    (station,) = (station for station in made.stations if station.name == "Mats")
    pieces = [piece for piece in document["pieces"] if piece["part"] == "mat"]
    for mat, piece in zip(station.mats, pieces, strict=True):
        for line, window in zip(mat.windows, piece["windows"], strict=True):
            cuts = {cut["side"]: cut for cut in window["cuts"]}
            told = [(setting.text, setting.drawn) for setting in line.settings]
            assert told == [
                (cuts[side]["setting"]["shop"], cuts[side]["by"] != "guide")
                for side in ("top", "right", "bottom", "left")
            ]
            assert line.stops == "set"


@pytest.mark.parametrize(
    ("locale", "told"), [("", "Thu 2026-12-03"), ("de", "Donnerstag, 3. Dezember 2026")]
)
def test_the_head_tells_the_day_the_customer_and_the_place(locale: str, told: str) -> None:
    """A Thursday by the Gregorian calendar; German by CLDR."""
    head = replace(HEAD, promised="2026-12-03", customer="M. Okafor", place="shelf C 4")
    with speaking(locale):
        text = pdf_text(ticket_pdf(printed_ticket(spec()), head))
    assert squeezed(told) in squeezed(text)
    assert "M. Okafor" in text
    assert "shelf C 4" in text


def test_what_must_be_known_stands_before_the_first_cut() -> None:
    """Warnings, other ways to cut, shared notes, and who lifts: 23 kg, NIOSH 1994."""
    document = printed_ticket(twelve_windows())
    document["weight"] = {**document["weight"], "kg": "23.5"}
    document["pieces"][2] = {**document["pieces"][2], "way": "order", "material": "coated_glass"}
    document["advisories"] = [
        {"code": "x", "severity": "warning", "message": "mind the gilding", "path": ""},
        {"code": "y", "severity": "stop", "message": "it does not fit", "path": ""},
    ]
    before = [(notice.text, notice.stop) for notice in card(document, HEAD, "letter").before]
    assert before[:2] == [("stop: it does not fit", True), ("warning: mind the gilding", False)]
    text = " ".join(words for words, _ in before)
    assert "Glazing (3), coated glass: ordered cut to size." in text
    assert "Two people lift it: about 23.5 kg" in text
    assert "(pieces 1, 2)" in text
    document["weight"]["kg"] = "23"
    assert "Two people lift" not in str(card(document, HEAD, "letter").before)
