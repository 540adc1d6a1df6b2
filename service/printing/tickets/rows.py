"""A ticket in rows of text, the same for paper, page and terminal.

The three differ in layout, never in words or figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from service.domain.measure.ruler import Ruler
from service.printing.language.phrases import told
from service.printing.language.spoken import _
from service.printing.language.spoken import number as spoken_number
from service.printing.parts.views import exactly, mats, ruler
from service.printing.parts.words import (
    LONGEST_NOTE,
    SET_UP,
    UNITS,
    WORK,
    Document,
    area,
    clean,
    listed,
    mark,
    shortened,
)

LONGEST_STEP = 6000
"""A hundred windows on another cutter take about 4500 characters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketHead:
    """The heading of a ticket, not stored in it: the shop, its number and its quote's number."""

    number: str
    shop: str
    ticket: str = ""
    reference: str = ""
    job: int = 1
    jobs: int = 1
    made_on: str = ""
    promised: str = ""
    customer: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One piece: number, name, item, quantity, size and remarks.

    `exact` is the remark that tells its exact size, where that lies between two marks.
    """

    number: str
    name: str
    item: str
    quantity: str
    size: str
    more: tuple[str, ...]
    exact: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StepLine:
    """One printed line of a step: something to set, to do, to mind, or to mind again."""

    kind: Literal["set", "do", "caution", "again"]
    text: str


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step: number, kind of work, its lines in order, minutes.

    Cautions are spelt out on first use; the last line refers to those that an earlier step spelt
    out.
    """

    number: str
    work: str
    lines: tuple[StepLine, ...]
    minutes: str


def unit(ticket: Document) -> str:
    """Return the unit of the ticket's ruler."""
    return str(ticket["ruler"]["unit"])


def facts(ticket: Document) -> list[tuple[str, str]]:
    """Return the few figures at the head of a ticket, and what to know before the first cut."""
    return [*figures(ticket), *before_rows(ticket)]


def before_rows(ticket: Document) -> list[tuple[str, str]]:
    """Return the notes and the condition that must be known before the first cut, by kind."""
    return [_before(each) for each in ticket.get("before_first_cut", ())]


def figures(ticket: Document) -> list[tuple[str, str]]:
    """Return the few figures at the head of a ticket."""
    sizes, inches = ticket["sizes"], unit(ticket)
    rows = [(_("Quantity"), str(ticket["quantity"]))]
    named = (
        ("Package", "package"),
        ("Rabbet", "rabbet"),
        ("Frame sight", "frame_sight"),
        ("Outside", "outside"),
    )
    rows += [(_(name), area(sizes[key], inches)) for name, key in named if sizes[key]]
    if ticket["frames"] and sizes["package"]:
        rows.append(
            (
                _("Depth"),
                _(
                    "{depth}, rabbet {rabbet} deep",
                    depth=mark(sizes["stack_depth"], inches),
                    rabbet=mark(ticket["frames"][0]["rabbet_depth"], inches),
                ),
            )
        )
    kg = shortened(ticket["weight"]["kg"], 2)
    rows.append((_("Weight"), _("{kg} kg each, art not counted", kg=kg)))
    set_ups = ticket["set_ups"]
    proved, least = set_ups["proved"], set_ups["at_least"]
    least = _("the fewest") if proved else _("at least {count} needed", count=least)
    rows.append(
        (_("Set-ups"), _("{count} changes, {least}", count=set_ups["changes"], least=least))
    )
    rows.append((_("Time"), _("{minutes} min", minutes=shortened(ticket["minutes"], 1))))
    return rows


def _before(told: Document) -> tuple[str, str]:
    photographs = told.get("photographs", ())
    seen = f" ({len(photographs)} photographs)" if photographs else ""
    return told["kind"].capitalize(), clean(" ".join(told["text"].split()), LONGEST_NOTE) + seen


def piece_rows(ticket: Document) -> list[PieceRow]:
    """Return every piece."""
    return [_piece(piece, ruler(ticket)) for piece in ticket["pieces"]]


def _piece(piece: Document, shop: Ruler) -> PieceRow:
    inches, exact = shop.unit, tuple(_exactly(piece, shop))
    return PieceRow(
        number=str(piece["piece"]),
        name=told(clean(piece["name"])),
        item=f"{clean(piece['item'], 40)} {clean(piece['description'], 60)}".strip(),
        quantity=str(piece["quantity"]),
        size=area(piece, inches) if "width" in piece else _rod(piece, inches),
        more=(*exact, *_more(piece, inches)),
        exact=exact,
    )


def _rod(piece: Document, inches: str) -> str:
    inner = "rabbet_length" if piece["part"] == "rail" else "inner_length"
    told_so = (
        _("{length} long point, {inner} along the rabbet, mitre {angle}°")
        if piece["part"] == "rail"
        else _("{length} long point, {inner} along the inner edge, mitre {angle}°")
    )
    return told_so.format(
        length=mark(piece["length"], inches),
        inner=mark(piece[inner], inches),
        angle=spoken_number(piece["mitre_degrees"]),
    )


def _exactly(piece: Document, shop: Ruler) -> Iterator[str]:
    """Yield a piece's exact size, if it lies between two marks of the shop's ruler."""
    shown = (piece["width"], piece["height"]) if "width" in piece else (piece["length"],)
    if exact := exactly(shop, *shown):
        yield _("exactly {size}", size=exact)


def _more(piece: Document, inches: str) -> Iterator[str]:
    if piece["part"] == "mat":
        lies = _("face down") if piece["lies"] == "face_down" else _("face up")
        yield _("{bevel} bevel, cut {lies}", bevel=_(piece["bevel"]), lies=lies)
        if piece["settings_from"] == "top_mat":
            yield _("settings from the top mat's edges")
        if mark(piece["trim"]) != "0":
            yield _("trimmed {length} a side", length=mark(piece["trim"], inches))
    if piece["part"] == "rail" and piece["supply"] != "length":
        yield _("comes cut") if piece["supply"] == "chop" else _("comes joined")
    if piece.get("grain"):
        yield _("grain: do not turn on the sheet")
    yield from map(told, piece["notes"])


def step_rows(ticket: Document) -> list[StepRow]:
    """Return every step; a caution is spelt out on first use and referred to afterwards."""
    first: dict[str, int] = {}
    return [_step(ticket, step, first) for step in ticket["steps"]]


def _step(ticket: Document, step: Document, first: dict[str, int]) -> StepRow:
    lines = list(_lines(step, unit(ticket)))
    new = [code for code in step["cautions"] if code not in first]
    again = [code for code in step["cautions"] if code in first]
    first.update(dict.fromkeys(new, step["step"]))
    lines += [StepLine("caution", f"! {told(ticket['cautions'][code])}") for code in new]
    if again:
        names = [(told(code.replace("_", " ")), first[code]) for code in again]
        said = (_("! {caution}: step {n}", caution=name, n=at) for name, at in names)
        lines.append(StepLine("again", listed(said)))
    return StepRow(
        number=str(step["step"]),
        work=told(str(WORK.get(step["work"], step["work"]))),
        lines=tuple(lines),
        minutes=shortened(step["minutes"], 1),
    )


def _lines(step: Document, inches: str) -> Iterator[StepLine]:
    """Yield the lines of a step in order; a ticket of an earlier release has no parts."""
    for part in step.get("parts") or [{"changes": step["changes"], "lines": _told(step)}]:
        if part["changes"]:
            yield StepLine("set", set_line(part["changes"], inches))
        for line in part["lines"]:
            yield StepLine("do", told(clean(line, LONGEST_STEP)))


def set_line(changes: Sequence[Document], inches: str) -> str:
    """Return what is set, in one line."""
    return _("Set: {changes}", changes="; ".join(_change(each, inches) for each in changes))


def _change(change: Document, inches: str) -> str:
    to = change["to"]
    shown = told(to) if isinstance(to, str) else mark(to, inches)
    return f"{told(str(SET_UP.get(change['what'], change['what'])))} {shown}"


def _told(step: Document) -> list[str]:
    """Return the text of a step without parts, and a line for each cut."""
    return [
        step["text"],
        *(
            f"{cut['side']}, window {cut['window']}: start {cut['start']['side']} "
            f"{mark(cut['start']['distance'])}, stop {cut['stop']['side']} "
            f"{mark(cut['stop']['distance'])}, at {mark(cut['setting'])}"
            for cut in step["cuts"]
        ),
    ]


def window_rows(ticket: Document) -> list[tuple[str, str, str, str, str, str]]:
    """Return each window: mat, window, shape, and its place seen from front and bench."""
    rows = []
    for mat in mats(ticket):
        for window in mat["windows"]:
            front, lying = window["front"], window["as_it_lies"]
            rows.append(
                (
                    told(f"{mat['name']} ({mat['piece']})"),
                    str(window["window"]),
                    _(window["shape"]),
                    area(front),
                    f"{mark(front['x'])}, {mark(front['y'])}",
                    f"{mark(lying['x'])}, {mark(lying['y'])}",
                )
            )
    return rows


def hardware_rows(ticket: Document) -> list[str]:
    """Return the hardware, with its weight and safety factor."""
    weight = ticket["weight"]
    behind = {
        "kg": shortened(weight["kg"], 2),
        "factor": spoken_number(weight["safety_factor"]),
        "load": shortened(weight["load_kg"], 1),
    }
    return [_hardware(use, behind) for use in ticket["hardware"]]


def _hardware(use: Document, behind: dict[str, str]) -> str:
    item = f"{clean(use['item'], 40)} {clean(use['description'], 60)}"
    said = _(
        "{many} {thing}: rated {rating} kg, asked for {kg} kg x factor {factor} = {load} kg",
        many=_many(use),
        thing=item,
        rating=spoken_number(use["rating_kg"]),
        **behind,
    )
    return said if use["carries"] else said + _("; NOT ENOUGH, the strongest in the catalogue")


def _many(use: Document) -> str:
    """Return the quantity of hardware; a ticket of an earlier release counts pieces only."""
    unit = UNITS[use.get("unit", "piece")]
    return f"{shortened(use['quantity'], 2)} {unit}" if unit else f"{use['quantity']} x"


def supply_rows(ticket: Document) -> list[str]:
    """Return the supplies for all pieces of the job."""
    return [
        f"{shortened(line['quantity'], 2)} {UNITS[line['unit']]} {clean(line['item'], 40)} "
        f"{clean(line['description'], 60)}".replace("  ", " ")
        for line in ticket["supplies"]
    ]


def advisory_rows(ticket: Document) -> list[str]:
    """Return the advisories: what a good framer would have said over the counter."""
    return [advisory_row(advisory) for advisory in ticket["advisories"]]


def advisory_row(advisory: Document) -> str:
    """Return one advisory with its severity, and the reason for which it was set aside."""
    said = f"{_(advisory['severity'])}: {told(clean(advisory['message'], 400))}"
    if "overridden" in advisory:
        said += _(" (set aside: {reason})", reason=clean(advisory["overridden"]))
    return said


def title(ticket: Document, head: TicketHead) -> str:
    """Return the ticket's title: the label, or the job's number in the quote."""
    label = clean(ticket["label"])
    return label or _("Job {n}", n=head.job)


def which(head: TicketHead) -> str:
    """Return the numbers of the ticket, the quote and the job."""
    of = _(", job {n} of {count}", n=head.job, count=head.jobs) if head.jobs > 1 else ""
    own = f"{clean(head.ticket, 40)}, " if head.ticket else ""
    return own + _("Quote {number}", number=clean(head.number, 40)) + of
