"""Two tickets worked by hand, every figure of the bench in the comments."""

from __future__ import annotations

from collections import Counter

from service.domain.measure.length import Length
from service.domain.tickets.model import Cut, CutTicket, MatPiece, RodPiece, SheetPiece
from tests.domain.bench_shop import inch, size
from tests.domain.tickets.shop_jobs import changes, lines, six_windows, spec, steps, ticket

By = dict[str, tuple[Length, str, Length, str, Length]]


def cuts(mat: MatPiece, window: int) -> By:
    """Side as it lies -> setting, start side and distance, stop side and distance."""
    found: dict[str, Cut] = {cut.side: cut for cut in mat.windows[window - 1].cuts}
    return {
        side: (c.setting, c.start.side, c.start.distance, c.stop.side, c.stop.distance)
        for side, c in found.items()
    }


def row(setting: str, start: str, start_at: str, stop: str, stop_at: str) -> tuple[object, ...]:
    return inch(setting), start, inch(start_at), stop, inch(stop_at)


def sheet(made: CutTicket, number: int) -> SheetPiece:
    piece = made.pieces[number - 1]
    assert isinstance(piece, SheetPiece)
    return piece


def test_unequal_borders_and_a_double_mat() -> None:
    """Art 16 3/8 x 20, overlap 1/8, border 3 top, 2 1/2 right, 3 1/2 bottom, 2 left, reveal 1/4.

    Under mat's opening: 16 3/8 - 2·1/8 = 16 1/8 wide, 20 - 2·1/8 = 19 3/4 high.
    Top mat's opening: 16 1/8 + 2·1/4 = 16 5/8 wide, 19 3/4 + 2·1/4 = 20 1/4 high.
    Package: 2 + 16 5/8 + 2 1/2 = 21 1/8 wide, 3 + 20 1/4 + 3 1/2 = 26 3/4 high.
    Under mat's blank: 1/8 less on each side: 20 7/8 x 26 1/2.
    """
    made = ticket(spec())
    top, under = made.mats()
    assert top.size == size("21 1/8 x 26 3/4")
    assert under.size == size("20 7/8 x 26 1/2")
    assert sheet(made, 3).size == sheet(made, 4).size == sheet(made, 5).size == top.size

    # Face down, left and right change places: the front's right border, 2 1/2, lies at the left.
    # Left cut: guide 2 1/2 from the left edge; along it from the bottom line (3 1/2 from the
    # bottom edge) away from the body to the top line (3 from the top edge); and so on round.
    assert (top.lies, top.edges) == ("face_down", "own")
    assert cuts(top, 1) == {
        "left": row("2 1/2", "bottom", "3 1/2", "top", "3"),
        "top": row("3", "left", "2 1/2", "right", "2"),
        "right": row("2", "top", "3", "bottom", "3 1/2"),
        "bottom": row("3 1/2", "right", "2", "left", "2 1/2"),
    }
    # The under mat is cut from the TOP mat's edges, each setting its border + the reveal of 1/4:
    # left 2 1/2 + 1/4, top 3 + 1/4, right 2 + 1/4, bottom 3 1/2 + 1/4.
    assert (under.lies, under.edges, under.trim) == ("face_down", "top_mat", inch("1/8"))
    assert cuts(under, 1) == {
        "left": row("2 3/4", "bottom", "3 3/4", "top", "3 1/4"),
        "top": row("3 1/4", "left", "2 3/4", "right", "2 1/4"),
        "right": row("2 1/4", "top", "3 1/4", "bottom", "3 3/4"),
        "bottom": row("3 3/4", "right", "2 1/4", "left", "2 3/4"),
    }
    # Seen from the front and from its own blank's edges the under window lies at
    # 2 + 1/4 - 1/8 = 2 1/8 from the left and 3 + 1/4 - 1/8 = 3 1/8 from the top.
    front = under.windows[0].front
    assert (front.x, front.y, front.size) == (inch("2 1/8"), inch("3 1/8"), size("16 1/8 x 19 3/4"))

    # Four unequal borders need four settings a mat, and no two of the two mats' agree.
    settings = changes(made, "window", "guide")
    assert len(settings) == 8
    assert set(settings[:4]) == {inch(s) for s in ("2", "2 1/2", "3", "3 1/2")}
    assert set(settings[4:]) == {inch(s) for s in ("2 1/4", "2 3/4", "3 1/4", "3 3/4")}
    assert (top.lines, under.lines) == (1, 1)  # this shop works with stops

    # Rails (face 1 1/4, rabbet 1/4, allowance 1/8): rabbet 21 1/4 x 26 7/8; past the rabbet
    # 2·(1 1/4 - 1/4) = 2: long points 23 1/4 and 28 7/8. Mitres 180/4 = 45.
    rails = [piece for piece in made.pieces if isinstance(piece, RodPiece)]
    assert [(r.quantity, r.length, r.inner, r.mitre) for r in rails] == [
        (2, inch("23 1/4"), inch("21 1/4"), 45),
        (2, inch("28 7/8"), inch("26 7/8"), 45),
    ]

    # Changes of set-up, none to be saved. Sizing: slip sheet, guide, head, standard depth, foam
    # depth (5); stops 20 7/8, 26 1/2, 21 1/8, 26 3/4 once each for the mats and the mount, and of
    # the backing's two one already stands (5). Windows: slip sheet, head, depth (3); eight
    # settings (8). Glass: slip sheet, guide, scriber (3); one of its two stops still stands (1).
    assert made.set_ups.proved
    assert made.set_ups.changes == 5 + 5 + 3 + 8 + 3 + 1

    # One step a place of work: take in; size at the standard depth, size the foam; window, fix,
    # window; glass; saw; join; dry fit; mount; package; fit; finish; wrap.
    assert [step.work for step in made.steps] == [
        "take_in", "size", "size", "window", "fix_under_mat", "window", "glazing", "rails", "join",
        "dry_fit", "mount", "package", "fit", "finish", "wrap",
    ]  # fmt: skip
    # The four cuts of the top mat, each after the guide and the stops that it needs. The guide goes
    # from 2 to 3 1/2; a cut starts at the stop of the side before it, going round clockwise.
    assert lines(made, "window")[2:6] == [
        "Cut Top mat (1), window 1, right: at guide 2 in, from top 3 to bottom 3 1/2.",
        "Cut Top mat (1), window 1, left: at guide 2 1/2 in, from bottom 3 1/2 to top 3.",
        "Cut Top mat (1), window 1, top: at guide 3 in, from left 2 1/2 to right 2.",
        "Cut Top mat (1), window 1, bottom: at guide 3 1/2 in, from right 2 to left 2 1/2.",
    ]
    first = steps(made, "window")[0].parts[1:]
    assert [[(c.what, c.to) for c in part.changes][-3:] for part in first] == [
        [("guide", inch(guide)), ("start_stop", inch(start)), ("end_stop", inch(end))]
        for guide, start, end in (
            ("2", "3", "3 1/2"),
            ("2 1/2", "3 1/2", "3"),
            ("3", "2 1/2", "2"),
            ("3 1/2", "2", "2 1/2"),
        )
    ]


def test_six_windows() -> None:
    """Six 5 x 7 photographs in two rows, overlap 1/8, bars 3/4, border 2 / 2 1/4 / 2 1/2 / 1 3/4.

    Each opening: 5 - 1/4 = 4 3/4 wide, 7 - 1/4 = 6 3/4 high.
    Package: 1 3/4 + 3·4 3/4 + 2·3/4 + 2 1/4 = 19 3/4 wide; 2 + 2·6 3/4 + 3/4 + 2 1/2 = 18 3/4 high.
    Columns from the front's left edge: 1 3/4, 7 1/4, 12 3/4; right edges 6 1/2, 12, 17 1/2.
    Rows from the top: 2 and 9 1/2; bottom edges 8 3/4 and 16 1/4.
    """
    made = ticket(six_windows())
    (mat,) = made.mats()
    assert mat.size == size("19 3/4 x 18 3/4")
    places = [(w.front.x, w.front.y) for w in mat.windows]
    assert places == [
        (inch(x), inch(y)) for y in ("2", "9 1/2") for x in ("1 3/4", "7 1/4", "12 3/4")
    ]

    # Window 1 (front: top left) lies at the top right. Its right cut runs 1 3/4 from the right
    # edge; its left one 19 3/4 - 6 1/2 = 13 1/4 from the left; top 2; bottom 18 3/4 - 8 3/4 = 10.
    assert cuts(mat, 1) == {
        "left": row("13 1/4", "bottom", "10", "top", "2"),
        "top": row("2", "left", "13 1/4", "right", "1 3/4"),
        "right": row("1 3/4", "top", "2", "bottom", "10"),
        "bottom": row("10", "right", "1 3/4", "left", "13 1/4"),
    }
    # Window 5 (front: middle of the lower row): left 19 3/4 - 12 = 7 3/4, right 7 1/4, top 9 1/2,
    # bottom 18 3/4 - 16 1/4 = 2 1/2.
    assert cuts(mat, 5) == {
        "left": row("7 3/4", "bottom", "2 1/2", "top", "9 1/2"),
        "top": row("9 1/2", "left", "7 3/4", "right", "7 1/4"),
        "right": row("7 1/4", "top", "9 1/2", "bottom", "2 1/2"),
        "bottom": row("2 1/2", "right", "7 1/4", "left", "7 3/4"),
    }
    # Left settings 2 1/4, 7 3/4, 13 1/4; right 1 3/4, 7 1/4, 12 3/4; top 2, 9 1/2;
    # bottom 2 1/2, 10.
    # The guide takes up to 6: four settings, 1 3/4, 2, 2 1/4, 2 1/2, each once for all windows;
    # the other six are cut to drawn lines with the guide off.
    guides = [guide for guide in changes(made, "window", "guide") if guide != "off"]
    assert sorted(guides, key=str) == sorted(
        (inch(s) for s in ("1 3/4", "2", "2 1/4", "2 1/2")), key=str
    )
    (step,) = steps(made, "window")
    by_guide = Counter(cut.setting for cut in step.cuts if cut.by == "guide")
    assert by_guide == {inch("1 3/4"): 2, inch("2"): 3, inch("2 1/4"): 2, inch("2 1/2"): 3}
    # Inner uprights 4 a row x 2 rows, inner cross cuts 3 a column line x 2: 24 - 10 = 14.
    assert sum(cut.by == "line" for cut in step.cuts) == 14
    assert len(step.cuts) == 24
    assert "beyond the guide" in " ".join(mat.notes)
