"""Sizes from the art outwards, by hand and by properties."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.domain.errors import JobRefused
from service.domain.estimates.calculation import estimate_job
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.depth import stack_depth
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import FrameSpec, GlazingSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.sizes import Sizes, framed, work_out
from service.domain.measure.length import ZERO, Length, Sides, Size
from tests.domain.bench_shop import inch, size
from tests.domain.random_jobs import job_specs, lengths, matted
from tests.domain.sample_jobs import (
    BARE,
    CANVAS,
    PLAIN,
    SHOP,
    art,
    done,
    job,
    mat,
    placed,
    refusals,
    spec,
    under,
)


def sizes(start=PLAIN, **more) -> Sizes:
    return work_out(job(start, **more), SHOP.shop)


def test_a_float_shows_all_of_the_art_and_its_margin():
    found = sizes(presentation="float", overlap=None, float_margin=inch("3/4"))
    assert found.opening == size("9 1/2 x 11 1/2")
    assert found.package == size("13 1/2 x 15 1/2")


def test_a_full_bleed_packs_the_art_alone():
    found = sizes(BARE)
    assert found.package == size("8 x 10")
    assert found.layers == ()
    assert found.opening is None
    assert found.border is None
    assert found.frames[0].rabbet == size("8 1/8 x 10 1/8")


def test_a_floater_stands_off_the_canvas_by_its_gap():
    # common practice, no source: the frame's inside = art + 2·gap; no package, so no allowance.
    found = sizes(CANVAS, gap=inch("3/8"))
    assert found.package is None
    assert found.frames[0].rabbet == found.frames[0].sight == size("16 3/4 x 20 3/4")
    assert found.outside == size("17 1/2 x 21 1/2")


def test_without_a_frame_the_outside_is_the_package():
    assert sizes(frames=()).outside == sizes().package


def test_the_outside_of_one_frame_is_the_package_of_the_next():
    inner, outer = sizes(BARE, frames=(FrameSpec("OAK"), FrameSpec("LIP"))).frames
    assert outer.holds == inner.outside == size("10 1/8 x 12 1/8")
    assert outer.rabbet == size("10 1/4 x 12 1/4")
    assert outer.outside == size("13 3/4 x 15 3/4")


def test_fillets_widen_the_windows_that_they_line():
    # A window is what shows inside it + reveals + a fillet's width on each side.
    found = sizes(mats=(mat(fillet="GILT"), under(fillet="GILT")))
    top, bottom = (layer.windows[0].size for layer in found.layers)
    assert bottom == size("8 x 10")
    assert top == size("8 3/4 x 10 3/4")


def test_reveals_may_differ_from_side_to_side():
    uneven = replace(under(), reveal=Sides(inch("1/8"), inch("1/4"), inch("3/8"), inch("1/2")))
    top, bottom = (layer.windows[0] for layer in sizes(mats=(mat(), uneven)).layers)
    assert (bottom.x - top.x, bottom.y - top.y) == (inch("1/2"), inch("1/8"))
    assert top.right() - bottom.right() == inch("1/4")
    assert top.bottom() - bottom.bottom() == inch("3/8")


def test_a_grid_lays_its_windows_a_gutter_apart():
    found = sizes(artwork=art("4 x 6"), openings=Grid(2, 3, inch("3/4")), mats=(mat("2"),))
    windows = found.layers[0].windows
    assert [w.x.in_inches() for w in windows[:3]] == [2, 2 + 4.5, 2 + 9]
    assert [w.y.in_inches() for w in windows[::3]] == [2, 2 + 6.5]
    assert found.package == size("16 3/4 x 16 1/4")


def test_placed_windows_take_the_border_from_the_last_of_them():
    found = sizes(artwork=None, openings=placed(("8 x 10", "2", "2"), ("5 x 7", "11", "2 1/2")))
    assert found.package == size("17 3/4 x 13 3/4")
    assert [size.width for size in found.shows] == [inch("7 3/4"), inch("4 3/4")]


@pytest.mark.parametrize(
    ("start", "more", "shows"),
    [
        # The lip of 1/4 less half of the allowance of 1/8 covers 3/16 of every side.
        (BARE, {}, "7 5/8 x 9 5/8"),
        (BARE, {"frames": (FrameSpec("OAK", fillet="GILT"),)}, "7 3/8 x 9 3/8"),
        (BARE, {"frames": ()}, "8 x 10"),
        (BARE, {"presentation": "float", "float_margin": inch("1")}, "9 5/8 x 11 5/8"),
        (PLAIN, {}, "7 3/4 x 9 3/4"),
        (PLAIN, {"presentation": "float", "overlap": None, "float_margin": inch("1")}, "10 x 12"),
        (CANVAS, {}, "16 x 20"),
    ],
)
def test_what_shows_is_what_mat_and_frame_leave(start, more, shows):
    assert sizes(start, **more).shows == (size(shows),)


def test_the_bars_of_a_double_mat_are_narrower_on_the_top():
    # Derived: top bar = bottom bar - 2·reveal.
    openings = Grid(1, 2, inch("1"))
    top, bottom = (
        layer.windows for layer in sizes(openings=openings, mats=(mat(), under("1/4"))).layers
    )
    assert top[1].x - top[0].right() == inch("1")
    assert bottom[1].x - bottom[0].right() == inch("1 1/2")


def test_plastics_get_a_larger_rabbet_over_their_lengths():
    # common practice, no source: 1/8 to 32 in, 3/16 to 48, 1/4 above, each border included below.
    def allowance(width: str, sheet: str = "PLASTIC") -> Length:
        return sizes(BARE, artwork=art(f"{width} x 10"), glazing=GlazingSpec(sheet)).allowance

    assert allowance("32") == inch("1/8")
    assert allowance("32 1/16") == inch("3/16")
    assert allowance("48") == inch("3/16")
    assert allowance("48 1/16") == inch("1/4")
    assert allowance("48 1/16", "CLEAR") == inch("1/8")


def test_the_stack_adds_every_layer():
    frames = (FrameSpec("OAK", fillet="GILT"),)
    deep = job(
        artwork=art(thickness=inch("1/32")),
        glazing=GlazingSpec("CLEAR", inch("1/8")),
        mats=(mat(fillet="GILT"), under()),
        frames=frames,
    )
    glass = Length.millimetres(2)
    # spacer, fillet, two mats, rabbet fillet, art, mount, foam
    others = inch("1/8") * 3 + inch("1/16") * 2 + inch("1/32") + inch("1/16") + inch("3/16")
    assert stack_depth(deep) == glass + others


def test_the_thickest_of_several_artworks_counts_in_the_stack():
    layout = placed(("8 x 10", "2", "2"), ("5 x 7", "12", "2"))
    thick = replace(layout.windows[1], artwork=art("5 x 7", thickness=inch("1/4")))
    flat = job(artwork=None, openings=layout)
    deep = job(artwork=None, openings=replace(layout, windows=(layout.windows[0], thick)))
    assert stack_depth(deep) == stack_depth(flat) + inch("1/4")


FITTED = (replace(mat(), border=None),)
TOO_CLOSE = placed(("8 x 10", "2", "2"), ("8 x 10", "9 11/16", "2"))


def by_hand(*windows: tuple[str, str, str], **more: object) -> dict[str, object]:
    return {"artwork": None, "openings": placed(*windows), **more}


@pytest.mark.parametrize(
    ("more", "pointer", "code"),
    [
        ({"overlap": inch("4")}, "/overlap", "no_opening"),
        ({"overlap": inch("5")}, "/overlap", "no_opening"),
        (by_hand(("1/4 x 10", "2", "2")), "/overlap", "no_opening"),
        (
            {"openings": Grid(1, 1, ZERO, "arch"), "artwork": art("20 x 9")},
            "/artwork",
            "arch_too_low",
        ),
        ({"mats": FITTED, "fit_to": size("7 x 20")}, "/fit_to", "fit_to_too_small"),
        ({"mats": FITTED, "fit_to": size("20 x 9")}, "/fit_to", "fit_to_too_small"),
        (
            by_hand(("8 x 10", "2", "2"), mats=FITTED, fit_to=size("9 x 20")),
            "/fit_to",
            "fit_to_too_small",
        ),
        ({"frames": (FrameSpec("OAK", sides=8),)}, "/frames/0/sides", "not_square"),
        (by_hand(("8 x 10", "1", "2")), "/openings/0/x", "nearer_than_border"),
        (by_hand(("8 x 10", "2", "1")), "/openings/0/y", "nearer_than_border"),
        ({"artwork": None, "openings": TOO_CLOSE}, "/openings/1", "windows_overlap"),
    ],
)
def test_lengths_that_leave_no_room_are_refused_where_they_stand(more, pointer, code):
    assert refusals(**more) == {pointer: code}


def test_lips_that_would_meet_are_refused():
    assert refusals(BARE, artwork=art("1/2 x 10")) == {}
    assert refusals(BARE, artwork=art("3/8 x 10")) == {"/frames/0/moulding": "lips_meet"}


def test_windows_that_touch_do_not_run_together():
    openings = placed(("8 x 10", "2", "2"), ("8 x 10", "9 3/4", "2"))
    assert refusals(artwork=None, openings=openings) == {}


def test_an_arch_may_be_half_a_circle_and_no_lower():
    half = {"artwork": art("8 1/4 x 4 1/4"), "openings": Grid(1, 1, ZERO, "arch")}
    assert refusals(**half) == {}
    lower = {**half, "artwork": art("8 1/4 x 4 3/16")}
    assert refusals(**lower) == {"/artwork": "arch_too_low"}


@given(matted(reshaped=False), lengths("1/16", "4"))
def test_every_size_grows_with_the_art_by_just_as_much(one, more):
    assume(one.fit_to is None)
    assert one.artwork is not None
    grown = replace(one, artwork=Artwork(one.artwork.size.grown(more), one.artwork.thickness))
    try:
        small, large = (
            work_out(assemble(each, SHOP.shop, SHOP.catalogue), SHOP.shop) for each in (one, grown)
        )
    except JobRefused:
        assume(False)
    assume(small.allowance == large.allowance)
    assert large.opening == small.opening.grown(more)
    assert large.package == small.package.grown(more)
    assert large.outside == small.outside.grown(more)
    assert large.border == small.border
    assert large.stack_depth == small.stack_depth


@given(matted(), lengths("10", "60"), lengths("10", "60"))
def test_fit_to_gives_back_exactly_the_size_that_was_asked_for(one, width, height):
    asked = replace(
        one, fit_to=Size(width, height), mats=(replace(one.mats[0], border=None), *one.mats[1:])
    )
    try:
        found = work_out(assemble(asked, SHOP.shop, SHOP.catalogue), SHOP.shop)
    except JobRefused:
        return
    assert found.package == Size(width, height)


@settings(max_examples=200)
@given(job_specs())
def test_windows_lie_inside_their_blanks_or_the_ticket_is_stopped(any_spec):
    try:
        found = estimate_job(assemble(any_spec, SHOP.shop, SHOP.catalogue), SHOP)
    except JobRefused:
        return
    stopped = {a.pointer for a in found.advisories if a.code == "opening_larger_than_board"}
    for position, layer in enumerate(found.sizes.layers):
        inside = all(
            window.x > ZERO
            and window.y > ZERO
            and window.right() < layer.blank.width
            and window.bottom() < layer.blank.height
            for window in layer.on_blank()
        )
        assert inside != (f"/mats/{position}" in stopped)
        assert all(window.size.shorter() > ZERO for window in layer.windows)


def test_an_odd_tick_of_a_fitted_mat_goes_to_the_right_and_to_the_foot():
    odd = size("14 x 16").grown(Length(1))
    border = sizes(mats=FITTED, fit_to=odd).border
    assert (border.right - border.left, border.bottom - border.top) == (Length(1), Length(1))


@given(st.sampled_from(["OAK", "PLAIN", "LIP", "SLIM"]))
def test_framing_bare_sizes_is_the_same_as_working_out_with_the_frame(code):
    bare = sizes(frames=())
    frame = Frame(SHOP.catalogue.items[code])
    assert framed(bare, (frame,), SHOP.shop) == sizes(frames=(FrameSpec(code),))


def test_the_spec_of_a_plain_job_is_not_changed_by_working_it_out():
    before = spec()
    done()
    assert spec() == before
