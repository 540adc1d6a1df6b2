"""A ticket's document: exact lengths, everything that the ticket holds, nothing that is a float."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain
from service.domain.measure.length import Length
from tests.domain.tickets.shop_jobs import spec, ticket


def leaves(value: object) -> Iterator[object]:
    if isinstance(value, dict):
        for part in value.values():
            yield from leaves(part)
    elif isinstance(value, list):
        for part in value:
            yield from leaves(part)
    else:
        yield value


def test_no_float() -> None:
    document = plain(ticket_document(ticket(spec())))
    assert not any(isinstance(leaf, float) for leaf in leaves(document))


def test_lengths_read_back_to_the_same_tick() -> None:
    made = ticket(spec())
    document = plain(ticket_document(made))
    for piece, mat in zip(made.mats(), document["pieces"], strict=False):  # type: ignore[call-overload]
        assert Length.millimetres(mat["width"]["mm"]) == piece.size.width
        for window, shown in zip(piece.windows, mat["windows"], strict=True):
            for cut, row in zip(window.cuts, shown["cuts"], strict=True):
                assert Length.millimetres(row["setting"]["mm"]) == cut.setting
                assert row["setting"]["shop"] == made.ruler.mark(cut.setting)
                assert (row["side"], row["front_side"]) == (cut.side, cut.front_side)


def test_steps_say_what_changes_and_cautions_are_spelt_out_once() -> None:
    made = ticket(spec())
    document = plain(ticket_document(made))
    shown = document["steps"]
    assert [step["step"] for step in shown] == list(range(1, len(made.steps) + 1))  # type: ignore[attr-defined]
    used = {code for step in made.steps for code in step.cautions}
    assert set(document["cautions"]) == used  # type: ignore[call-overload]
    first = next(step for step in shown if step["work"] == "window")  # type: ignore[attr-defined]
    assert {change["what"] for change in first["changes"]} >= {"slip_sheet", "guide", "head"}
    set_in_parts = sum(
        change["what"] not in ("start_stop", "end_stop")
        for step in shown  # type: ignore[attr-defined]
        if step["machine"] == "cutter"
        for part in step["parts"]
        for change in part["changes"]
    )
    assert set_in_parts == made.set_ups.changes
    assert next(step["parts"][0]["lines"] for step in shown) == [  # type: ignore[attr-defined]
        "Measure the art: 16 3/8 x 20 in."
    ]


def test_minutes_of_steps_add_up_to_those_of_the_ticket() -> None:
    """The test shop's minutes are whole, halves or hundredths, so decimals show them exactly."""
    document = plain(ticket_document(ticket(spec())))
    steps = document["steps"]
    total = sum(Fraction(step["minutes"]) for step in steps)  # type: ignore[attr-defined]
    assert total == Fraction(str(document["minutes"]))
    for step in steps:  # type: ignore[attr-defined]
        parts = sum(Fraction(row["minutes"]) for row in step["operations"])
        assert parts == Fraction(step["minutes"])
