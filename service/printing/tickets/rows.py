"""A ticket in rows of text, the same for paper, page and terminal.

The three differ in layout, never in words or figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from service.domain.measure.rounding import decimal_text
from service.printing.parts.views import mats
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
    """One piece: number, name, item, quantity, size and remarks."""

    number: str
    name: str
    item: str
    quantity: str
    size: str
    more: tuple[str, ...]


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
    rows = [("Quantity", str(ticket["quantity"]))]
    named = (
        ("Package", "package"),
        ("Rabbet", "rabbet"),
        ("Frame sight", "frame_sight"),
        ("Outside", "outside"),
    )
    rows += [(name, area(sizes[key], inches)) for name, key in named if sizes[key]]
    if ticket["frames"] and sizes["package"]:
        rows.append(
            (
                "Depth",
                f"{mark(sizes['stack_depth'], inches)} in a rabbet of "
                f"{mark(ticket['frames'][0]['rabbet_depth'], inches)}",
            )
        )
    rows.append(("Weight", f"{shortened(ticket['weight']['kg'], 2)} kg each, art not counted"))
    set_ups = ticket["set_ups"]
    least = "the fewest" if set_ups["proved"] else f"at least {set_ups['at_least']} needed"
    rows.append(("Set-ups", f"{set_ups['changes']} changes, {least}"))
    rows.append(("Time", f"{shortened(ticket['minutes'], 1)} min"))
    return rows


def _before(told: Document) -> tuple[str, str]:
    photographs = told.get("photographs", ())
    seen = f" ({len(photographs)} photographs)" if photographs else ""
    return told["kind"].capitalize(), clean(" ".join(told["text"].split()), LONGEST_NOTE) + seen


def shortened(number: str, places: int) -> str:
    """Return a decimal rounded half up to `places`, marked as rounded; the stored one is exact.

    >>> shortened("363.46", 1), shortened("12", 1)
    ('≈363.5', '12')
    """
    value = Fraction(number)
    shown = decimal_text(value.numerator, value.denominator, places)
    return shown if Fraction(shown) == value else f"≈{shown}"


def piece_rows(ticket: Document) -> list[PieceRow]:
    """Return every piece."""
    return [_piece(piece, unit(ticket)) for piece in ticket["pieces"]]


def _piece(piece: Document, inches: str) -> PieceRow:
    return PieceRow(
        number=str(piece["piece"]),
        name=clean(piece["name"]),
        item=f"{clean(piece['item'], 40)} {clean(piece['description'], 60)}".strip(),
        quantity=str(piece["quantity"]),
        size=area(piece, inches) if "width" in piece else _rod(piece, inches),
        more=tuple(_more(piece, inches)),
    )


def _rod(piece: Document, inches: str) -> str:
    inner = "rabbet_length" if piece["part"] == "rail" else "inner_length"
    along = "along the rabbet" if piece["part"] == "rail" else "along the inner edge"
    return (
        f"{mark(piece['length'], inches)} long point, {mark(piece[inner], inches)} {along}, "
        f"mitre {piece['mitre_degrees']}°"
    )


def _more(piece: Document, inches: str) -> Iterator[str]:
    if piece["part"] == "mat":
        lies = "face down" if piece["lies"] == "face_down" else "face up"
        yield f"{piece['bevel']} bevel, cut {lies}"
        if piece["settings_from"] == "top_mat":
            yield "settings from the top mat's edges"
        if mark(piece["trim"]) != "0":
            yield f"trimmed {mark(piece['trim'], inches)} a side"
    if piece["part"] == "rail" and piece["supply"] != "length":
        yield "comes cut" if piece["supply"] == "chop" else "comes joined"
    if piece.get("grain"):
        yield "grain: do not turn on the sheet"
    yield from piece["notes"]


def step_rows(ticket: Document) -> list[StepRow]:
    """Return every step; a caution is spelt out on first use and referred to afterwards."""
    first: dict[str, int] = {}
    return [_step(ticket, step, first) for step in ticket["steps"]]


def _step(ticket: Document, step: Document, first: dict[str, int]) -> StepRow:
    lines = list(_lines(step, unit(ticket)))
    new = [code for code in step["cautions"] if code not in first]
    again = [code for code in step["cautions"] if code in first]
    first.update(dict.fromkeys(new, step["step"]))
    lines += [StepLine("caution", f"! {ticket['cautions'][code]}") for code in new]
    if again:
        told = listed(f"! {code.replace('_', ' ')}: step {first[code]}" for code in again)
        lines.append(StepLine("again", told))
    return StepRow(
        number=str(step["step"]),
        work=str(WORK.get(step["work"], step["work"])),
        lines=tuple(lines),
        minutes=shortened(step["minutes"], 1),
    )


def _lines(step: Document, inches: str) -> Iterator[StepLine]:
    """Yield the lines of a step in order; a ticket of an earlier release has no parts."""
    for part in step.get("parts") or [{"changes": step["changes"], "lines": _told(step)}]:
        if part["changes"]:
            yield StepLine("set", set_line(part["changes"], inches))
        for line in part["lines"]:
            yield StepLine("do", clean(line, LONGEST_STEP))


def set_line(changes: Sequence[Document], inches: str) -> str:
    """Return what is set, in one line."""
    return f"Set: {'; '.join(_change(each, inches) for each in changes)}"


def _change(change: Document, inches: str) -> str:
    to = change["to"]
    shown = to if isinstance(to, str) else mark(to, inches)
    return f"{SET_UP.get(change['what'], change['what'])} {shown}"


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
                    f"{mat['name']} ({mat['piece']})",
                    str(window["window"]),
                    window["shape"],
                    area(front),
                    f"{mark(front['x'])}, {mark(front['y'])}",
                    f"{mark(lying['x'])}, {mark(lying['y'])}",
                )
            )
    return rows


def hardware_rows(ticket: Document) -> list[str]:
    """Return the hardware, with its weight and safety factor."""
    weight = ticket["weight"]
    behind = (
        f"{shortened(weight['kg'], 2)} kg x factor {weight['safety_factor']} = "
        f"{shortened(weight['load_kg'], 1)} kg"
    )
    return [
        f"{_many(use)} {clean(use['item'], 40)} {clean(use['description'], 60)}: rated "
        f"{use['rating_kg']} kg, asked for {behind}"
        + ("" if use["carries"] else "; NOT ENOUGH, the strongest in the catalogue")
        for use in ticket["hardware"]
    ]


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
    return [
        f"{advisory['severity']}: {clean(advisory['message'], 400)}"
        + (f" (set aside: {clean(advisory['overridden'])})" if "overridden" in advisory else "")
        for advisory in ticket["advisories"]
    ]


def title(ticket: Document, head: TicketHead) -> str:
    """Return the ticket's title: the label, or the job's number in the quote."""
    label = clean(ticket["label"])
    return label or f"Job {head.job}"


def which(head: TicketHead) -> str:
    """Return the numbers of the ticket, the quote and the job."""
    of = f", job {head.job} of {head.jobs}" if head.jobs > 1 else ""
    own = f"{clean(head.ticket, 40)}, " if head.ticket else ""
    return f"{own}Quote {clean(head.number, 40)}{of}"
