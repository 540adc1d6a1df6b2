"""A ticket as it is printed on paper, read from the text of its PDF with each text's type.

Bold is a setting or a number of a step, regular is a line to do, small is a caution.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from pypdf import PdfReader

from tests.apprentice.paper import HEAD, Line, Paper, Piece, Step, Unreadable

SMALL = 7
_MINUTES = re.compile(r"≈?[\d.]+")
_FOOT = re.compile(r"page \d+ of \d+|.*  Cut ticket  .*")
_TABLE_HEAD = ("Work", "Set and do, line by line", "min")


@dataclass(frozen=True, slots=True)
class Text:
    """One run of text, and how it is set."""

    text: str
    bold: bool
    size: float

    def number(self) -> bool:
        """Return True for the number that begins a row."""
        return self.bold and self.text.isdigit()


def read_pdf(pdf: PdfReader, codes: Collection[str]) -> Paper:
    """Return the paper of a PDF; `codes` are the catalogue's, by which the items are found.

    Raises:
        Unreadable: a part of the ticket has another form.
    """
    texts = list(_texts(pdf))
    marks = [at for at, text in enumerate(texts) if text.bold and text.text in ("Pieces", "Steps")]
    if len(marks) != 2:
        raise Unreadable("no list of pieces, or no steps")
    paper = Paper()
    _head(paper, texts[: marks[0]])
    rows = [text.text for text in texts]
    stop = rows.index("Windows") if "Windows" in rows[marks[0] : marks[1]] else marks[1]
    _pieces(paper, texts[marks[0] + 5 : stop], codes)
    _steps(paper, texts[marks[1] + 1 :])
    return paper


def _texts(pdf: PdfReader) -> Iterator[Text]:
    for page in pdf.pages:
        found: list[Text] = []

        def take(text: str, _cm: object, _tm: object, font: dict, size: float, found=found) -> None:
            line = text.strip("\n")
            if line.strip() and not _FOOT.fullmatch(line):
                found.append(Text(line.strip(), "Bold" in str((font or {}).get("/BaseFont")), size))

        page.extract_text(visitor_text=take)
        yield from found


def _head(paper: Paper, texts: list[Text]) -> None:
    name = ""
    for text in texts:
        if ", scale " in text.text:
            return
        if text.text in HEAD and not text.bold:
            name = text.text
        elif name and text.bold:
            paper.head[name] = f"{paper.head.get(name, '')} {text.text}".strip()
        else:
            name = ""


def _pieces(paper: Paper, texts: list[Text], codes: Collection[str]) -> None:
    rows: list[list[str]] = []
    for text in texts:
        if text.number():
            rows.append([text.text])
        elif not text.bold:
            rows[-1].append(text.text)
    for number, *cells in rows:
        item = next(at for at, cell in enumerate(cells) if at and cell.split()[0] in codes)
        many = next(at for at, cell in enumerate(cells) if at > item and cell.isdigit())
        size, *remarks = " ".join(cells[many + 1 :]).split("; ")
        paper.pieces.append(
            Piece(
                int(number),
                " ".join(cells[:item]),
                cells[item].split()[0],
                int(cells[many]),
                size,
                remarks,
            )
        )


def _steps(paper: Paper, texts: list[Text]) -> None:
    following = [*texts[1:], Text("", False, 0)]
    lists = {"Hardware": paper.hardware, "Supplies": paper.supplies, "Mind": paper.mind}
    listed: list[str] | None = None
    for text, after in zip(texts, following, strict=True):
        name, _, told = text.text.partition(": ")
        if (text.bold and text.text in _TABLE_HEAD) or text.text.startswith("☐ "):
            continue
        if text.number() and after.text.startswith("☐ "):
            paper.steps.append(Step(int(text.text), after.text[2:], ""))
        elif name in lists and not text.bold:
            listed = lists[name]
            listed.append(told)
        elif listed is not None:
            listed[-1] += f" {text.text}"
        elif not paper.steps[-1].minutes and not text.bold and _MINUTES.fullmatch(text.text):
            paper.steps[-1].minutes = text.text
        else:
            _step_line(paper.steps[-1].lines, text)


def _step_line(lines: list[Line], text: Text) -> None:
    kind = "set" if text.bold else "caution" if text.size < SMALL else "do"
    lead = {"set": "Set: ", "caution": "! ", "do": ""}[kind]
    last = lines[-1] if lines else None
    goes_on = last is not None and last.kind == kind
    if kind == "do":
        goes_on = goes_on and not last.text.endswith(".")
    else:
        goes_on = goes_on and not text.text.startswith(lead)
    if goes_on:
        gap = "" if re.search(r"\w-$", last.text) else " "
        last.text += gap + text.text
    else:
        lines.append(Line(kind, text.text.removeprefix(lead)))
