"""The cut list: every piece, its size, its windows from its own edges."""

from collections import Counter

from hypothesis import given

from service.domain.errors import JobRefused
from service.domain.jobs.assembly import assemble
from service.domain.jobs.cut_list import cut_list
from service.domain.jobs.job import FrameSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.sizes import work_out
from service.domain.measure.length import ZERO
from tests.domain.bench_shop import inch, size
from tests.domain.random_jobs import job_specs
from tests.domain.sample_jobs import BARE, CANVAS, PLAIN, SHOP, art, job, mat, under


def pieces(start=PLAIN, **more):
    made = job(start, **more)
    return cut_list(made, work_out(made, SHOP.shop))


def test_a_plain_job_is_cut_from_the_glazing_inwards_and_then_its_rails():
    rows = [(p.part, p.item.code, p.quantity, p.pointer) for p in pieces()]
    assert rows == [
        ("mat", "WHITE", 1, "/mats/0"),
        ("glazing", "CLEAR", 1, "/glazing"),
        ("mount", "WHITE", 1, "/mounting"),
        ("backing", "FOAM", 1, "/backing"),
        ("rail", "OAK", 2, "/frames/0"),
        ("rail", "OAK", 2, "/frames/0"),
    ]


def test_an_under_mat_is_smaller_by_its_trim_and_its_window_counts_from_its_own_edges():
    top, bottom = pieces(mats=(mat("3"), under("1/4")))[:2]
    assert (top.trim, bottom.trim) == (ZERO, inch("1/8"))
    assert bottom.size == top.size.grown(-inch("1/4"))
    assert top.windows[0].x == inch("3")
    assert bottom.windows[0].x == inch("3 1/4") - inch("1/8")
    assert (top.layer, bottom.layer) == (1, 2)


def test_rails_are_long_point_to_long_point_at_their_mitre():
    rails = [p for p in pieces(BARE) if p.part == "rail"]
    assert [(p.side, p.length, p.mitre) for p in rails] == [
        ("top", inch("10 1/8"), 45),
        ("left", inch("12 1/8"), 45),
    ]


def test_a_frame_of_eight_sides_has_eight_rails_alike():
    (rail,) = pieces(BARE, artwork=art("10 x 10"), frames=(FrameSpec("OAK", sides=8),))
    assert (rail.quantity, rail.side, float(rail.mitre)) == (8, "each", 22.5)


def test_fillets_are_four_mitred_lengths_for_each_window_of_a_size():
    fillets = [
        (p.side, p.quantity, p.length, p.pointer)
        for p in pieces(
            mats=(mat(fillet="GILT"),),
            openings=Grid(1, 2, inch("1")),
            frames=(FrameSpec("OAK", fillet="GILT"),),
        )
        if p.part == "fillet"
    ]
    package = size("21 x 14")
    rabbet = package.grown(inch("1/8"))
    assert fillets == [
        ("top", 4, inch("8"), "/mats/0/fillet"),
        ("left", 4, inch("10"), "/mats/0/fillet"),
        ("top", 2, rabbet.width, "/frames/0/fillet"),
        ("left", 2, rabbet.height, "/frames/0/fillet"),
    ]


def test_a_canvas_in_a_floater_is_rails_alone():
    assert {p.part for p in pieces(CANVAS)} == {"rail"}


def test_every_piece_is_counted_for_the_whole_job():
    one, twelve = pieces(), pieces(quantity=12)
    assert [p.quantity for p in twelve] == [12 * p.quantity for p in one]


@given(job_specs())
def test_the_cut_list_holds_every_part_of_any_job(any_spec):
    try:
        made = assemble(any_spec, SHOP.shop, SHOP.catalogue)
        sizes = work_out(made, SHOP.shop)
    except JobRefused:
        return
    parts: Counter[str] = Counter()
    for piece in cut_list(made, sizes):
        parts[piece.part] += piece.quantity
        assert (piece.size is None) != (piece.length is None)
    many = made.quantity
    assert parts["mat"] == many * len(made.mats)
    assert parts["rail"] == many * sum(frame.sides for frame in made.frames)
    assert parts["glazing"] == many * (made.glazing is not None)
    lined = [frame for frame in made.frames if frame.fillet]
    windows = sum(len(layer.windows) for layer in sizes.layers if layer.mat.fillet is not None)
    assert parts["fillet"] == 4 * many * (windows + len(lined))
