"""A ticket as it is printed on paper, read from the tags of its PDF, as a screen reader does.

The first page gives the pieces with their sizes; the second what is set and done, line by line. A
row of a table of cuts is a cut, and its bold cells are what is set for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from pdfplumber.pdf import PDF
from pdfplumber.structure import PDFStructElement, PDFStructTree

from tests.apprentice.paper import HEAD, Line, Paper, Piece, Step, Unreadable

_STEP = re.compile(r"(.+), (≈?[\d.]+) min *(?:(! .+))?")
_PIECE = re.compile(r"(?:(\d+) × )?(.+)")
_SHARED = re.compile(r"(.+) \(pieces ([\d, ]+)\)")
_HEAD = re.compile(f"({'|'.join(HEAD)}) (.+?)(?= *(?:{'|'.join(HEAD)}) |$)")
_WINDOW = re.compile(r"(\d+) (\w+)")
_TEXTS = ("H1", "H2", "H3", "P", "Span", "TH")
_BY = {
    "": "at guide {} {}",
    "line ": "to its line at {} {}, guide off",
    "edge ": "along a straightedge at {} {}, hand cutter",
}


@dataclass(slots=True)
class Block:
    """A text with its bold beginning, or the rows of a table: cells of blocks."""

    kind: str
    bold: str = ""
    text: str = ""
    rows: list[list[list[Block]]] = field(default_factory=list)


class Pages:
    """The blocks of a tagged PDF, in reading order."""

    def __init__(self, pdf: PDF) -> None:
        self.tree = PDFStructTree(pdf)
        self.chars: dict[tuple[int, int], list[dict]] = {}
        for number, page in enumerate(pdf.pages, start=1):
            for char in page.chars:
                self.chars.setdefault((number, char["mcid"]), []).append(char)

    def blocks(self) -> Iterator[Block]:
        """Yield all blocks."""
        for top in self.tree:
            yield from self._blocks(top)

    def _blocks(self, element: PDFStructElement) -> Iterator[Block]:
        if element.type == "Table":
            yield Block("Table", rows=[self._row(row) for row in _rows(element)])
        elif element.type in _TEXTS and not any(c.type == "H2" for c in element.children):
            yield self._text(element.type, self._marks(element))
        elif element.type != "Figure":
            own = [(element.page_number, mark) for mark in element.mcids]
            if own:
                yield self._text("P", own)
            for child in element.children:
                yield from self._blocks(child)

    def _row(self, row: PDFStructElement) -> list[list[Block]]:
        return [list(self._cell(cell)) for cell in row.children]

    def _cell(self, cell: PDFStructElement) -> Iterator[Block]:
        """Yield the blocks of a cell; words in bold beside plain ones are one text with them."""
        if all(child.type == "Span" for child in cell.children):
            yield self._text("P", self._marks(cell))
        else:
            yield from self._blocks(cell)

    def _marks(self, element: PDFStructElement) -> list[tuple[int, int]]:
        found = [(element.page_number, mark) for mark in element.mcids]
        for child in element.children:
            found += self._marks(child)
        return sorted(found)

    def _text(self, kind: str, marks: Iterable[tuple[int, int]]) -> Block:
        block = Block(kind)
        for char in (char for mark in marks for char in self.chars.get(mark, ())):
            letter = char["text"].replace("\xa0", " ")
            bold = "Bold" in char["fontname"] or (letter == " " and block.bold and not block.text)
            if bold and not block.text:
                block.bold += letter
            else:
                block.text += letter
        return block


def _rows(element: PDFStructElement) -> Iterator[PDFStructElement]:
    for child in element.children:
        if child.type == "TR":
            yield child
        else:
            yield from _rows(child)


def read_pdf(pdf: PDF) -> Paper:
    """Return the paper of a PDF.

    Raises:
        Unreadable: a part of the ticket has another form.
    """
    reader = _Reader()
    for block in Pages(pdf).blocks():
        reader.take(block)
    for note, pieces in reader.shared:
        for piece in reader.paper.pieces:
            if piece.number in pieces:
                piece.remarks.append(note)
    reader.paper.pieces.sort(key=lambda piece: piece.number)
    if not reader.paper.steps or not reader.paper.head:
        raise Unreadable("no steps, or no head")
    return reader.paper


class _Reader:
    def __init__(self) -> None:
        self.paper = Paper()
        self.unit = ""
        self.section = ""
        self.mat = 0
        self.remarks: dict[int, list[str]] = {}
        self.shared: list[tuple[str, set[int]]] = []

    def take(self, block: Block) -> None:
        told = block.bold + block.text
        if block.kind == "H2":
            self.section = told.lstrip("0123456789 ")
        elif block.kind == "H3":
            self.mat = int(told.split()[0])
        elif block.kind == "Table":
            self._table(block)
        elif found := re.search(r"sizes to \S+ (\w+)", told):
            self.unit = found[1]
        elif self.section == "Before the first cut":
            self._before(told)
        elif self.section == "Mats" and self.mat:
            self.remarks[self.mat], self.mat = told.split("; "), 0
        elif self.section.startswith("Steps of"):
            self._below(block)

    def _before(self, told: str) -> None:
        if told.startswith(("stop: ", "warning: ")):
            self.paper.mind.append(told)
        elif found := _SHARED.fullmatch(told):
            self.shared.append((found[1], {int(number) for number in found[2].split(", ")}))

    def _below(self, block: Block) -> None:
        """Read the figures above the steps, and the lists below them."""
        told = block.bold + block.text
        if not self.paper.steps:
            self.paper.head |= {name: words.strip() for name, words in _HEAD.findall(told)}
            return
        name, _, row = told.partition(": ")
        if name in ("Hardware", "Supplies", "Mind"):
            getattr(self.paper, name.lower()).append(row)

    def _table(self, table: Block) -> None:
        names = ["".join(_told(cell)) for cell in table.rows[0]]
        if names[-1] in ("Width × height", "Long point"):
            for row in table.rows[1:]:
                self.paper.pieces.append(self._piece(row, names[-1]))
        elif names[0] == "Step":
            self.paper.steps += [self._step(row) for row in table.rows[1:]]
        elif names[-1] in ("Stops", "Shape"):
            for piece in self.paper.pieces:
                piece.remarks += self.remarks.pop(piece.number, [])
        else:
            raise Unreadable(str(names))

    def _piece(self, row: list[list[Block]], last: str) -> Piece:
        (number,), (name, item), *sizes = (_told(cell) for cell in row)
        many = _PIECE.fullmatch(name)
        item, *remarks = item.split("; ")
        if many is None:
            raise Unreadable(name)
        if last == "Width × height":
            size = f"{sizes[0][0].replace(' × ', ' x ')} {self.unit}"
        else:
            edge = "rabbet" if many[2].startswith("Rails") else "inner edge"
            (inside,), (long,) = sizes
            size = f"{long} {self.unit} long point, {inside} {self.unit} along the {edge}, "
            size += remarks.pop(0)
        return Piece(int(number), many[2], item.split()[0], int(many[1] or 1), size, remarks)

    def _step(self, row: list[list[Block]]) -> Step:
        number, (head, *blocks) = "".join(_told(row[0])), row[1]
        found = _STEP.fullmatch((head.bold + head.text).strip())
        if found is None:
            raise Unreadable(head.bold + head.text)
        step = Step(int(number), found[1], found[2])
        for block in blocks:
            self._lines(step.lines, block)
        if found[3]:
            step.lines.append(Line("caution", found[3].removeprefix("! ")))
        return step

    def _lines(self, lines: list[Line], block: Block) -> None:
        if block.kind == "Table":
            for row in block.rows[2:]:
                self._cut(lines, "".join(_told(block.rows[0][0])), row)
            return
        if block.bold:
            lines.append(Line("set", block.bold.strip().removeprefix("Set: ").removesuffix(".")))
        told = block.text.strip()
        if told.startswith("– "):
            shared = lines[-1].text.partition(", window ")[0]
            if not lines[-1].text.endswith("."):
                lines.pop()
            lines.append(Line("do", f"{shared}, {told[2:]}"))
        elif told.startswith("! "):
            lines.append(Line("caution", told[2:]))
        elif told:
            lines.append(Line("do", told))

    def _cut(self, lines: list[Line], mat: str, row: list[list[Block]]) -> None:
        """Read a row of cuts: what is bold is set first."""
        (window,), (guide,), (start,), (stop,) = row
        where = _WINDOW.fullmatch((window.bold + window.text).strip())
        if where is None:
            raise Unreadable(window.text)
        sets = [f"guide {guide.bold} {self.unit}"] if guide.bold else []
        for name, end in (("start stop", start), ("end stop", stop)):
            if end.bold:
                sets.append(f"{name} {end.bold.split(' ', 1)[1]} {self.unit}")
        if sets and lines and lines[-1].kind == "set":
            lines[-1].text = "; ".join([lines[-1].text, *sets])
        elif sets:
            lines.append(Line("set", "; ".join(sets)))
        at = guide.bold + guide.text
        lead = next(lead for lead in ("line ", "edge ", "") if at.startswith(lead))
        by = _BY[lead].format(at.removeprefix(lead), self.unit)
        ends = f"from {start.bold + start.text} to {stop.bold + stop.text}"
        lines.append(Line("do", f"{mat}, window {where[1]}, {where[2]}: {by}, {ends}."))


def _told(cell: list[Block]) -> list[str]:
    return [(block.bold + block.text).strip() for block in cell]
