"""The bench card: a ticket in the order of the work, for the typesetter.

The first page is what a hand works from: what must be known first, then each station with its
pieces, sizes and settings. The steps follow in full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from service.domain.bench.materials import WAYS
from service.domain.measure.length import Length
from service.printing.language.phrases import told
from service.printing.language.spoken import _, day, spoken, weekday
from service.printing.parts import barcode
from service.printing.parts.picture import Picture, picture
from service.printing.parts.press import Sheet, press
from service.printing.parts.views import (
    length,
    mats,
    ruler,
    size,
    ticket_backs,
    ticket_front,
    ticket_section,
)
from service.printing.parts.words import Document, clean, mark, shortened
from service.printing.tickets.cuts import CardStep, card_steps
from service.printing.tickets.rows import (
    PieceRow,
    TicketHead,
    advisory_row,
    before_rows,
    figures,
    hardware_rows,
    piece_rows,
    step_rows,
    supply_rows,
    title,
    which,
)

ONE_PERSON_KG = 23
"""The most that one person lifts under the best conditions: the revised NIOSH lifting equation
(Applications Manual, 1994), 51 lb."""
LARGE_GLASS = Length.inches(48)
"""Glazing longer than this is carried by two; common practice, no source."""
USUAL = {"blade", "scribe", "saw", "chop"}
"""The ways to cut that need no word before the first cut."""
MOST_BESIDE = 4
"""The maximum number of windows whose drawing stands beside the stations."""
FIRST = ("take_in", "check_square", "order")
"""Work that is done before the first cut."""
MOST_LINES = 6
"""The maximum number of lines of a step at its station; of a longer one it names the step."""
STATIONS = (
    ("Sheets", ("size", "mark")),
    ("Mats", ("window", "face", "shaped_window", "fix_under_mat", "corners")),
    ("Glass", ("glazing",)),
    ("Saw", ("rails", "fillet")),
    ("Join", ("join", "ready_frame")),
    ("Mount", ("spacer", "mount", "dry_fit", "package")),
    ("Fit", ("seal", "rabbet", "hangers", "fit")),
    ("Finish", ("finish", "wrap")),
)
"""The stations, with the work that is done at each."""
IN_STEPS = {"size", "mark", "window", "fix_under_mat", "glazing", "rails", "dry_fit", "package"}
"""Work whose lines stand in the steps only: tables give its figures, or it goes without saying."""
AT = {"glazing": "Glass", "rail": "Saw", "fillet": "Saw"}
"""The station of a part; any other is cut at the sheets."""
ROUND = ("top", "right", "bottom", "left")


@dataclass(frozen=True, slots=True)
class Notice:
    """What must be known before the first cut; `stop` if nothing may be cut until it is settled."""

    text: str
    stop: bool = False


@dataclass(frozen=True, slots=True)
class PieceLine:
    """A piece at its station; `sizes` are a width and a height, or an inside and a long point."""

    row: PieceRow
    sizes: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Setting:
    """One guide setting; a `drawn` one lies beyond the guide, or is cut along a straightedge."""

    text: str
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class WindowLine:
    """A window's four settings round from the top, and its stops.

    A shaped window has its centre across and down, and its width and height instead.
    """

    number: str
    settings: tuple[Setting, ...]
    stops: str


@dataclass(frozen=True, slots=True)
class MatLines:
    """A mat, how it lies and what its settings are measured from, and its windows."""

    name: str
    sizes: tuple[tuple[str, str], ...]
    more: tuple[str, ...]
    shaped: bool
    windows: tuple[WindowLine, ...]


@dataclass(frozen=True, slots=True)
class Station:
    """A station: its name and title, pieces to cut, mats to open, lines to do."""

    name: str
    title: str
    pieces: tuple[PieceLine, ...]
    mats: tuple[MatLines, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card(Sheet):
    """The whole card. `head` is read across the bench, `figures` once."""

    number: str
    code: str
    label: str
    head: tuple[tuple[str, str], ...]
    small: str
    before: tuple[Notice, ...]
    wide: bool
    stops: bool
    front: Picture
    stations: tuple[Station, ...]
    figures: tuple[tuple[str, str], ...]
    more: tuple[Picture, ...]
    steps: tuple[CardStep, ...]
    lists: tuple[tuple[str, tuple[str, ...]], ...]


def ticket_pdf(ticket: Document, head: TicketHead, paper: str = "letter") -> bytes:
    """Return the bench card as PDF on "letter" or "a4"."""
    return press("card", card(ticket, head, paper))


def card(ticket: Document, head: TicketHead, paper: str) -> Card:
    """Return the card of a stored ticket."""
    number = clean(head.ticket or head.number, 40)
    name = title(ticket, head)
    wide = _wide(ticket)
    return Card(
        title=_("Cut ticket {number}: {label}", number=number, label=name),
        foot=f"{number} · {name[:60]} · {clean(head.shop)}",
        shop=clean(head.shop),
        day=head.made_on,
        paper=paper,
        unit=ticket["ruler"]["unit"],
        number=number,
        code=barcode.svg(number),
        label=name,
        head=tuple(_head(ticket, head)),
        small=" · ".join(_small(ticket, head)),
        before=tuple(_before(ticket)),
        wide=wide,
        stops=bool(ticket["stops"]),
        front=picture(
            ticket_front(
                ticket, *((510, 185) if wide else (245, 215 if spoken().speaks == "en" else 170))
            )
        ),
        stations=tuple(_stations(ticket)),
        figures=tuple(figures(ticket)),
        more=tuple(_more(ticket)),
        steps=tuple(card_steps(ticket)),
        lists=tuple(_lists(ticket)),
    )


def _wide(ticket: Document) -> bool:
    """Return True if the drawing needs the width of the page."""
    many = any(len(mat["windows"]) > MOST_BESIDE for mat in mats(ticket))
    if ticket["sizes"]["outside"] is None:
        return many
    outside = size(ticket["sizes"]["outside"])
    return many or 4 * outside.width.ticks > 5 * outside.height.ticks


def _head(ticket: Document, head: TicketHead) -> Iterator[tuple[str, str]]:
    if head.promised:
        yield _("Promised"), weekday(head.promised)
    if head.customer:
        yield _("Customer"), clean(head.customer, 60)
    yield _("Pictures"), str(ticket["quantity"])
    if head.place:
        yield _("Place"), clean(head.place, 60)


def _small(ticket: Document, head: TicketHead) -> Iterator[str]:
    yield which(head)
    if head.reference:
        yield _("Reference {reference}", reference=clean(head.reference))
    if head.made_on:
        yield _("Made {day}", day=day(head.made_on))
    step = mark(ticket["ruler"]["step"], ticket["ruler"]["unit"])
    yield _("sizes to {step}", step=step)


def _before(ticket: Document) -> Iterator[Notice]:
    """Yield what must be known before the first cut, each once."""
    yield from dict.fromkeys(_stops(ticket))
    yield from (Notice(f"{kind}: {words}") for kind, words in before_rows(ticket))
    yield from _first(ticket)
    yield from _other_ways(ticket)
    for note, pieces in _shared(ticket).items():
        yield Notice(_("{note} (pieces {numbers})", note=note, numbers=", ".join(pieces)))
    yield from _two_people(ticket)


def _shared(ticket: Document) -> dict[str, list[str]]:
    """Return the notes that several pieces have, each with their numbers."""
    found: dict[str, list[str]] = {}
    for piece in ticket["pieces"]:
        for note in piece["notes"]:
            found.setdefault(told(note), []).append(str(piece["piece"]))
    return {note: pieces for note, pieces in found.items() if len(pieces) > 1}


def _first(ticket: Document) -> Iterator[Notice]:
    for step, row in zip(ticket["steps"], step_rows(ticket), strict=True):
        if step["work"] in FIRST:
            yield from (Notice(line.text) for line in row.lines if line.kind in ("set", "do"))


def _stops(ticket: Document) -> Iterator[Notice]:
    for advisory in sorted(ticket["advisories"], key=lambda each: each["severity"] != "stop"):
        if advisory["severity"] != "info":
            yield Notice(advisory_row(advisory), advisory["severity"] == "stop")


def _other_ways(ticket: Document) -> Iterator[Notice]:
    for piece in ticket["pieces"]:
        if piece.get("way", "blade") not in USUAL:
            material = clean(piece["material"], 40).replace("_", " ")
            name = told(f"{clean(piece['name'])} ({piece['piece']})")
            yield Notice(f"{name}, {told(material)}: {told(WAYS.get(piece['way'], piece['way']))}.")


def _two_people(ticket: Document) -> Iterator[Notice]:
    kg = ticket["weight"]["kg"]
    if Fraction(kg) > ONE_PERSON_KG:
        yield Notice(_("Two people lift it: about {kg} kg, art not counted.", kg=shortened(kg, 1)))
    for piece in ticket["pieces"]:
        if piece["part"] == "glazing":
            longest = max(length(piece["width"]), length(piece["height"]))
            if longest > LARGE_GLASS:
                yield Notice(
                    _(
                        "Two people carry {piece}.",
                        piece=told(f"{clean(piece['name'])} ({piece['piece']})"),
                    )
                )


def _stations(ticket: Document) -> Iterator[Station]:
    """Yield the stations in the order of `STATIONS`; any other stands where its first step does."""
    found: dict[str, list[str]] = {}
    for step, row in zip(ticket["steps"], step_rows(ticket), strict=True):
        if step["work"] in FIRST:
            continue
        name = next((name for name, works in STATIONS if step["work"] in works), row.work)
        lines = [line.text for line in row.lines if line.kind in ("set", "do")]
        if len(lines) > MOST_LINES:
            lines = [
                _("{work}: step {n}, {count} lines.", work=row.work, n=row.number, count=len(lines))
            ]
        found.setdefault(name, []).extend([] if step["work"] in IN_STEPS else lines)
    pieces: dict[str, list[PieceLine]] = {}
    opened: list[MatLines] = []
    shared = _shared(ticket)
    for piece, listed in zip(ticket["pieces"], piece_rows(ticket), strict=True):
        shown = replace(listed, more=tuple(note for note in listed.more if note not in shared))
        if piece["part"] == "mat":
            opened.append(_mat(ticket, piece, shown))
        at = AT.get(piece["part"], "Sheets" if "width" in piece else "Saw")
        found.setdefault(at, [])
        pieces.setdefault(at, []).append(_piece(piece, shown))
    for name in _in_order(found):
        lines = found[name]
        here = opened if name == "Mats" else []
        cut = pieces.get(name, [])
        if lines or here or cut:
            yield Station(name, _(name), tuple(cut), tuple(here), tuple(lines))


def _in_order(names: Iterable[str]) -> list[str]:
    """Return the stations of a ticket in an order of work.

    Work of one station may be begun early (a rabbet is sealed while paste dries), but nothing of a
    station needs what a later one makes. Other work stands behind the stations begun before it.
    """
    usual = {name: place for place, (name, _works) in enumerate(STATIONS)}
    order: dict[str, tuple[int, int]] = {}
    reached = -1
    for place, name in enumerate(names):
        reached = max(reached, usual.get(name, reached))
        order[name] = (usual.get(name, reached), -1 if name in usual else place)
    return sorted(order, key=order.__getitem__)


def _piece(piece: Document, shown: PieceRow) -> PieceLine:
    if "width" in piece:
        row = replace(shown, more=shown.exact) if piece["part"] == "mat" else shown
        return PieceLine(row, (mark(piece["width"]), mark(piece["height"])))
    inner = "rabbet_length" if piece["part"] == "rail" else "inner_length"
    sizes = mark(piece[inner]), mark(piece["length"])
    mitre = told(f"mitre {piece['mitre_degrees']}°")
    return PieceLine(replace(shown, more=(mitre, *shown.more)), sizes)


def _mat(ticket: Document, mat: Document, shown: PieceRow) -> MatLines:
    windows = mat["windows"]
    sizes = dict.fromkeys(
        (mark(w["as_it_lies"]["width"]), mark(w["as_it_lies"]["height"])) for w in windows
    )
    return MatLines(
        name=f"{mat['piece']} {told(clean(mat['name']))}",
        sizes=tuple(sizes),
        more=tuple(note for note in shown.more if note not in shown.exact),
        shaped=any(not window["cuts"] for window in windows),
        windows=tuple(_window(ticket, window) for window in windows),
    )


def _window(ticket: Document, window: Document) -> WindowLine:
    if not window["cuts"]:
        return WindowLine(str(window["window"]), tuple(_centre(ticket, window)), _(window["shape"]))
    by_side = {cut["side"]: cut for cut in window["cuts"]}
    settings = tuple(
        Setting(mark(by_side[side]["setting"]), by_side[side]["by"] != "guide")
        for side in ROUND
        if side in by_side
    )
    return WindowLine(str(window["window"]), settings, _ends(ticket, by_side))


def _centre(ticket: Document, window: Document) -> Iterator[Setting]:
    """Yield a shaped window's centre across and down as it lies, its width and its height."""
    place, read = window["as_it_lies"], ruler(ticket).mark
    for at, long in (("x", "width"), ("y", "height")):
        yield Setting(told(read(length(place[at]) + length(place[long]).halves()[0])))
    yield Setting(mark(place["width"]))
    yield Setting(mark(place["height"]))


def _ends(ticket: Document, by_side: dict[str, Document]) -> str:
    """Return how the ends of a window's cuts are found.

    They are the settings of the two sides beside a cut, or they are told one by one.
    """
    ends = [(side, end) for side, cut in by_side.items() for end in (cut["start"], cut["stop"])]
    beside = {side: cut["setting"] for side, cut in by_side.items()}
    other = [
        f"{_(side)}: {_(end['side'])} {mark(end['distance'])}"
        for side, end in ends
        if beside.get(end["side"]) != end["distance"]
    ]
    if other:
        return ", ".join(other)
    return _("set") if ticket["stops"] else _("lines")


def _more(ticket: Document) -> Iterator[Picture]:
    """Yield the section where it says more than the depth, and the mats of a few windows."""
    deep = len(ticket["frames"]) > 1 or any(
        layer["part"] in ("spacer", "fillet") for layer in ticket["package"]
    )
    section = ticket_section(ticket, 250, 130) if deep else None
    if section:
        yield picture(section)
    for mat, back in zip(mats(ticket), ticket_backs(ticket, 250, 150), strict=True):
        if 1 < len(mat["windows"]) <= MOST_BESIDE:
            yield picture(back)


def _lists(ticket: Document) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield hardware, supplies, and the advisories that do not stand before the first cut."""
    mind = [advisory_row(each) for each in ticket["advisories"] if each["severity"] == "info"]
    for name, rows in (
        (_("Hardware"), hardware_rows(ticket)),
        (_("Supplies"), supply_rows(ticket)),
        (_("Mind"), mind),
    ):
        if rows:
            yield name, tuple(rows)
