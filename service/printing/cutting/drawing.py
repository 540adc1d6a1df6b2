"""The sheets and sticks of a cutting plan, drawn to scale from its document."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.errors import NotFound
from service.domain.measure.length import TICKS_PER_FOOT, Length
from service.printing.drawing.lettering import CAPITALS, POINT
from service.printing.drawing.scale import Scale
from service.printing.drawing.sheet import MEDIUM, WIDE, Drawing, Text, Tone
from service.printing.parts.views import length
from service.printing.parts.words import Document, clean, mark

ROOM = (500, 250)
"""The maximum size of a sheet on paper, in points."""
STICK_ROOM = (500, 20)
EDGE = 12 * POINT
STEP = 2 * CAPITALS
"""From one line of text to the next."""
TONES: dict[bool, Tone] = {True: "mid", False: "dark"}
"""The tones of leftovers: one to keep, and waste."""


def use_drawing(plan: Document, item: int, use: int) -> Drawing:
    """Return the drawing of one sheet or stick of a plan, both counted from 1.

    Raises:
        NotFound: the plan has no such item or use.
    """
    items = plan["items"]
    if not 1 <= item <= len(items) or not 1 <= use <= len(items[item - 1]["uses"]):
        raise NotFound("the plan has no such sheet or stick; items and uses are counted from 1")
    return drawn(items[item - 1], items[item - 1]["uses"][use - 1])


def drawn(item: Document, use: Document) -> Drawing:
    """Return the drawing of one sheet or stick of an item."""
    return _sheet(item, use) if item["kind"] == "sheet" else _stick(item, use)


def size_of(one: Document) -> str:
    """Return a size in the shop's marks: 32 x 40, or a stick's length."""
    if "length" in one:
        return mark(one["length"])
    return f"{mark(one['width'])} x {mark(one['height'])}"


def use_title(item: Document, use: Document) -> str:
    """Return the title of a sheet or stick: its item, number, size and origin."""
    where = f", offcut {use['label']}" if use["source"] == "rack" else ""
    what = "Sheet" if item["kind"] == "sheet" else "Stick"
    supplier = ", CUT AT THE SUPPLIER" if use.get("cut_at") == "supplier" else ""
    return f"{what} {use['use']} of {clean(item['item'], 40)}, {size_of(use)}{where}{supplier}"


def _notes(use: Document) -> list[str]:
    kept = [one for one in use["leftovers"] if one["keep"]]
    notes = [f"{_percent(use['utilisation'])} % is used; dark is waste"]
    if kept:
        labels = ", ".join(f"{size_of(one)} ({one['label'] or 'to be labelled'})" for one in kept)
        notes.append(f"to keep: {labels}")
    return notes


def _percent(part: str) -> str:
    return str(int(Fraction(part) * 100))


def _sheet(item: Document, use: Document) -> Drawing:
    width, height = length(use["width"]), length(use["height"])
    room = (ROOM[0] * POINT, ROOM[1] * POINT)
    scale = Scale.to_fit(width, height, room).at(EDGE, EDGE)
    high = scale.long(height)
    drawing = Drawing(
        use_title(item, use), scale.ratio_text(), scale.long(width) + 2 * EDGE, high + 2 * EDGE
    )
    drawing.rectangle(EDGE, EDGE, scale.long(width), high, "white", WIDE)
    parts = list(_parts(use))
    for part, tone, _ in parts:
        # Positions are measured from the lower edge, the drawing's y from the upper one.
        top = Length(height.ticks - length(part["y"]).ticks - length(part["height"]).ticks)
        x, y = scale.x(length(part["x"])), scale.y(top)
        box = x, y, scale.long(length(part["width"])), scale.long(length(part["height"]))
        drawing.rectangle(*box, tone, MEDIUM)
    for part, _, lines in parts:
        top = Length(height.ticks - length(part["y"]).ticks - length(part["height"]).ticks)
        x, y = scale.x(length(part["x"])), scale.y(top)
        wide, tall = scale.long(length(part["width"])), scale.long(length(part["height"]))
        _name(drawing, lines, (x, y, wide, tall))
    drawing.notes += _notes(use)
    return drawing


def _parts(use: Document) -> Iterator[tuple[Document, Tone, tuple[str, ...]]]:
    """Yield what is cut from a sheet or stick, each with its tone and its lines.

    A piece has a number too, for the list beside the drawing.
    """
    for number, piece in enumerate(use["placements"], start=1):
        yield piece, "white", (f"{number}: {clean(piece['piece'], 24)}", size_of(piece))
    for left in use["leftovers"]:
        lines = (left["label"] or "keep", size_of(left)) if left["keep"] else ()
        yield left, TONES[left["keep"]], lines


def _name(drawing: Drawing, lines: Sequence[str], box: tuple[int, int, int, int]) -> None:
    """Write as many lines into a box as fit, upright or not; at least what is before the colon."""
    least = [line.partition(":")[0] for line in lines[:1]]
    for told in (lines, lines[:1], least):
        for upright in (False, True):
            if told and _placed(drawing, told, box, upright=upright):
                return


def _placed(
    drawing: Drawing, lines: Sequence[str], box: tuple[int, int, int, int], *, upright: bool
) -> bool:
    """Write lines centred in a box; return False if they do not fit."""
    x, y, wide, tall = box
    along, across = (tall, wide) if upright else (wide, tall)
    if STEP * len(lines) > across:
        return False
    texts = []
    for number, line in enumerate(lines):
        off = (2 * number - len(lines) + 1) * STEP // 2
        place = (off, 0) if upright else (0, off)
        texts.append(
            Text(x + wide // 2 + place[0], y + tall // 2 + place[1], line, upright=upright)
        )
    if any(text.width() + CAPITALS > along for text in texts):
        return False
    written = [drawing.write_if_room(text) for text in texts]
    return all(written)


def _stick(item: Document, use: Document) -> Drawing:
    whole = length(use["length"])
    scale = Scale.to_fit(whole, Length(TICKS_PER_FOOT // 12), (STICK_ROOM[0] * POINT, 10**9))
    scale = scale.at(EDGE, EDGE)
    wide, high = scale.long(whole), STICK_ROOM[1] * POINT
    drawing = Drawing(use_title(item, use), scale.ratio_text(), wide + 2 * EDGE, high + 2 * EDGE)
    drawing.rectangle(EDGE, EDGE, wide, high, "dark", WIDE)
    parts = list(_parts(use))
    for part, tone, _ in parts:
        box = scale.x(length(part["start"])), EDGE, scale.long(length(part["length"])), high
        drawing.rectangle(*box, tone, MEDIUM)
    for part, _, lines in parts:
        box = scale.x(length(part["start"])), EDGE, scale.long(length(part["length"])), high
        _name(drawing, lines, box)
    drawing.notes += [*_notes(use), "lengths are long point to long point; mitres are not drawn"]
    return drawing
