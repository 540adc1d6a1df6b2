"""A sweep gives what an estimate of each moulding would give, and never another figure."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, estimate
from service.domain.estimates.sweep import Choice, MouldingSweep
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.assembly import assemble
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import FrameSpec, Job
from service.domain.materials.catalogue import Moulding
from service.domain.prices.lists import PriceList, PriceRule
from tests.domain.bench_shop import basis
from tests.domain.random_jobs import job_specs
from tests.domain.sample_jobs import CANVAS, PLAIN, SHOP, job, mat, placed, under

DEMO = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
FRAME_CODES = frozenset(
    {
        "border_narrower_than_lip",
        "groove_under_lip",
        "rabbet_too_shallow",
        "little_room_behind",
        "margin_under_lip",
        "margin_half_hidden",
        "face_narrow_for_size",
        "heavy_for_moulding",
        "ask_installer",
        "heavy",
        "heavy_for_hardware",
        "wire_flat",
        "inner_frame_covered",
        "inner_frame_height_unknown",
    }
)


def reframed(swept: Job, moulding: Moulding) -> Job:
    """The job with this moulding innermost, supplied as it was if that can be had."""
    asked = swept.frames[0] if swept.frames else Frame(moulding)
    supply = asked.supply if asked.supply in moulding.supplies else moulding.supplies[0]
    inner = Frame(moulding, supply, asked.sides, asked.fillet)
    return replace(swept, frames=(inner, *swept.frames[1:]))


def of_the_frame(said: tuple[Advisory, ...]) -> list[Advisory]:
    return [advisory for advisory in said if advisory.code in FRAME_CODES]


def differences(swept: Job, shop: Basis, mouldings: tuple[Moulding, ...]) -> list[str]:
    """The mouldings for which sweep and estimate differ."""
    sweep, found = MouldingSweep(swept, shop), []
    for moulding in mouldings:
        choice = sweep.with_moulding(moulding)
        if moulding.floater != (swept.presentation == "floater"):
            if choice.refused is None:
                found.append(f"{moulding.code}: a floater where none belongs")
            continue
        found += _against(choice, reframed(swept, moulding), shop)
    return found


def _against(choice: Choice, other: Job, shop: Basis) -> list[str]:
    try:
        whole = estimate([other], shop)
    except JobRefused as refused:
        same = choice.refused is not None and [
            (f.code, f"/jobs/0{f.pointer}") for f in choice.refused.faults()
        ] == [(f.code, f.pointer) for f in refused.faults()]
        return [] if same else [f"{choice.moulding.code}: refused by one and not the other"]
    if choice.totals != whole.totals:
        return [f"{choice.moulding.code}: {choice.totals} is not {whole.totals}"]
    if list(choice.advisories) != of_the_frame(whole.jobs[0].advisories):
        return [f"{choice.moulding.code}: says otherwise"]
    return []


@pytest.mark.parametrize("name", demo_jobs())
def test_a_sweep_over_the_demo_shop_equals_its_estimates(name):
    request = read(QUOTE_REQUEST, demo_jobs()[name], unit=DEMO.shop.ruler.unit)
    for one in request.jobs:
        swept = assemble(one, DEMO.shop, DEMO.catalogue)
        assert differences(swept, DEMO, DEMO.catalogue.of_type(Moulding)) == []


@settings(max_examples=150)
@given(job_specs())
def test_a_sweep_of_any_job_equals_its_estimates(any_spec):
    try:
        swept = assemble(any_spec, SHOP.shop, SHOP.catalogue)
        MouldingSweep(swept, SHOP)
    except JobRefused:
        return
    assert differences(swept, SHOP, SHOP.catalogue.of_type(Moulding)) == []


def test_the_rabbets_fillet_counts_in_the_depth_of_a_swept_package():
    # The stack of PLAIN is 0.39 in; with the fillet's 1/8 it is more than SLIM's 3/8 and OAK's 1/2.
    swept = job(frames=(FrameSpec("OAK", fillet="GILT"),))
    said = MouldingSweep(swept, SHOP).with_moulding(swept.frames[0].moulding).advisories
    assert "rabbet_too_shallow" in [advisory.code for advisory in said]
    assert differences(swept, SHOP, SHOP.catalogue.of_type(Moulding)) == []


def test_a_discounts_odd_cent_goes_to_the_same_line_in_both():
    # Two lines of 0.05 of which only the mat is taxed: the break of 10 % takes one cent in all, and
    # whose cent it is decides the tax.
    rules = [
        PriceRule(code="frame", component="frame", basis="piece", method="rate", tax_category=""),
        PriceRule(code="mat", component="mat", basis="piece", method="rate", rate=Fraction("0.01")),
        PriceRule(
            code="hardware", component="hardware", basis="piece", method="rate",
            rate=Fraction("0.01"), tax_category="",
        ),
    ]  # fmt: skip
    old = SHOP.price_list
    cheap = PriceList("cheap", old.currency, old.first_day, rules, old.breaks)
    shop = replace(basis(), price_list=cheap)
    steep = shop.shop.taxation.rates[0]
    taxation = replace(shop.shop.taxation, rates=(replace(steep, percent=Fraction(50)),))
    shop = replace(shop, shop=replace(shop.shop, taxation=taxation))
    swept = job(shop=shop, quantity=5, finishing=("wire",), glazing=None, mounting=None, backing="")
    assert differences(swept, shop, shop.catalogue.of_type(Moulding)) == []


def test_a_moulding_that_cannot_hold_the_job_is_refused_with_its_reason():
    sweep = MouldingSweep(job(), SHOP)
    refused = sweep.with_moulding(SHOP.catalogue.items["FLOAT"]).refused
    assert refused is not None
    assert [fault.code for fault in refused.faults()] == ["floater_profile"]
    canvas = MouldingSweep(job(CANVAS), SHOP).with_moulding(SHOP.catalogue.items["OAK"])
    assert canvas.totals is None
    assert canvas.advisories == ()


def test_what_has_no_price_besides_the_frame_stops_the_sweep():
    rules = [rule for rule in SHOP.price_list.rules if rule.component != "mat"]
    old = SHOP.price_list
    shop = replace(SHOP, price_list=PriceList("few", old.currency, old.first_day, rules))
    with pytest.raises(JobRefused) as refused:
        MouldingSweep(job(), shop)
    assert [fault.code for fault in refused.value.faults()] == ["not_priced"]


def test_what_has_no_price_in_the_frame_refuses_the_moulding_alone():
    rules = [rule for rule in SHOP.price_list.rules if rule.code != "frame"]
    old = SHOP.price_list
    shop = replace(SHOP, price_list=PriceList("few", old.currency, old.first_day, rules))
    sweep = MouldingSweep(job(), shop)
    assert sweep.with_moulding(SHOP.catalogue.items["OAK"]).refused is not None
    assert sweep.with_moulding(SHOP.catalogue.items["SLIM"]).refused is None


def test_a_job_without_a_frame_can_be_swept():
    swept = job(frames=(), mats=(mat(), under()))
    assert differences(swept, SHOP, SHOP.catalogue.of_type(Moulding)) == []


def test_windows_placed_by_hand_can_be_swept():
    swept = job(PLAIN, artwork=None, openings=placed(("8 x 10", "2", "2"), ("5 x 7", "11", "2")))
    assert differences(swept, SHOP, SHOP.catalogue.of_type(Moulding)) == []


def test_supplies_without_a_price_refuse_every_moulding():
    rules = [rule for rule in SHOP.price_list.rules if rule.component != "hardware"]
    old = SHOP.price_list
    shop = replace(SHOP, price_list=PriceList("few", old.currency, old.first_day, rules))
    sweep = MouldingSweep(job(finishing=("wire",)), shop)
    refused = sweep.with_moulding(SHOP.catalogue.items["OAK"]).refused
    assert refused is not None
    assert [fault.pointer for fault in refused.faults()] == ["/finishing/0"]
